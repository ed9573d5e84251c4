"""A rolling geometric mean as a limit.

100 000 per ml over two months, two samples in each: cow's milk, Regulation (EC) No 853/2004, annex III, IX.
"""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan import words
from safetyplan.calculation.judgement import Evidence, Judgement, Measured, State
from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.rolling_geometric_mean import RollingGeometricMean
from safetyplan.calculation.limits.shape import LimitError
from safetyplan.calculation.sampling_tables import MILK_CRITERIA
from tests.calculation.evidence import EVENTS, number

PLATE: dict[str, Any] = {
    "kind": "rolling_geometric_mean",
    "part": "plate_count",
    "unit": "cfu_per_ml",
    "months": 2,
    "least_per_month": 2,
    "at_most": "100000",
    "method": "pooled_samples",
    "censored_as": "full_limit",
}
NOW = datetime(2026, 5, 28, 12, 0, tzinfo=UTC)


def milk(day: str, written: str, *, valid: bool = True, unit: str = "cfu_per_ml") -> Measured:
    """A count of milk taken on MM-DD of 2026 (or on YYYY-MM-DD), at eight in the morning UTC."""
    date = day if len(day) > 5 else f"2026-{day}"
    at = datetime.fromisoformat(f"{date}T08:00:00+00:00")
    mark = written[0] if written[0] in "<>" else None
    return number("plate_count", written.lstrip("<>"), unit, at, valid=valid, mark=mark)


def judged(*measured: Measured, now: datetime = NOW, zone: Any = UTC, **changes: Any) -> Judgement:
    return load({**PLATE, **changes}).judge(Evidence(measured, {}, now, zone=zone))


APRIL = (milk("04-03", "50000"), milk("04-20", "200000"))
MAY = (milk("05-04", "50000"), milk("05-18", "200000"))


def test_exactly_on_the_limit_passes() -> None:
    judgement = judged(*APRIL, *MAY)
    assert (judgement.state, judgement.margin, judgement.margin_unit) == (State.WITHIN, 0, "cfu_per_ml")


def test_just_above_the_limit_misses_and_is_shown_above_it() -> None:
    judgement = judged(*APRIL, *MAY, milk("05-25", "100001"))
    assert judgement.state is State.OUTSIDE_LIMIT
    assert words.render(judgement.sentence) == (
        "The geometric mean over 2 months (all samples of the months taken together) is 100000.2 CFU/ml, "
        "above the limit 100000 CFU/ml, by 0.2 CFU/ml."
    )


def test_the_worked_example_of_a_milk_laboratory_is_within() -> None:
    # 10 000, 28 000, 120 000, 35 000 give 32 931 (mpr-bayern.de); one count alone is above the limit
    found = judged(
        milk("04-02", "10000"), milk("04-19", "28000"), milk("05-03", "120000"), milk("05-20", "35000")
    )
    assert found.state is State.WITHIN
    assert dict(found.sentence.params)["mean"] == "32931 CFU/ml"


def test_the_two_methods_can_answer_differently() -> None:
    samples = [milk("04-01", "1000"), milk("04-09", "1000"), milk("04-17", "1000"), milk("05-02", "300000")]
    samples += [milk("05-10", "3000000"), milk("04-25", "1000")]
    assert judged(*samples).state is State.WITHIN
    assert judged(*samples, method="monthly_means", at_most="30000").state is State.OUTSIDE_LIMIT
    assert judged(*samples, method="pooled_samples", at_most="30000").state is State.WITHIN


def test_a_month_that_is_over_with_too_few_samples_leaves_the_mean_not_shown() -> None:
    judgement = judged(APRIL[0], *MAY)
    assert (judgement.state, judgement.sentence.code) == (State.NOT_SHOWN, "mean_month_short")
    assert dict(judgement.sentence.params) == {"month": "2026-04", "given": "1", "least": "2"}


def test_the_running_month_may_still_get_its_samples() -> None:
    judgement = judged(*APRIL, MAY[0])
    assert (judgement.state, judgement.sentence.code) == (State.NOT_YET_DUE, "mean_month_running")
    june = judged(*APRIL, MAY[0], now=datetime(2026, 6, 1, tzinfo=UTC))
    assert june.state is State.NOT_SHOWN


def test_while_a_month_is_short_the_mean_so_far_is_told() -> None:
    assert "mean_so_far" in [warning.code for warning in judged(*APRIL, MAY[0]).warnings]
    assert [warning.code for warning in judged().warnings] == []


def test_samples_outside_the_window_or_after_now_do_not_count() -> None:
    strange = (milk("03-31", "9999999"), milk("05-30", "9999999"), milk("2025-05-10", "9999999"))
    assert judged(*APRIL, *MAY, *strange).state is State.WITHIN


def test_months_are_those_of_the_dairys_calendar() -> None:
    late = number("plate_count", "100000", "cfu_per_ml", datetime(2026, 3, 31, 22, 30, tzinfo=UTC))
    few = (late, APRIL[0], *MAY)
    assert judged(*few, zone=ZoneInfo("Europe/Paris")).state is State.WITHIN
    assert judged(*few, zone=UTC).state is State.NOT_SHOWN


def test_a_count_below_the_laboratorys_limit_stands_as_the_plan_says_and_it_is_told() -> None:
    samples = (milk("04-03", "<1000"), milk("04-20", "4000"), milk("05-04", "<1000"), milk("05-18", "4000"))
    whole, half = (judged(*samples, censored_as=choice) for choice in ("full_limit", "half_limit"))
    assert dict(whole.sentence.params)["mean"] == "2000 CFU/ml"
    assert dict(half.sentence.params)["mean"] == "1414 CFU/ml"
    assert [dict(warning.params) for warning in half.warnings] == [{"count": "2", "which": "2 x <1000 = 500"}]


