"""Ageing time as a person meets it: days, weight, warmth; and whatever is typed, never a crash."""

from decimal import Decimal
from typing import Any

import pytest
from django.utils import translation
from hypothesis import given
from hypothesis import strategies as st

from safetyplan import words
from safetyplan.calculation.ageing import weight_loss
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.worked.ageing_room import ROOM_LOG
from safetyplan.calculation.worked.ageing_time import CALCULATOR
from safetyplan.calculation.worked.log_text import read_log
from safetyplan.calculation.worked.shape import Answers, Log, LogLine, Number, Worked
from tests.calculation.published import check_value

DAYS, WEIGHT, WARMTH = "days_at_temperature", "weight_lost", "room_warmth"
STEADY = "\n".join(f"{day} 12" for day in range(61))


def number(value: str, unit: str) -> Number:
    return Number(Decimal(value), unit)


def log(text: str, unit: str = "degC") -> Log:
    return read_log(text, ROOM_LOG, unit)


def rule(text: str = STEADY, log_unit: str = "degC", **more: Any) -> Answers:
    given = {
        "room_log": log(text, log_unit),
        "rule_days": number("60", "d"),
        "rule_temperature": number("35", "degF"),
        "longest_gap": number("36", "h"),
    }
    return Answers({**given, **more})


def warmth(text: str = STEADY, log_unit: str = "degC", **more: Any) -> Answers:
    return Answers({"room_log": log(text, log_unit), "longest_gap": number("36", "h"), **more})


def weights(start: str, now: str, unit: str = "kg") -> Answers:
    return Answers({"start_weight": number(start, unit), "weight_now": number(now, unit)})


def worked(task: str, answers: Answers) -> Worked:
    return CALCULATOR.task(task).work(answers)


def codes(found: Worked, section: str) -> list[str]:
    return [sentence.code for sentence in dict(found.sentences())[section]]


def text(found: Worked) -> str:
    with translation.override("en"):
        return "\n".join(words.render(sentence) for _, said in found.sentences() for sentence in said)


def refused(task: str, answers: Answers) -> tuple[str, str]:
    with pytest.raises(Refusal) as caught:
        worked(task, answers)
    return caught.value.sentence.code, caught.value.field


# --- days


def test_sixty_days_and_not_an_hour_less_reach_the_legal_minimum() -> None:
    assert worked(DAYS, rule()).result.code == "ageing_days_reached"
    short = STEADY.rsplit("\n", 1)[0] + "\n59.999 12"
    assert worked(DAYS, rule(short)).result.code == "ageing_days_short"
    assert "59.999 d" in text(worked(DAYS, rule(short)))


def test_a_cold_spell_a_gap_and_the_days_before_the_log_are_told_apart() -> None:
    # by hand: 1 d before the log; 1-2 counts, 2-3 and 3-4 touch 1.5 °C, 4-5 counts, 5-8 is a gap, 8-9 counts
    found = worked(DAYS, rule("1 12\n2 12\n3 1.5\n4 12\n5 12\n8 12\n9 12"))
    result, below, hidden = dict(found.result.params), *(dict(one.params) for one in found.more)
    assert (result["counted"], below["below"], hidden["hidden"]) == ("3 d", "2 d", "4 d")
    assert codes(found, "steps") == [
        "ageing_step_log",
        "ageing_step_stretch",
        "ageing_step_stretch",
        "ageing_step_stretch",
        "ageing_step_counted",
        "ageing_step_below",
        "ageing_step_hidden",
    ]
    assert found.chart is not None
    assert found.chart.bands == ((0, 1), (2, 4), (5, 8))


def test_a_room_at_35_f_counts_and_one_a_thousandth_of_a_degree_below_does_not() -> None:
    assert dict(worked(DAYS, rule("0 35\n1 35", "degF")).result.params)["counted"] == "1 d"
    assert dict(worked(DAYS, rule("0 34.999\n1 35", "degF")).result.params)["counted"] == "0 d"


def test_a_log_with_dates_tells_the_earliest_day_by_the_calendar() -> None:
    # AG-60-DATE: 2024-01-15 and 60 days is 2024-03-15, a leap year
    said = text(worked(DAYS, rule("2024-01-15 08:00 12\n2024-01-16 08:00 12")))
    assert check_value("ageing", "AG-60-DATE")["expected"] == "2024-03-15"
    assert "Made on 2024-01-15 (day 0), the earliest day by the calendar is 2024-03-15" in said
    earlier = rule("2024-01-16 07:00 12\n2024-01-17 07:00 12", make_to_first_reading=number("1", "d"))
    assert "the earliest day by the calendar is 2024-03-15" in text(worked(DAYS, earlier))


