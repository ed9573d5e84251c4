"""The pH forecast as a person meets it: result, working, refusals; and whatever is typed, never a crash."""

from decimal import Decimal
from typing import Any

import pytest
from django.utils import translation
from hypothesis import given
from hypothesis import strategies as st

from safetyplan import words
from safetyplan.calculation.acidification_tables import FAMILIES
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.worked.log_text import read_log
from safetyplan.calculation.worked.ph_forecast import ASKS, CALCULATOR, NO_FAMILY
from safetyplan.calculation.worked.shape import Answers, Log, LogLine, Number, Worked
from tests.calculation.published import check_value

HOURLY = "0 6.55\n1 6.40\n2 6.10\n3 5.75\n4 5.40\n5 5.15"
STEADY = "0 6.6\n2 6.5\n4 6.3\n6 6.0\n8 5.7"


def answers(
    text: str = HOURLY, target: str = "5.3", hours: str = "5", unit: str = "h", **more: Any
) -> Answers:
    given = {
        "ph_log": read_log(text, ASKS[0], "pH"),
        "target_ph": Number(Decimal(target), "pH"),
        "target_hours": Number(Decimal(hours), unit),
        "cheese_family": NO_FAMILY,
    }
    return Answers({**given, **more})


def worked(*args: str, **more: Any) -> Worked:
    return CALCULATOR.task("").work(answers(*args, **more))


def codes(found: Worked, section: str) -> list[str]:
    return [sentence.code for sentence in dict(found.sentences())[section]]


def text(found: Worked) -> str:
    with translation.override("en"):
        return "\n".join(words.render(sentence) for _, said in found.sentences() for sentence in said)


def refused(*args: str, **more: Any) -> tuple[str, str]:
    with pytest.raises(Refusal) as caught:
        worked(*args, **more)
    return caught.value.sentence.code, caught.value.field


def test_a_crossing_is_worked_step_by_step_as_published() -> None:
    # AC-T-5.3, numpy.interp: 4.4 h
    found = worked()
    assert check_value("acidification", "AC-T-5.3")["expected"] == Decimal("4.4")
    assert dict(found.result.params)["hours"] == "4.40 h"
    assert codes(found, "steps") == [
        "acidification_step_log",
        "acidification_step_first",
        "acidification_step_line",
        "acidification_step_pace",
    ]
    assert "time = 4 h + 0.10 ÷ 0.25 × 1 h = 4.4 h" in text(found)


def test_an_interpolated_time_says_that_it_passes_nothing() -> None:
    found = worked(hours="4.5")
    assert codes(found, "result")[:4] == [
        "acidification_reached",
        "acidification_not_shown",
        "acidification_interpolated",
        "acidification_at_hour",
    ]
    assert codes(found, "steps")[-2:] == ["acidification_step_at", "acidification_step_pace_none"]


def test_a_measured_crossing_and_a_log_that_starts_there_say_so() -> None:
    assert worked(target="5.40").result.code == "acidification_measured"
    assert worked(target="6.60").result.code == "acidification_from_start"


def test_a_target_not_reached_comes_with_a_hint_that_is_called_one() -> None:
    # AC-NOTREACHED; 8 h + 0.4 / 0.15 h = 10.7 h by hand
    found = worked(STEADY, hours="12")
    assert found.result.code == "acidification_not_reached"
    assert "Hint, not evidence" in text(found)
    assert "10.7 h" in text(found)
    assert codes(found, "steps") == [
        "acidification_step_log",
        "acidification_step_lowest",
        "acidification_step_rule",
        "acidification_step_slope",
        "acidification_step_slope",
        "acidification_step_ahead",
        "acidification_step_pace_none",
    ]


def test_a_hint_later_than_the_hour_asks_for_action_and_an_earlier_one_passes_nothing() -> None:
    assert "acidification_hint_late" in codes(worked(STEADY, hours="10"), "result")
    early = worked(STEADY, hours="12")
    assert "acidification_hint_late" not in codes(early, "result")
    assert "acidification_not_shown" in codes(early, "result")


def test_without_a_hint_the_reason_is_said() -> None:
    assert "acidification_no_hint_few" in codes(worked("0 6.6\n2 6.5", hours="9"), "result")
    assert "acidification_no_hint_flat" in codes(worked("0 6.6\n2 6.3\n4 6.2", hours="9"), "result")


def test_a_slow_vat_is_called_slow_by_a_measured_value() -> None:
    found = worked("0 6.6\n6 6.05", target="5.8", hours="6")
    assert "Slow vat: pH 6.05 measured at 6 h is above pH 5.8" in text(found)


def test_a_rise_is_said_once() -> None:
    noisy = "0 6.55\n1 6.3\n2 5.8\n3 5.28\n4 5.33\n5 5.2\n6 5.05"
    assert codes(worked(noisy, hours="6"), "result").count("acidification_rise") == 1
    assert codes(worked(noisy, hours="3"), "result").count("acidification_rise") == 1


