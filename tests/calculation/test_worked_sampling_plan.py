"""The sampling-plan calculator: worked examples, every refusal, every step, and arbitrary answers."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan import words
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.worked.sampling_plan import CALCULATOR, COUNTS, OWN, PRESENCES, UNIT
from safetyplan.calculation.worked.shape import Answers, Number, Worked

E_COLI = "eu_e_coli_heated_milk"
Given = dict[str, Any]


def cfu(written: str) -> Number:
    mark = written[0] if written[0] in "<>" else ""
    return Number(Decimal(written.lstrip("<>")), UNIT, mark)


def pieces(value: int | str) -> Number:
    return Number(Decimal(value), "count")


def work(task: str, given: Given) -> Worked:
    return CALCULATOR.task(task).work(Answers(given))


def counted(written: str, criterion: str = E_COLI, **own: Number) -> Worked:
    results = tuple(cfu(text) for text in written.split())
    return work("judge_counts", {"sampling_criterion": criterion, "sample_results": results, **own})


def text(worked: Worked) -> str:
    return str(words.render(worked.result))


def refused(task: str, given: Given) -> tuple[str, str]:
    with pytest.raises(Refusal) as caught:
        work(task, given)
    assert words.render(caught.value.sentence)
    return caught.value.sentence.code, caught.value.field


# Regulation (EC) No 2073/2005, annex I, 2.2.2 and its verdicts; the third is a published check value
@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("50 80 90 100 20", "Satisfactory: none of the 5 results is above m = 100 CFU/g."),
        (
            "50 150 120 80 20",
            "Acceptable: 2 of the 5 results above m = 100 CFU/g, where up to c = 2 may be, "
            "and none above M = 1000 CFU/g.",
        ),
        (
            "50 150 120 800 20",
            "Unsatisfactory: 3 of 5 results above m = 100 CFU/g; no more than c = 2 may be.",
        ),
        ("50", "1 of 5 results: undecided. The plan needs all 5."),
    ],
)
def test_the_verdict_is_said_in_a_sentence(written: str, expected: str) -> None:
    assert text(counted(written)) == expected


def test_the_chance_of_bad_lots_stands_beside_the_verdict() -> None:
    # 0.95^5, 0.90^5, 0.80^5; and scipy.stats.binom.cdf(2, 5, p)
    assert [words.render(sentence) for sentence in counted("50 80 90 100 20").more] == [
        "What this says: a lot with 5 %, 10 % or 20 % of its units above M, and none between m and M, "
        "passes this plan with a chance of 77.4 %, 59.0 % or 32.8 %.",
        "A lot with 5 %, 10 % or 20 % of its units between m and M, and none above M, "
        "passes it with a chance of 99.9 %, 99.1 % or 94.2 %.",
    ]


def test_every_step_can_be_followed_by_hand() -> None:
    steps = [words.render(sentence) for sentence in counted("<10 150 120 20 >10").steps]
    assert steps[:3] == [
        "The plan: n = 5 samples, at most c = 2 above m = 100 CFU/g, none above M = 1000 CFU/g.",
        "At or below m: <10, 20. Above m up to M: 150, 120. Above M: -. Left open by < or >: >10.",
        "Of 5 results 0 lie above M (none may) and 2 in all above m (c = 2 may).",
    ]
    assert steps[4] == "d = 0.05: Pa = 0.95^5 = 0.7738, which is 77.4 %."
    # 0.59049 + 0.32805 + 0.0729 = 0.99144
    assert steps[8] == (
        "q = 0.10: Pa = 0.90^5 + 5 × 0.10^1 × 0.90^4 + 10 × 0.10^2 × 0.90^3 = 0.9914, which is 99.1 %."
    )
    assert len(steps) == 10


def test_two_classes_have_their_own_steps() -> None:
    found = counted("10 101", OWN, plan_n=pieces(3), plan_c=pieces(1), plan_m=cfu("100"))
    assert [sentence.code for sentence in found.steps] == [
        "sampling_step_plan_two",
        "sampling_step_sorted_two",
        "sampling_step_count_two",
        "sampling_step_formula_two",
        *["sampling_step_chance"] * 3,
    ]
    assert [sentence.code for sentence in found.more] == ["sampling_chances_two"]


def test_a_long_sum_is_written_with_its_ends() -> None:
    found = counted("1", OWN, plan_n=pieces(60), plan_c=pieces(50), plan_m=cfu("100"))
    terms = dict(found.steps[4].params)["terms"]
    assert terms == "0.95^60 + 60 × 0.05^1 × 0.95^59 + … + C(60,50) × 0.05^50 × 0.95^10"


def test_every_answer_says_what_it_does_not_show_and_who_decides() -> None:
    for worked in (
        counted("1 1 1 1 1"),
        counted("1", "eu_listeria_no_growth"),
        work("judge_presence", presence(5, 0)),
        work("plan_detects", DETECTS),
        work("lot_passes", LOT),
    ):
        assert worked.cautions[-1].code == "sampling_who_decides"
        assert worked.validity
        assert worked.sources
        assert worked.chart is not None
        assert worked.chart.points
    assert [sentence.code for sentence in counted("1", "eu_listeria_no_growth").cautions] == [
        "sampling_says_little",
        "sampling_hold",
        "sampling_undecided_holds",
        "sampling_who_decides",
    ]


def test_a_criterion_not_read_at_its_source_says_so() -> None:
    for name, memory in (("anz_listeria_no_growth", True), ("eu_listeria_no_growth", False)):
        codes = [sentence.code for sentence in counted("1", name).cautions]
        assert ("sampling_from_memory" in codes) is memory


@pytest.mark.parametrize(("written", "asked"), [("100000", False), ("100001", True), (">50000", True)])
def test_staphylococci_above_100_000_ask_for_the_toxin_test(written: str, asked: bool) -> None:
    found = counted(f"{written} 1 1 1 1", "eu_staph_raw_milk").more
    assert ("sampling_toxin_test" in [sentence.code for sentence in found]) is asked
    assert "sampling_toxin_test" not in [sentence.code for sentence in counted("200000").more]


def test_three_classes_draw_the_curve_over_the_mean_of_a_lognormal_lot() -> None:
    chart = counted("1 1 1 1 1").chart
    assert chart is not None
    assert chart.x == "lot_mean_log10"
    # a published check value: mean 1.5, standard deviation 0.8, m 100, M 1000: 0.7745
    assert abs(dict(chart.points)[Decimal("1.5")] - Decimal("77.45")) < Decimal("0.02")
    share = counted("1", OWN, plan_n=pieces(5), plan_c=pieces(0), plan_m=cfu("0"), plan_upper=cfu("10")).chart
    assert share is not None
    assert share.x == "share_above"


def presence(tested: int, found: int, criterion: str = "eu_salmonella_mild", **own: Number) -> Given:
    return {
        "sampling_criterion": criterion,
        "samples_tested": pieces(tested),
        "samples_detected": pieces(found),
        **own,
    }


@pytest.mark.parametrize(
    ("tested", "found", "expected"),
    [
        (5, 0, "Satisfactory: not detected in any of the 5 samples."),
        (1, 0, "1 of 5 results: undecided. The plan needs all 5."),
        (0, 0, "0 of 5 results: undecided. The plan needs all 5."),
        (1, 1, "Unsatisfactory: detected in 1 of 1 samples; no more than c = 0 may show it."),
    ],
)
def test_a_test_for_presence_is_judged_by_how_many_showed_it(tested: int, found: int, expected: str) -> None:
    assert text(work("judge_presence", presence(tested, found))) == expected


DETECTS = {
    "plan_n": pieces(5),
    "plan_c": pieces(0),
    "plan_confidence": Number(Decimal(95), "percent"),
    "sample_grams": Number(Decimal(25), "g"),
}


def test_what_a_plan_can_find() -> None:
    found = work("plan_detects", DETECTS)
    # 1 - 0.05^(1/5) = 0.4507; 59 samples for 5 %; -ln 0.05 / 125 g = 0.0240 CFU/g (a published check value)
    assert text(found) == (
        "n = 5, c = 0: with 95.0 % confidence this plan refuses a lot in which 45.1 % or more "
        "of the units are bad."
    )
    assert [dict(sentence.params) for sentence in found.more] == [
        {"found": "0.0240 CFU/g", "grams": "125 g", "confidence": "95.0 %"},
        {"n": "59", "confidence": "95.0 %"},
    ]
    assert words.render(found.steps[1]) == "c = 0: p = 1 − (0.05)^(1/5) = 0.4507."
    assert words.render(found.steps[-1]) == (
        "Organisms spread at random: C = −ln(0.05) / (125 g in all) = 0.0240 CFU/g."
    )


def test_what_a_plan_can_find_when_some_may_be_bad() -> None:
    found = work("plan_detects", {**DETECTS, "plan_c": pieces(1), "sample_grams": None})
    # scipy.stats.beta.ppf(0.95, 2, 4) = 0.6574
    assert dict(found.result.params)["share"] == "65.7 %"
    assert [sentence.code for sentence in found.more] == ["sampling_needed"]
    assert found.steps[1].code == "sampling_step_solved"


LOT = {
    "plan_n": pieces(5),
    "plan_c": pieces(2),
    "plan_m": cfu("100"),
    "plan_upper": cfu("1000"),
    "lot_mean": cfu("10"),
    "lot_sd": Number(Decimal("0.8"), "ratio"),
}


def test_which_lots_pass() -> None:
    found = work("lot_passes", LOT)
    # published check value: mean 1.0, standard deviation 0.8, 5, 2, 100, 1000: 0.961
    assert text(found) == (
        "A lot with a geometric mean of 10 CFU/g passes this plan with a chance of 96.1 %; 9.94 % of "
        "its units lie between m and M (above m where there is no M), 0.621 % above M."
    )
    assert words.render(found.steps[1]) == (
        "Logarithms to base 10: mean of the lot 1.0000, m 2.0000, M 3.0000; standard deviation 0.8."
    )
    assert [sentence.code for sentence in found.steps[2:]] == [
        "sampling_step_shares",
        "sampling_step_formula_three",
        "sampling_step_lot",
    ]


def test_a_lot_judged_without_upper_m() -> None:
    found = work("lot_passes", {**LOT, "plan_upper": None, "lot_mean": cfu("1")})
    assert dict(found.steps[1].params)["upper"] == "-"
    assert dict(found.result.params)["above"] == "0 %"


OWN_PLAN: Given = {"sampling_criterion": OWN, "sample_results": ()}


@pytest.mark.parametrize(
    ("task", "given_answers", "expected"),
    [
        ("judge_counts", {}, ("calculator_needs", "sampling_criterion")),
        ("judge_counts", OWN_PLAN, ("calculator_needs", "plan_n")),
        (
            "judge_counts",
            {**OWN_PLAN, "plan_n": pieces(5), "plan_c": pieces(2)},
            ("calculator_needs", "plan_m"),
        ),
        (
            "judge_counts",
            {"sampling_criterion": E_COLI, "plan_n": pieces(5)},
            ("sampling_two_plans", "plan_n"),
        ),
        (
            "judge_counts",
            {"sampling_criterion": E_COLI, "sample_results": (cfu("1"),) * 6},
            ("sampling_too_many", "sample_results"),
        ),
        (
            "judge_counts",
            {"sampling_criterion": E_COLI, "sample_results": (cfu("<0"),)},
            ("sampling_below_nothing", "sample_results"),
        ),
        (
            "judge_counts",
            {**OWN_PLAN, "plan_n": pieces("2.5"), "plan_c": pieces(0), "plan_m": cfu("1")},
            ("sampling_whole", "plan_n"),
        ),
        (
            "judge_counts",
            {**OWN_PLAN, "plan_n": pieces(5), "plan_c": pieces(0), "plan_m": cfu("<10")},
            ("sampling_plain_number", "plan_m"),
        ),
        (
            "judge_counts",
            {
                **OWN_PLAN,
                "plan_n": pieces(5),
                "plan_c": pieces(0),
                "plan_m": cfu("10"),
                "plan_upper": cfu("9"),
            },
            ("sampling_upper_not_above", "plan_upper"),
        ),
        (
            "judge_counts",
            {**OWN_PLAN, "plan_n": pieces(0), "plan_c": pieces(0), "plan_m": cfu("10")},
            ("outside_validity", "plan_n"),
        ),
        ("judge_presence", presence(3, 4), ("sampling_more_detected", "samples_detected")),
        ("judge_presence", presence(6, 0), ("sampling_too_many", "samples_tested")),
        ("plan_detects", {**DETECTS, "plan_c": pieces(5)}, ("outside_validity", "plan_c")),
        (
            "plan_detects",
            {**DETECTS, "plan_confidence": Number(Decimal(100), "percent")},
            ("outside_validity", "plan_confidence"),
        ),
        (
            "plan_detects",
            {**DETECTS, "sample_grams": Number(Decimal(0), "g")},
            ("outside_validity", "sample_grams"),
        ),
        ("lot_passes", {**LOT, "lot_mean": cfu("0")}, ("sampling_no_logarithm", "lot_mean")),
        ("lot_passes", {**LOT, "lot_mean": cfu("<10")}, ("sampling_plain_number", "lot_mean")),
        ("lot_passes", {**LOT, "plan_m": cfu("0")}, ("sampling_no_logarithm", "plan_m")),
        ("lot_passes", {**LOT, "lot_sd": Number(Decimal(0), "ratio")}, ("outside_validity", "lot_sd")),
    ],
)
def test_what_cannot_be_answered_is_refused_at_its_field(
    task: str, given_answers: Given, expected: tuple[str, str]
) -> None:
    assert refused(task, given_answers) == expected


NUMBERS = st.builds(
    lambda value, mark: Number(value, UNIT, mark),
    st.decimals(0, 9999999999, places=0) | st.sampled_from([Decimal(0), Decimal(1), Decimal(9999999999)]),
    st.sampled_from(["", "<", ">"]),
)
WHOLE = st.builds(
    lambda value: Number(value, "count"), st.decimals(0, 1000, places=0) | st.just(Decimal("1.5"))
)
OPTIONAL = {
    "sample_results": st.lists(NUMBERS, max_size=6).map(tuple),
    "plan_n": WHOLE,
    "plan_c": WHOLE,
    "plan_m": NUMBERS,
    "plan_upper": NUMBERS,
    "samples_tested": WHOLE,
    "samples_detected": WHOLE,
    "plan_confidence": st.builds(lambda value: Number(value, "percent"), st.decimals(0, 100, places=3)),
    "sample_grams": st.builds(lambda value: Number(value, "g"), st.decimals(0, 100000, places=3)),
    "lot_mean": NUMBERS,
    "lot_sd": st.builds(lambda value: Number(value, "ratio"), st.decimals(0, 1000000, places=3)),
}


@pytest.mark.parametrize("task", ["judge_counts", "judge_presence", "plan_detects", "lot_passes"])
@given(data=st.data())
def test_arbitrary_answers_are_worked_or_refused(task: str, data: st.DataObject) -> None:
    names = {ask.name for ask in CALCULATOR.task(task).asks}
    drawn = data.draw(
        st.fixed_dictionaries({}, optional={name: OPTIONAL[name] for name in names if name in OPTIONAL})
    )
    offered = (*COUNTS, OWN) if task == "judge_counts" else (*PRESENCES, OWN)
    drawn["sampling_criterion"] = data.draw(st.sampled_from(offered))
    try:
        worked = work(task, drawn)
    except Refusal as refusal:
        words.render(refusal.sentence)
        return
    for _name, sentences in worked.sentences():
        assert all("NaN" not in words.render(sentence) for sentence in sentences)
    assert worked.chart is not None
    assert all(0 <= chance <= 100 for _x, chance in worked.chart.points)


def test_every_input_and_option_has_its_words() -> None:
    for task in CALCULATOR.tasks:
        for ask in task.asks:
            assert {ask.name, task.name, CALCULATOR.name, *ask.options} <= words.NAMES.keys()
            assert ask.help is None or words.render(ask.help)