def test_after_the_last_value_nothing_is_shown() -> None:
    found = worked(DAYS, rule("0 12\n1 12\n2 -"))
    assert dict(found.more[1].params)["hidden"] == "1 d"


def test_many_stretches_are_summed_up() -> None:
    lines = "\n".join(f"{day} {12 if day % 3 else 1}" for day in range(60))
    assert codes(worked(DAYS, rule(lines)), "steps").count("ageing_step_other_stretches") == 1


def test_the_rule_that_was_typed_brings_its_source_and_another_brings_none() -> None:
    assert any("21 CFR 133.144" in source for source in worked(DAYS, rule()).sources)
    other = worked(DAYS, rule(rule_temperature=number("4", "degC")))
    assert not any("CFR" in source for source in other.sources)


def test_ageing_alone_and_the_legal_minimum_are_always_said() -> None:
    said = text(worked(DAYS, rule()))
    assert "Ageing alone never controls Listeria or STEC" in said
    assert "60 days is a legal minimum" in said
    assert "qualified person" in said


def test_each_refusal_of_the_days_names_its_field() -> None:
    empty = Log("degC", ("room_temperature",), (LogLine(Decimal(0), "0 d", (None,)),))
    assert refused(DAYS, rule(rule_days=number("0", "d"))) == ("ageing_whole_days", "rule_days")
    assert refused(DAYS, rule(rule_days=number("59.5", "d"))) == ("ageing_whole_days", "rule_days")
    assert refused(DAYS, rule(rule_days=number("3651", "d"))) == ("outside_validity", "rule_days")
    assert refused(DAYS, rule(rule_temperature=number("200", "degF"))) == (
        "outside_validity",
        "rule_temperature",
    )
    assert refused(DAYS, rule(longest_gap=number("0", "h"))) == ("outside_validity", "longest_gap")
    assert refused(DAYS, rule(longest_gap=number("8", "d"))) == ("outside_validity", "longest_gap")
    assert refused(DAYS, rule("0 12\n1 61")) == ("outside_validity", "room_log")
    assert refused(DAYS, rule("0 12\n9000 12")) == ("outside_validity", "room_log")
    assert refused(DAYS, rule(room_log=empty)) == ("series_empty", "room_log")
    assert refused(DAYS, rule(room_log=None)) == ("calculator_needs", "room_log")
    assert refused(DAYS, rule("1 12\n2 12", make_to_first_reading=number("2", "d"))) == (
        "ageing_two_starts",
        "make_to_first_reading",
    )


# --- weight


def test_a_loss_is_worked_as_published_in_any_unit() -> None:
    # AG-LOSS: 4.2 to 3.885 kg is 7.5 %
    assert "= 7.50 %" in text(worked(WEIGHT, weights("4.2", "3.885")))
    assert dict(worked(WEIGHT, weights("4200", "3885", "g")).result.params)["percent"] == "7.50 %"
    assert codes(worked(WEIGHT, weights("4.2", "3.885")), "steps") == ["ageing_step_weight"]


def test_a_gain_asks_to_check_the_scale() -> None:
    assert "check the scale" in text(worked(WEIGHT, weights("4.0", "4.1")))


def test_weights_of_zero_are_refused_at_their_field() -> None:
    assert refused(WEIGHT, weights("0", "1")) == ("outside_validity", "start_weight")
    assert refused(WEIGHT, weights("1", "0")) == ("outside_validity", "weight_now")
    assert weight_loss(start_kg=Decimal("0.001"), now_kg=Decimal("0.001")).loss_percent == 0


# --- warmth


def test_the_mean_kinetic_temperature_is_worked_so_that_it_can_be_followed() -> None:
    # numpy: -10000 / ln(mean of exp(-10000 / T)), T weighted by 0.5, 1, 0.5 d of 10, 14, 10 °C: 12.2297 °C
    found = worked(WARMTH, warmth("0 10\n1 14\n2 10"))
    assert dict(found.result.params)["kinetic"] == "12.23 °C"
    assert dict(found.result.params)["mean"] == "12.00 °C"
    assert codes(found, "steps") == [
        "ageing_step_kinetic_formula",
        "ageing_step_rate",
        "ageing_step_rate",
        "ageing_step_rate",
        "ageing_step_kinetic_mean",
        "ageing_step_kinetic",
    ]


def test_a_base_adds_degree_days_with_their_spans() -> None:
    # AG-DD-1 in spans of at most a week would be the same; here by hand: (3 + 1) / 2 + 1 x 1 / 2 / (1 + 1)
    found = worked(WARMTH, warmth("0 13\n1 11\n2 9", base_temperature=number("10", "degC")))
    assert "Sum of (days × mean height) = 2.25 °C × days" in text(found)
    assert codes(found, "steps").count("ageing_step_span") == 2