def test_a_count_above_the_range_can_show_a_miss_but_never_a_pass() -> None:
    assert judged(*APRIL, MAY[0], milk("05-18", ">1000")).state is State.NOT_SHOWN
    assert judged(*APRIL, MAY[0], milk("05-18", ">300000")).state is State.OUTSIDE_LIMIT


def test_nought_must_be_typed_again_and_shows_nothing() -> None:
    nought = milk("05-18", "0")
    evidence = Evidence((*APRIL, MAY[0], nought), {}, NOW)
    assert [sentence.code for sentence in load(PLATE).refusals(evidence)] == ["mean_nought"]
    assert load(PLATE).judge(evidence).state is State.NOT_SHOWN
    assert load(PLATE).refusals(Evidence((*APRIL, *MAY), {}, NOW)) == ()


def test_a_sample_that_shows_nothing_is_not_left_out_silently() -> None:
    for strange, state in (
        (milk("05-19", "10", valid=False), State.INSTRUMENT_NOT_VALID),
        (milk("05-19", "10", unit="cfu_per_g"), State.NOT_SHOWN),
        (number("plate_count", "10", "cfu_per_ml", None), State.NOT_SHOWN),
    ):
        assert judged(*APRIL, *MAY, strange).state is state
    assert judged(*APRIL, *MAY, milk("03-19", "10", valid=False)).state is State.WITHIN


def test_an_invalid_sample_does_not_excuse_a_miss() -> None:
    found = judged(*APRIL, *MAY, milk("05-19", "9999999"), milk("05-20", "10", valid=False))
    assert found.state is State.OUTSIDE_LIMIT


def test_the_limit_asks_for_one_count_and_draws_one_line() -> None:
    limit = load(PLATE)
    assert [(part.name, part.quantity, part.unit) for part in limit.parts()] == [
        ("plate_count", "colony_count", "cfu_per_ml")
    ]
    assert limit.points() == 1
    assert limit.judging_table(0, EVENTS) == {"judge": "on_receipt"}
    assert [line["value"] for line in limit.chart()["lines"]] == ["100000"]


def test_the_limit_names_its_method_and_what_stands_for_a_marked_count() -> None:
    assert [words.render(sentence) for sentence in load(PLATE).describe()] == [
        "Limit: plate count, geometric mean over 2 calendar months at most 100000 CFU/ml, with at least "
        "2 samples in each month.",
        "The mean is taken this way: all samples of the months taken together. A count below the "
        "laboratory's limit is replaced by the limit itself.",
    ]


@pytest.mark.parametrize("name", MILK_CRITERIA)
def test_every_published_rule_of_milk_can_be_a_limit(name: str) -> None:
    row = MILK_CRITERIA[name]
    cells = row.item == "somatic_cells"
    document = {
        **PLATE,
        "unit": "count" if cells else "cfu_per_ml",
        "months": row.months,
        "least_per_month": row.least_per_month,
        # cells in thousands per ml
        "at_most": str(row.at_most / 1000) if cells else str(row.at_most),
    }
    limit = load(document)
    assert isinstance(limit, RollingGeometricMean)
    assert limit.to_document() == document


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"months": 0}, "limit_wrong_value"),
        ({"months": 25}, "limit_wrong_value"),
        ({"months": "2"}, "limit_wrong_value"),
        ({"least_per_month": 0}, "limit_wrong_value"),
        ({"at_most": "0"}, "limit_wrong_value"),
        ({"at_most": "9999999999.1"}, "limit_impossible"),
        ({"at_most": None}, "limit_wrong_value"),
        ({"method": "arithmetic"}, "limit_wrong_value"),
        ({"censored_as": "nothing"}, "limit_wrong_value"),
        ({"unit": "degC"}, "limit_wrong_value"),
        ({"zone": "UTC"}, "limit_unknown_key"),
    ],
)
def test_a_rule_that_cannot_stand_is_refused(change: dict[str, Any], code: str) -> None:
    with pytest.raises(LimitError) as caught:
        load({**PLATE, **change})
    assert caught.value.sentence.code == code


@pytest.mark.parametrize("key", [key for key in PLATE if key != "kind"])
def test_a_key_left_out_is_named(key: str) -> None:
    with pytest.raises(LimitError) as caught:
        load({name: value for name, value in PLATE.items() if name != key})
    assert dict(caught.value.sentence.params)["key"] == key


DATED = st.tuples(st.integers(-90, 30), st.integers(1, 10**7)).map(
    lambda pair: number("plate_count", str(pair[1]), "cfu_per_ml", NOW + timedelta(days=pair[0]))
)


@given(samples=st.lists(DATED, max_size=10), seed=st.randoms(use_true_random=False))
def test_the_order_of_the_samples_makes_no_difference(samples: list[Measured], seed: Any) -> None:
    shuffled = list(samples)
    seed.shuffle(shuffled)
    first, second = judged(*samples), judged(*shuffled)
    assert first == second
    assert first.margin is None or first.margin.is_finite()


@given(counts=st.lists(st.integers(1, 10**6), min_size=4, max_size=4), more=st.integers(0, 10**7))
def test_a_higher_count_never_turns_a_miss_into_a_pass(counts: list[int], more: int) -> None:
    days = ("04-03", "04-20", "05-04", "05-18")
    before = judged(*(milk(day, str(value)) for day, value in zip(days, counts, strict=True)))
    raised = [counts[0] + more, *counts[1:]]
    after = judged(*(milk(day, str(value)) for day, value in zip(days, raised, strict=True)))
    assert before.state is State.WITHIN or after.state is State.OUTSIDE_LIMIT
    assert isinstance(after.margin, Decimal)