def test_no_state_word_of_a_pass_and_the_cautions_are_always_there() -> None:
    for found in (worked(), worked(STEADY, hours="12")):
        assert codes(found, "cautions") == [
            "acidification_hint_passes_nothing",
            "acidification_measure",
            "acidification_slow_vat",
            "acidification_qualified_person",
        ]
        assert found.validity
        assert found.sources


def test_the_chart_draws_the_readings_and_the_step_of_the_target() -> None:
    chart = worked().chart
    assert chart is not None
    assert chart.points[-1] == (5, Decimal("5.15"))
    assert chart.target_steps == ((5, Decimal("5.3")),)


def test_plain_hours_count_from_the_starter_and_clock_times_from_the_first_line_or_as_told() -> None:
    assert (
        worked("2 6.1\n3 5.1", hours="3").steps[0]
        == worked(
            "10:00 6.1\n11:00 5.1", hours="3", starter_to_first_reading=Number(Decimal(120), "min")
        ).steps[0]
    )
    assert dict(worked("10:00 6.1\n11:00 5.1").steps[0].params)["first"] == "0 h"


def test_a_mark_for_no_value_is_left_out() -> None:
    assert dict(worked("0 6.5\n1 -\n2 5.2").steps[0].params)["count"] == "2"


def test_the_hour_may_be_typed_in_minutes() -> None:
    assert worked(hours="300", unit="min").to_document() == worked(hours="5").to_document()


@pytest.mark.parametrize("family", FAMILIES)
def test_published_values_are_for_comparison_and_change_no_working(family: str) -> None:
    found, plain = worked(cheese_family=family), worked()
    assert (found.result, found.steps) == (plain.result, plain.steps)
    said = text(found)
    assert "Published for comparison, not prefilled" in said
    assert len(found.sources) > len(plain.sources)


def test_a_published_make_is_compared_at_the_same_target() -> None:
    # AC-CHED-LO53: 237.3 min are 3.95 h
    said = text(worked(cheese_family="cheddar"))
    assert "a Cheddar make at lower pH came to pH 5.3 at about 3.95 h" in said
    assert "a Cheddar make at higher pH went down to pH 5.40" in said


def test_each_refusal_names_its_field() -> None:
    nothing = Log("pH", ("ph",), (LogLine(Decimal(0), "0 h", (None,)),))
    assert refused(hours="0") == ("acidification_no_hours", "target_hours")
    assert refused(hours="721") == ("outside_validity", "target_hours")
    assert refused(target="14.1") == ("outside_validity", "target_ph")
    assert refused("0 6.5\n800 5.0") == ("outside_validity", "ph_log")
    assert refused(ph_log=nothing) == ("series_empty", "ph_log")
    assert refused(ph_log="") == ("calculator_needs", "ph_log")
    assert refused(target_ph=None) == ("calculator_needs", "target_ph")
    assert refused("1 6.5\n2 6", starter_to_first_reading=Number(Decimal(3), "h")) == (
        "acidification_two_starts",
        "starter_to_first_reading",
    )
    assert refused(starter_to_first_reading=Number(Decimal(900), "h")) == (
        "outside_validity",
        "starter_to_first_reading",
    )


PH = st.decimals(0, 14, places=3)
HOURS = st.decimals(0, 87600, places=2)
UNITS = st.sampled_from(("h", "min"))
NUMBERS = st.one_of(
    st.none(), st.builds(Number, HOURS, UNITS), st.builds(Number, st.decimals(0, 48, places=2), UNITS)
)
# As the reader of logs gives them: the first line at 0 s, times rising, a text in hours or of a clock.
LOGS = st.builds(
    lambda times, values, first: Log(
        "pH",
        ("ph",),
        tuple(
            LogLine(seconds - min(times), first, (values[n % len(values)],))
            for n, seconds in enumerate(sorted(times))
        ),
    ),
    st.lists(st.decimals(0, 3_000_000, places=1), min_size=1, max_size=12, unique=True),
    st.lists(st.one_of(st.none(), PH, PH), min_size=1, max_size=12),
    st.sampled_from(("10:05", "0 h", "1,5 h", "2026-05-14 10:05", "9999999 h")),
)


@given(
    LOGS, st.decimals(0, 14, places=3), NUMBERS, NUMBERS, st.sampled_from((NO_FAMILY, *FAMILIES, "unknown"))
)
def test_whatever_is_given_there_is_a_working_or_a_refusal_at_a_field(
    log: Log, target: Decimal, wanted: Number | None, first: Number | None, family: str
) -> None:
    given = {
        "ph_log": log,
        "target_ph": Number(target, "pH"),
        "target_hours": wanted,
        "starter_to_first_reading": first,
        "cheese_family": family,
    }
    try:
        found = CALCULATOR.task("").work(Answers({k: v for k, v in given.items() if v is not None}))
    except Refusal as refusal:
        field, said = refusal.field, words.render(refusal.sentence)
    else:
        field, said = "ph_log", text(found)
    assert field in {ask.name for ask in ASKS}
    assert "NaN" not in said
    assert "Infinity" not in said
