"""A sampling plan as a limit; 5 samples, at most 2 above 100 CFU/g and none above 1000 is EU 2.2.2."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan import words
from safetyplan.calculation.judgement import Judgement, Measured, State, severity
from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.sampling_plan import SamplingPlan
from safetyplan.calculation.limits.shape import LimitError
from safetyplan.calculation.limits.table import judge_by_table
from safetyplan.calculation.sampling_tables import CRITERIA
from tests.calculation.evidence import EVENTS, START, chosen, evidence, number

E_COLI: dict[str, Any] = {
    "kind": "sampling_plan",
    "part": "sample",
    "quantity": "colony_count",
    "unit": "cfu_per_g",
    "n": 5,
    "c": 2,
    "m": "100",
    "M": "1000",
    "grams": None,
}
TWO_CLASS = {**E_COLI, "c": 0, "M": None}
LISTERIA: dict[str, Any] = {
    **E_COLI,
    "part": "listeria",
    "quantity": "presence",
    "unit": None,
    "c": 0,
    "m": None,
    "M": None,
    "grams": "25",
}
LIMIT = SamplingPlan.from_document(E_COLI)


def count(place: int, written: str, *, valid: bool = True, unit: str = "cfu_per_g") -> Measured:
    mark = written[0] if written[0] in "<>" else None
    return number(f"sample_{place}", written.lstrip("<>"), unit, mark=mark, valid=valid)


def judged(written: str, document: dict[str, Any] = E_COLI) -> Judgement:
    entries = [count(place, text) for place, text in enumerate(written.split(), 1)]
    return load(document).judge(evidence(*entries))


@pytest.mark.parametrize(
    ("written", "state", "margin", "unit"),
    [
        ("10 100 <10 50 100", State.WITHIN, 2, "count"),
        ("101 1000 10 10 10", State.OUTSIDE_TARGET, 0, "count"),
        ("<101 101 10 10 10", State.OUTSIDE_TARGET, 0, "count"),
        ("101 101 101 10 10", State.OUTSIDE_LIMIT, -1, "count"),
        ("1001 10 10 10 10", State.OUTSIDE_LIMIT, -1, "cfu_per_g"),
        (">1500 <5000 10 10 10", State.OUTSIDE_LIMIT, -500, "cfu_per_g"),
        ("1001", State.OUTSIDE_LIMIT, -1, "cfu_per_g"),
        ("10 10 10 10", State.NOT_SHOWN, None, ""),
        (">10 10 10 10 10", State.NOT_SHOWN, None, ""),
    ],
)
def test_the_verdict_is_the_result_against_the_limit(
    written: str, state: State, margin: int | None, unit: str
) -> None:
    judgement = judged(written)
    assert (judgement.state, judgement.margin, judgement.margin_unit) == (state, margin, unit)


def test_one_of_five_says_so() -> None:
    judgement = judged("10")
    assert judgement.state is State.NOT_SHOWN
    assert words.render(judgement.sentence) == "1 of 5 results: undecided. The plan needs all 5."


def test_nothing_entered_is_none_of_five() -> None:
    assert load(E_COLI).judge(evidence()).state is State.NOT_SHOWN


def test_the_chance_of_bad_lots_stands_beside_every_verdict() -> None:
    for written in ("10 10 10 10 10", "101 10 10 10 10", "5000 10 10 10 10", "10"):
        assert [warning.code for warning in judged(written).warnings] == ["sampling_chances_three"]


@pytest.mark.parametrize(
    ("found", "state"),
    [
        (("not_detected",) * 5, State.WITHIN),
        (("not_detected",) * 4, State.NOT_SHOWN),
        (("not_detected", "detected"), State.OUTSIDE_LIMIT),
        (("presumptive",), State.OUTSIDE_LIMIT),
    ],
)
def test_a_test_for_presence_passes_only_when_every_sample_is_not_detected(
    found: tuple[str, ...], state: State
) -> None:
    entries = [chosen(f"listeria_{place}", text) for place, text in enumerate(found, 1)]
    assert load(LISTERIA).judge(evidence(*entries)).state is state


def test_two_classes_pass_on_m_and_miss_above_it() -> None:
    assert judged("100 100 100 100 100", TWO_CLASS).state is State.WITHIN
    assert judged("101 100 100 100 100", TWO_CLASS).state is State.OUTSIDE_LIMIT


def test_of_two_entries_for_one_sample_the_worse_counts_once() -> None:
    entries = [count(place, "10") for place in range(1, 6)]
    again = load(E_COLI).judge(evidence(*entries, count(1, "500"), count(1, "500")))
    assert (again.state, again.margin) == (State.OUTSIDE_TARGET, 1)
    later = load(E_COLI).judge(evidence(count(1, "5000"), *entries))
    assert later.state is State.OUTSIDE_LIMIT


def test_a_result_of_an_invalid_instrument_is_no_result() -> None:
    good = [count(place, "10") for place in range(1, 5)]
    judgement = load(E_COLI).judge(evidence(*good, count(5, "10", valid=False)))
    assert judgement.state is State.NOT_SHOWN
    assert "instrument_failed" in [warning.code for warning in judgement.warnings]
    both = load(E_COLI).judge(evidence(*good, count(5, "10", valid=False), count(5, "10")))
    assert both.state is State.INSTRUMENT_NOT_VALID


def test_an_invalid_instrument_does_not_excuse_a_miss() -> None:
    judgement = load(E_COLI).judge(evidence(count(1, "5000"), count(2, "10", valid=False)))
    assert judgement.state is State.OUTSIDE_LIMIT


def test_a_count_in_another_unit_is_not_compared() -> None:
    entries = [count(place, "10") for place in range(1, 5)]
    judgement = load(E_COLI).judge(evidence(*entries, count(5, "10", unit="cfu_per_ml")))
    assert judgement.state is State.NOT_SHOWN


def test_a_sample_beyond_n_or_below_nought_must_be_typed_again() -> None:
    limit = load(E_COLI)
    assert [s.code for s in limit.refusals(evidence(count(6, "10")))] == ["sampling_too_many"]
    assert [s.code for s in limit.refusals(evidence(count(1, "<0")))] == ["sampling_below_nothing"]
    assert limit.refusals(evidence(count(5, "10"), count(1, "<10"))) == ()
    assert limit.judge(evidence(count(1, "<0"))).state is State.NOT_SHOWN


def test_every_sample_has_an_entry_and_only_the_first_must_be_there() -> None:
    parts = load(E_COLI).parts()
    assert [part.name for part in parts] == [f"sample_{place}" for place in range(1, 6)]
    assert [part.required for part in parts] == [True, False, False, False, False]
    assert {(part.entry, part.quantity, part.unit) for part in parts} == {
        ("number", "colony_count", "cfu_per_g")
    }
    (options,) = {part.options for part in load(LISTERIA).parts()}
    assert options == ("not_detected", "detected")
    assert words.render(parts[1].label) == "sample, sample 2"


def test_the_plan_is_described_with_its_chances() -> None:
    assert [words.render(sentence) for sentence in load(E_COLI).describe()] == [
        "Limit: sample, 5 samples: at most 2 above m = 100 CFU/g and none above M = 1000 CFU/g.",
        "What this says: a lot with 5 %, 10 % or 20 % of its units above M, and none between m and M, passes "
        "this plan with a chance of 77.4 %, 59.0 % or 32.8 %.",
    ]
    assert load(TWO_CLASS).describe()[0].code == "sampling_plan_two"
    assert words.render(load(LISTERIA).describe()[0]) == (
        "Limit: listeria detected in at most 0 of 5 samples of 25 g."
    )


def test_the_chart_has_m_as_target_and_upper_m_as_limit() -> None:
    lines = load(E_COLI).chart()["lines"]
    assert [(line["role"], line["value"]) for line in lines] == [("limit", "1000"), ("target", "100")]
    assert [line["role"] for line in load(TWO_CLASS).chart()["lines"]] == ["limit"]
    assert load(LISTERIA).chart() == {"lines": [], "bands": []}


def test_a_device_leaves_the_verdict_to_the_server() -> None:
    table = load(E_COLI).judging_table(0, EVENTS)
    assert judge_by_table(table, [{"name": "sample_1", "raw": "10", "unit": ""}], START) == "on_receipt"
    assert load(E_COLI).points() == 1


@pytest.mark.parametrize("document", [E_COLI, TWO_CLASS, LISTERIA])
def test_a_document_survives_the_round_trip(document: dict[str, Any]) -> None:
    assert load(document).to_document() == document


@pytest.mark.parametrize("name", CRITERIA)
def test_every_published_criterion_can_be_a_limit(name: str) -> None:
    row = CRITERIA[name]
    document = {
        **E_COLI,
        "part": row.organism,
        "quantity": "presence" if row.plan.is_presence else "colony_count",
        "unit": None if row.plan.is_presence else "cfu_per_g",
        "n": row.plan.n,
        "c": row.plan.c,
        "m": None if row.plan.m is None else str(row.plan.m),
        "M": None if row.plan.upper is None else str(row.plan.upper),
        "grams": None if row.grams is None else str(row.grams),
    }
    limit = load(document)
    assert isinstance(limit, SamplingPlan)
    assert limit.plan == row.plan


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"n": 0}, "limit_wrong_value"),
        ({"n": 61}, "limit_wrong_value"),
        ({"n": "5"}, "limit_wrong_value"),
        ({"n": True}, "limit_wrong_value"),
        ({"c": 5}, "limit_wrong_value"),
        ({"c": -1}, "limit_wrong_value"),
        ({"m": None}, "limit_wrong_value"),
        ({"M": "100"}, "sampling_upper_not_above"),
        ({"M": "99"}, "limit_target_not_inside"),
        ({"m": "-1"}, "limit_impossible"),
        ({"M": "9999999999.5"}, "limit_impossible"),
        ({"unit": "degC"}, "limit_wrong_value"),
        ({"quantity": "temperature"}, "limit_wrong_value"),
        ({"grams": "25"}, "limit_wrong_value"),
        ({"part": "a" * 37}, "limit_wrong_value"),
        ({"method": "any"}, "limit_unknown_key"),
    ],
)
def test_a_plan_that_cannot_stand_is_refused(change: dict[str, Any], code: str) -> None:
    with pytest.raises(LimitError) as caught:
        load({**E_COLI, **change})
    assert caught.value.sentence.code == code


@pytest.mark.parametrize("change", [{"m": "100"}, {"M": "100"}, {"unit": "cfu_per_g"}, {"grams": None}])
def test_a_plan_for_presence_has_grams_and_no_counts(change: dict[str, Any]) -> None:
    with pytest.raises(LimitError):
        load({**LISTERIA, **change})


@pytest.mark.parametrize("key", ["n", "c", "part", "quantity", "unit"])
def test_a_key_left_out_is_named(key: str) -> None:
    with pytest.raises(LimitError) as caught:
        load({name: value for name, value in E_COLI.items() if name != key})
    assert dict(caught.value.sentence.params)["key"] == key


WRITTEN = st.tuples(st.sampled_from(["", "", "<", ">"]), st.integers(1, 3000)).map(
    lambda pair: f"{pair[0]}{pair[1]}"
)


@given(results=st.lists(WRITTEN, max_size=5), order=st.permutations(range(5)))
def test_the_order_of_the_samples_makes_no_difference(results: list[str], order: list[int]) -> None:
    first = judged(" ".join(results))
    second = judged(" ".join(results[place] for place in order if place < len(results)))
    assert (first.state, first.sentence, first.margin) == (second.state, second.sentence, second.margin)


@given(
    results=st.lists(st.integers(1, 3000), min_size=5, max_size=5),
    at=st.integers(0, 4),
    more=st.integers(0, 3000),
)
def test_raising_a_result_never_improves_the_answer(results: list[int], at: int, more: int) -> None:
    raised = [value + more if place == at else value for place, value in enumerate(results)]
    before, after = (judged(" ".join(map(str, values))) for values in (results, raised))
    assert severity(after.state) >= severity(before.state)
    assert after.margin is not None
    assert after.margin.is_finite()
