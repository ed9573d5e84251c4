"""The calculator of the rolling geometric mean: worked examples, refusals, steps, and arbitrary answers."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan import words
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.worked.rolling_mean import CALCULATOR, MONTHS, OWN
from safetyplan.calculation.worked.shape import Answers, Number, Worked

Given = dict[str, Any]


def numbers(written: str, unit: str = "cfu_per_ml") -> tuple[Number, ...]:
    return tuple(
        Number(Decimal(text.lstrip("<>")), unit, text[0] if text[0] in "<>" else "")
        for text in written.split()
    )


def pieces(value: int | str) -> Number:
    return Number(Decimal(value), "count")


def plate(latest: str = "", before: str = "", two_before: str = "", **changes: Any) -> Given:
    return {
        "milk_criterion": "eu_cow_plate_count",
        "censored_as": "full_limit",
        "latest_month": numbers(latest),
        "month_before": numbers(before),
        "two_months_before": numbers(two_before),
        **changes,
    }


def work(given_answers: Given, task: str = "plate_count_mean") -> Worked:
    return CALCULATOR.task(task).work(Answers(given_answers))


def text(worked: Worked) -> str:
    return str(words.render(worked.result))


def test_the_worked_example_of_a_milk_laboratory() -> None:
    # 10 000, 28 000, 120 000, 35 000: 32 931 (Milchpruefring Bayern); two in each month, so both ways agree
    found = work(plate("120000 35000", "10000 28000"))
    assert text(found) == (
        "At or below the limit 100000 CFU/ml both ways: all samples together 32931 CFU/ml, "
        "mean of the monthly means 32931 CFU/ml."
    )


def test_every_step_can_be_followed_by_hand() -> None:
    steps = [words.render(sentence) for sentence in work(plate("120000 35000", "10000 28000")).steps]
    assert steps == [
        "Geometric mean: add the logarithms (base 10), divide by their number, raise 10 to that.",
        "month before: 10000, 28000. Logarithms: 4.0000 + 4.4472 = 8.4472; "
        "divided by 2: mean 16733.20 CFU/ml.",
        "latest month: 120000, 35000. Logarithms: 5.0792 + 4.5441 = 9.6232; "
        "divided by 2: mean 64807.41 CFU/ml.",
        "All samples together: logarithms 4.0000 + 4.4472 + 5.0792 + 4.5441 = 18.0704; divided by 4: "
        "mean 32930.77 CFU/ml.",
        "Mean of the monthly means: logarithms 4.2236 + 4.8116 = 9.0352; divided by 2: mean 32930.77 CFU/ml.",
    ]


def test_the_two_ways_stand_side_by_side_and_may_differ_about_the_limit() -> None:
    found = work(plate("400000 400000", "1000 1000 400000 400000 400000 400000 400000 400000"))
    # ten counts: 10^((8 x 5.60206 + 2 x 3)/10) = 120 684; months 400 000 and 89 442: 189 148
    assert found.result.code == "mean_result_above"
    mixed = work(plate("400000 400000 400000 400000 400000 400000", "3000 3000"))
    # 10^((6 x 5.60206 + 2 x 3.47712)/8) = 117 713; months 400 000 and 3 000: 34 641
    assert text(mixed) == (
        "The two ways differ about the limit 100000 CFU/ml: all samples together 117713 CFU/ml, mean of the "
        "monthly means 34641 CFU/ml. Ask your authority which one holds."
    )


def test_a_published_herd_month_by_month() -> None:
    # Irish Veterinary Journal 70 (2017), article 9, table 2: monthly means 395.62, 460.49 and 377.65 thousand
    found = work(
        {
            "milk_criterion": "eu_cow_somatic_cells",
            "censored_as": "full_limit",
            "latest_month": numbers("659 555 394 407 288 226 287", "count"),
            "month_before": numbers("513 328 463 662 408 504 414", "count"),
            "two_months_before": numbers("438 540 413 402 283 345", "count"),
        },
        "somatic_cell_mean",
    )
    means = [dict(step.params)["mean"] for step in found.steps if step.code == "mean_step_month"]
    assert means == ["395.62", "460.49", "377.65"]
    assert found.result.code == "mean_result_above"
    assert dict(found.result.params)["limit"] == "400"


def test_too_few_results_in_a_month_show_nothing() -> None:
    found = work(plate("120000 35000", "10000"))
    assert text(found) == (
        "Not shown: in “month before” stand 1 results, at least 2 are needed. "
        "So far: all samples together 34760 CFU/ml, mean of the monthly means 25457 CFU/ml."
    )
    alone = work(plate("120000 35000"))
    assert dict(alone.result.params)["monthly"] == "-"


@pytest.mark.parametrize(("choice", "used"), [("full_limit", "2 x <10 = 10"), ("half_limit", "2 x <10 = 5")])
def test_what_stands_for_a_marked_count_is_shown(choice: str, used: str) -> None:
    found = work(plate("<10 100", "<10 100", censored_as=choice))
    assert [dict(sentence.params) for sentence in found.more] == [
        {"count": "2", "which": used},
        {"option": choice},
    ]
    lowered = "mean_half_lowers" in [sentence.code for sentence in found.cautions]
    assert lowered is (choice == "half_limit")


def test_a_count_above_the_range_passes_nothing() -> None:
    found = work(plate(">1000 100", "10 100"))
    assert found.result.code == "mean_result_open"
    assert "mean_too_low" in [sentence.code for sentence in found.cautions]
    assert work(plate(">9000000 9000000", "100000 100000")).result.code == "mean_result_above"


def test_a_limit_of_ones_own() -> None:
    own = {"own_mean_limit": numbers("50")[0], "own_months": pieces(1), "own_least": pieces(1)}
    assert work(plate("50", milk_criterion=OWN, **own)).result.code == "mean_result_within"
    assert work(plate("51", milk_criterion=OWN, **own)).result.code == "mean_result_above"


def test_the_answer_names_its_sources_and_who_decides() -> None:
    found = work(plate("10 10", "10 10"))
    assert any("853/2004" in source for source in found.sources)
    assert any("Irish Veterinary Journal" in source for source in found.sources)
    assert [sentence.code for sentence in found.cautions] == ["mean_name_the_way", "mean_who_decides"]
    assert found.validity


def test_the_chart_has_the_months_in_their_order_and_the_limit() -> None:
    chart = work(plate("400 400", "100 100")).chart
    assert chart is not None
    assert chart.points == ((1, 100), (2, 400))
    assert chart.limit_steps == ((0, 100000),)


OWN_RULE = {"own_mean_limit": numbers("50")[0], "own_months": pieces(2), "own_least": pieces(1)}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"milk_criterion": None}, ("calculator_needs", "milk_criterion")),
        ({"censored_as": None}, ("calculator_needs", "censored_as")),
        ({"latest_month": (), "month_before": ()}, ("mean_empty", "latest_month")),
        ({"latest_month": numbers("0")}, ("mean_nought", "latest_month")),
        ({"month_before": numbers("<0")}, ("mean_nought", "month_before")),
        ({"month_before": numbers("99999999999")}, ("outside_validity", "month_before")),
        ({"two_months_before": numbers("10")}, ("mean_outside_window", "two_months_before")),
        ({"own_months": pieces(2)}, ("mean_two_limits", "own_months")),
        ({"milk_criterion": OWN}, ("calculator_needs", "own_mean_limit")),
        (
            {"milk_criterion": OWN, **OWN_RULE, "own_mean_limit": numbers("0")[0]},
            ("mean_own_limit", "own_mean_limit"),
        ),
        (
            {"milk_criterion": OWN, **OWN_RULE, "own_mean_limit": numbers("<9")[0]},
            ("mean_own_limit", "own_mean_limit"),
        ),
        ({"milk_criterion": OWN, **OWN_RULE, "own_months": pieces(4)}, ("mean_own_number", "own_months")),
        ({"milk_criterion": OWN, **OWN_RULE, "own_months": pieces("1.5")}, ("mean_own_number", "own_months")),
        ({"milk_criterion": OWN, **OWN_RULE, "own_least": pieces(0)}, ("mean_own_number", "own_least")),
    ],
)
def test_what_cannot_be_answered_is_refused_at_its_field(changes: Given, expected: tuple[str, str]) -> None:
    with pytest.raises(Refusal) as caught:
        work(plate("10 10", "10 10") | changes)
    assert words.render(caught.value.sentence)
    assert (caught.value.sentence.code, caught.value.field) == expected


COUNTS = st.lists(
    st.builds(
        lambda value, mark: Number(value, "cfu_per_ml", mark),
        st.decimals(0, 9999999999, places=0),
        st.sampled_from(["", "<", ">"]),
    ),
    max_size=6,
).map(tuple)


@pytest.mark.parametrize("task", ["plate_count_mean", "somatic_cell_mean"])
@given(data=st.data())
def test_arbitrary_answers_are_worked_or_refused(task: str, data: st.DataObject) -> None:
    optional = {
        **{name: COUNTS for name in MONTHS},
        "own_mean_limit": COUNTS.filter(bool).map(lambda found: found[0]),
        "own_months": st.builds(pieces, st.integers(0, 5)),
        "own_least": st.builds(pieces, st.integers(0, 40)),
    }
    drawn: Given = data.draw(st.fixed_dictionaries({}, optional=optional))
    for ask in CALCULATOR.task(task).asks:
        if ask.entry == "choice":
            drawn[ask.name] = data.draw(st.sampled_from(ask.options))
    try:
        worked = work(drawn, task)
    except Refusal as refusal:
        words.render(refusal.sentence)
        return
    for _name, sentences in worked.sentences():
        assert all("NaN" not in words.render(sentence) for sentence in sentences)
    assert worked.chart is not None
    assert all(mean.is_finite() for _x, mean in worked.chart.points)


@given(first=COUNTS, second=COUNTS, seed=st.randoms(use_true_random=False))
def test_the_order_of_the_results_makes_no_difference(
    first: tuple[Number, ...], second: tuple[Number, ...], seed: Any
) -> None:
    def answered(one: Any, other: Any) -> object:
        try:
            return work(plate() | {"latest_month": tuple(one), "month_before": tuple(other)}).result
        except Refusal as refusal:
            return refusal.field

    mixed = [list(first), list(second)]
    for numbers_ in mixed:
        seed.shuffle(numbers_)
    assert answered(first, second) == answered(*mixed)


def test_every_input_and_option_has_its_words() -> None:
    for task in CALCULATOR.tasks:
        for ask in task.asks:
            assert {ask.name, task.name, CALCULATOR.name, *ask.options} <= words.NAMES.keys()
            assert ask.help is None or words.render(ask.help)