def test_a_q10_is_used_only_with_its_reference_and_is_called_an_assumption() -> None:
    both = {"q10": number("2.5", "ratio"), "reference_temperature": number("8", "degC")}
    found = worked(WARMTH, warmth("\n".join(f"{day} 12" for day in range(31)), **both))
    # AG-Q10-1: 30 d at 12 °C are 43.28 d at 8 °C
    assert "43.281 d" in text(found)
    assert "your assumption" in text(found)
    assert "ageing_step_other_readings" in codes(found, "steps")
    for name in both:
        alone = warmth(**{other: value for other, value in both.items() if other != name})
        assert refused(WARMTH, alone) == ("calculator_needs", name)


def test_each_refusal_of_the_warmth_names_its_field() -> None:
    assert refused(WARMTH, warmth("0 12")) == ("ageing_no_span", "room_log")
    assert refused(WARMTH, warmth("0 12\n5 12")) == ("ageing_no_span", "room_log")
    assert refused(WARMTH, warmth(activation=number("0", "ratio"))) == ("outside_validity", "activation")
    assert refused(WARMTH, warmth(base_temperature=number("90", "degC"))) == (
        "outside_validity",
        "base_temperature",
    )
    q10 = {"q10": number("0", "ratio"), "reference_temperature": number("8", "degC")}
    assert refused(WARMTH, warmth(**q10)) == ("outside_validity", "q10")


# --- anything


def numbers(low: int, high: int, *units: str) -> st.SearchStrategy[Number]:
    """Likely values three times out of four, else anything."""
    likely, anything = st.decimals(low, high, places=3), st.decimals(-500, 10_000_000, places=3)
    return st.builds(Number, st.one_of(likely, likely, likely, anything), st.sampled_from(units))


TEXTS = ("10:05", "0 d", "1,5 d", "2026-05-14 10:05", "9999-12-31 23:59", "0001-01-01 00:00", "9999999 d")
ODD = (Decimal(12), Decimal(35), Decimal("1.667"), Decimal(70))
LOGS = st.builds(
    lambda unit, times, values, first: Log(
        unit,
        ("room_temperature",),
        tuple(
            LogLine(seconds - min(times), first, (values[n % len(values)],))
            for n, seconds in enumerate(sorted(times))
        ),
    ),
    st.sampled_from(("degC", "degF")),
    st.lists(st.decimals(0, 3_000_000, places=1), min_size=1, max_size=14, unique=True),
    st.lists(
        st.one_of(st.none(), st.decimals(-30, 60, places=3), st.sampled_from(ODD)), min_size=1, max_size=14
    ),
    st.sampled_from(TEXTS),
)
DAYS_TYPED = st.sampled_from(("60", "1", "3650", "0", "59.5", "4000")).map(lambda days: number(days, "d"))
GIVEN = st.fixed_dictionaries(
    {
        "room_log": LOGS,
        "make_to_first_reading": numbers(0, 60, "d", "h"),
        "rule_days": DAYS_TYPED,
        "rule_temperature": numbers(-20, 60, "degF", "degC"),
        "longest_gap": numbers(1, 168, "h"),
        "start_weight": numbers(1, 1000, "kg", "g", "lb"),
        "weight_now": numbers(1, 1000, "kg", "g", "lb"),
        "base_temperature": numbers(-20, 60, "degC", "degF"),
        "q10": numbers(1, 6, "ratio"),
        "reference_temperature": numbers(-20, 60, "degC", "degF"),
        "activation": numbers(1000, 30_000, "ratio"),
    }
)
LEFT_OUT = st.one_of(
    st.just({"make_to_first_reading"}),
    st.just({"q10", "reference_temperature"}),
    st.sets(st.sampled_from(("room_log", "longest_gap", "q10", "activation", "weight_now")), max_size=2),
)


@pytest.mark.parametrize("task", [task.name for task in CALCULATOR.tasks])
@given(given_values=GIVEN, left_out=LEFT_OUT)
def test_whatever_is_given_there_is_a_working_or_a_refusal_at_a_field(
    task: str, given_values: dict[str, Any], left_out: set[str]
) -> None:
    try:
        found = worked(task, Answers({k: v for k, v in given_values.items() if k not in left_out}))
    except Refusal as refusal:
        field, said = refusal.field, words.render(refusal.sentence)
    else:
        field, said = "room_log", text(found)
    assert field in {ask.name for one in CALCULATOR.tasks for ask in one.asks}
    assert "NaN" not in said
    assert "Infinity" not in said
