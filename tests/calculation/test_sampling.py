"""The verdict of a sampling plan; the rule is that of Regulation (EC) No 2073/2005, annex I."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.sampling import (
    Count,
    Outcome,
    Place,
    Plan,
    Verdict,
    judge_results,
    verdict_sentence,
)

# E. coli in cheese from heat-treated milk, 2.2.2 of the annex
E_COLI = Plan(5, 2, Decimal(100), Decimal(1000))
TWO_CLASS = Plan(5, 0, Decimal(100))
PRESENCE = Plan(5, 0)
RANK = (Verdict.SATISFACTORY, Verdict.ACCEPTABLE, Verdict.UNSATISFACTORY)


def counts(*written: str) -> list[Count]:
    return [
        Count(Decimal(text.lstrip("<>")), text[0] if text[0] in "<>" else "")
        for text in " ".join(written).split()
    ]


def judged(written: str, plan: Plan = E_COLI) -> Outcome:
    return judge_results(plan, counts(written))


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("10 20 30 40 50", "satisfactory"),
        ("100 100 100 100 100", "satisfactory"),
        ("101 10 10 10 10", "acceptable"),
        ("101 1000 10 10 10", "acceptable"),
        ("101 101 101 10 10", "unsatisfactory"),
        ("1001 10 10 10 10", "unsatisfactory"),
    ],
)
def test_a_result_on_m_or_on_upper_m_is_not_above_it(written: str, expected: str) -> None:
    assert judged(written).verdict == expected


@pytest.mark.parametrize(
    ("written", "expected"),
    [("100 100 100 100 100", "satisfactory"), ("100 100 101 100 100", "unsatisfactory")],
)
def test_without_upper_m_only_c_counts(written: str, expected: str) -> None:
    assert judged(written, TWO_CLASS).verdict == expected
    assert judged("99999999 1 1 1 1", Plan(5, 1, Decimal(100))).verdict == "acceptable"


@pytest.mark.parametrize(
    ("found", "expected"), [((False,) * 5, "satisfactory"), ((False,) * 4 + (True,), "unsatisfactory")]
)
def test_one_detection_too_many_is_unsatisfactory(found: tuple[bool, ...], expected: str) -> None:
    assert judge_results(PRESENCE, found).verdict == expected
    assert judge_results(Plan(5, 1), (True, False, False, False, False)).verdict == "acceptable"


def test_fewer_results_than_n_are_undecided_however_good() -> None:
    outcome = judged("10")
    assert (outcome.verdict, outcome.given) == ("undecided", 1)
    assert dict(verdict_sentence(E_COLI, outcome, "cfu_per_g").params) == {"given": "1", "n": "5"}
    assert judged("10 10 10 10").verdict == "undecided"
    assert judge_results(E_COLI, []).verdict == "undecided"


@pytest.mark.parametrize("written", ["1001", "101 101 101"])
def test_fewer_results_than_n_can_already_be_unsatisfactory(written: str) -> None:
    assert judged(written).verdict == "unsatisfactory"


def test_more_results_than_n_are_refused() -> None:
    with pytest.raises(Refusal) as caught:
        judge_results(E_COLI, counts("1 1 1 1 1 1"), field="sample_results")
    assert (caught.value.sentence.code, caught.value.field) == ("sampling_too_many", "sample_results")


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("<10 <10 <10 <10 <10", "satisfactory"),
        ("<100 10 10 10 10", "satisfactory"),
        # at worst one above m, at worst three above m, at worst one above M
        ("<101 10 10 10 10", "acceptable"),
        ("<1000 <1000 <1000 10 10", "undecided"),
        ("<1001 10 10 10 10", "undecided"),
        # surely above M, open about M, open about m and M
        (">1000 10 10 10 10", "unsatisfactory"),
        (">1500 10 10 10 10", "unsatisfactory"),
        (">999 10 10 10 10", "undecided"),
        (">10 10 10 10 10", "undecided"),
        (">500 101 101 10 10", "unsatisfactory"),
    ],
)
def test_a_marked_count_is_judged_by_all_it_can_be(written: str, expected: str) -> None:
    assert judged(written).verdict == expected


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        (">100 10 10 10 10", "unsatisfactory"),
        (">99 10 10 10 10", "undecided"),
        ("<101 10 10 10 10", "undecided"),
        ("<100 10 10 10 10", "satisfactory"),
    ],
)
def test_a_marked_count_in_two_classes(written: str, expected: str) -> None:
    assert judged(written, TWO_CLASS).verdict == expected


@pytest.mark.parametrize(
    ("plan", "written", "code"),
    [
        (E_COLI, "10 10 10 10 10", "sampling_satisfactory"),
        (E_COLI, "101 10 10 10 10", "sampling_acceptable_three"),
        (Plan(5, 1, Decimal(100)), "101 10 10 10 10", "sampling_acceptable_two"),
        (E_COLI, "<101 10 10 10 10", "sampling_at_worst"),
        (E_COLI, "101 101 101 10 10", "sampling_above_c"),
        (E_COLI, "1001 101 101 101 10", "sampling_above_upper"),
        (E_COLI, "10 10", "sampling_few"),
        (E_COLI, ">10 10 10 10 10", "sampling_open"),
    ],
)
def test_the_sentence_says_what_the_verdict_rests_on(plan: Plan, written: str, code: str) -> None:
    assert verdict_sentence(plan, judged(written, plan), "cfu_per_g").code == code


@pytest.mark.parametrize(
    ("plan", "found", "code"),
    [
        (PRESENCE, (False,) * 5, "sampling_none_detected"),
        (Plan(5, 1), (True, *(False,) * 4), "sampling_detected_few"),
        (PRESENCE, (True, False), "sampling_detected"),
        (PRESENCE, (False, False), "sampling_few"),
    ],
)
def test_the_sentence_of_a_test_for_presence(plan: Plan, found: tuple[bool, ...], code: str) -> None:
    assert verdict_sentence(plan, judge_results(plan, found), "").code == code


@pytest.mark.parametrize(
    ("n", "c", "m", "upper", "field"),
    [
        (0, 0, None, None, "plan_n"),
        (1001, 0, None, None, "plan_n"),
        (5, -1, None, None, "plan_c"),
        (5, 5, None, None, "plan_c"),
        (5, 0, "-1", None, "plan_m"),
        (5, 0, "NaN", None, "plan_m"),
        (5, 0, "100", "10000000000", "plan_upper"),
        (5, 0, "100", "100", "plan_upper"),
        (5, 0, None, "100", "plan_upper"),
    ],
)
def test_a_plan_that_makes_no_sense_is_refused_at_its_field(
    n: int, c: int, m: str | None, upper: str | None, field: str
) -> None:
    with pytest.raises(Refusal) as caught:
        Plan(n, c, None if m is None else Decimal(m), None if upper is None else Decimal(upper))
    assert caught.value.field == field


def test_the_refusal_of_a_plan_carries_the_range_and_the_source() -> None:
    with pytest.raises(Refusal) as caught:
        Plan(1001, 0)
    words = dict(caught.value.sentence.params)
    assert (words["low"], words["high"]) == ("1", "1000")
    assert "CXG 50" in words["source"]
    assert Plan(1000, 999).n == 1000


@pytest.mark.parametrize(("value", "mark"), [("-1", ""), ("NaN", ""), ("Infinity", ">"), ("0", "<")])
def test_a_count_nobody_can_find_is_refused(value: str, mark: str) -> None:
    with pytest.raises(Refusal):
        Count(Decimal(value), mark)
    assert Count(Decimal(0)).span(Decimal(0), None) == (Place.GOOD, Place.GOOD)


def test_a_plan_for_counts_takes_no_answers_and_one_for_presence_no_counts() -> None:
    with pytest.raises(TypeError):
        E_COLI.span(True)
    with pytest.raises(TypeError):
        PRESENCE.span(Count(Decimal(1)))


COUNTS = st.builds(
    lambda value, mark: Count(Decimal(value), mark),
    st.integers(1, 3000) | st.sampled_from([99, 100, 101, 999, 1000, 1001]),
    st.sampled_from(["", "", "<", ">"]),
)
PLANS = st.builds(
    lambda n, c, m, upper: Plan(n, min(c, n - 1), Decimal(m), None if upper is None else Decimal(m + upper)),
    st.integers(1, 8),
    st.integers(0, 7),
    st.integers(0, 1500),
    st.none() | st.integers(1, 1500),
)


@given(plan=PLANS, results=st.lists(COUNTS, max_size=8), seed=st.randoms(use_true_random=False))
def test_the_order_of_the_results_makes_no_difference(plan: Plan, results: list[Count], seed: object) -> None:
    taken = results[: plan.n]
    shuffled = list(taken)
    seed.shuffle(shuffled)  # type: ignore[attr-defined]
    assert judge_results(plan, taken) == judge_results(plan, shuffled)


@given(
    plan=PLANS,
    results=st.lists(COUNTS, min_size=1, max_size=8),
    more=st.integers(0, 3000),
    at=st.integers(0, 7),
)
def test_a_higher_result_never_makes_the_verdict_better(
    plan: Plan, results: list[Count], more: int, at: int
) -> None:
    taken = results[: plan.n]
    at %= len(taken)
    raised = [*taken]
    raised[at] = Count(taken[at].value + more, taken[at].mark)
    before, after = judge_results(plan, taken), judge_results(plan, raised)
    assert RANK.index(after.best) >= RANK.index(before.best)
    assert RANK.index(after.worst) >= RANK.index(before.worst)


@given(plan=PLANS, results=st.lists(COUNTS, max_size=8), data=st.data())
def test_whatever_marked_counts_truly_are_the_verdict_holds(
    plan: Plan, results: list[Count], data: st.DataObject
) -> None:
    taken = results[: plan.n]
    true = []
    for count in taken:
        low = count.value + 1 if count.mark == ">" else Decimal(0)
        high = count.value + 5000 if count.mark == ">" else count.value - 1
        drawn = Decimal(data.draw(st.integers(int(low), int(high)))) if count.mark else count.value
        true.append(Count(drawn))
    said, truth = judge_results(plan, taken), judge_results(plan, true)
    assert RANK.index(said.best) <= RANK.index(truth.best) <= RANK.index(truth.worst)
    assert RANK.index(truth.worst) <= RANK.index(said.worst)
    if said.verdict is Verdict.UNSATISFACTORY:
        assert truth.verdict is Verdict.UNSATISFACTORY
    if said.verdict in (Verdict.SATISFACTORY, Verdict.ACCEPTABLE):
        assert truth.verdict in (Verdict.SATISFACTORY, Verdict.ACCEPTABLE)
