"""Checks of instruments judged: errors against tolerances, lines as found, electrodes against criteria."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation import instrument_checks as checks
from safetyplan.calculation.buffer_checks import InBuffer, check_buffers
from safetyplan.calculation.instrument_checks import Allowed, Point, line_through
from safetyplan.calculation.instruments import AsFound
from safetyplan.calculation.refusal import Refusal
from safetyplan.words import render
from tests.calculation.published import published

HALF = Allowed(Decimal("0.5"), "degC")


def points(*pairs: tuple[str, str]) -> list[Point]:
    """Points from texts: what was true, what was shown."""
    return [Point(Decimal(true), Decimal(shown)) for true, shown in pairs]


def said(outcome: checks.Outcome) -> str:
    return " ".join(str(render(sentence)) for sentence in outcome.said)


@pytest.mark.parametrize("row", [r for r in published("instruments") if r["id"].startswith("IN-BP-")])
def test_a_thermometer_that_shows_the_published_boiling_point_has_no_error(row: dict[str, Any]) -> None:
    """Station pressures and boiling points of the reference library, to its tolerance."""
    found = checks.check_boiling(
        shown=Decimal(str(row["expected"])),
        unit="degC",
        allowed=Allowed(Decimal("0.02"), "degC"),
        pressure_hpa=Decimal(row["inputs"]["pressure_Pa"]) / 100,
    )
    assert found.passed


@given(st.decimals(-5, 5, places=2), st.decimals("0.01", 5, places=2))
def test_the_verdict_is_the_comparison_of_the_error_with_the_tolerance(error: Decimal, most: Decimal) -> None:
    found = checks.check_ice(shown=error, unit="degC", allowed=Allowed(most, "degC"))
    assert found.passed is (abs(error) <= most)
    assert found.error == error


@given(st.lists(st.decimals(-5, 5, places=2), min_size=1, max_size=5))
def test_one_point_outside_fails_the_whole(errors: list[Decimal]) -> None:
    read = [Point(Decimal(20 * n), 20 * n + error) for n, error in enumerate(errors)]
    found = checks.check_reference(read, unit="degC", allowed=HALF)
    assert found.passed is all(abs(error) <= Decimal("0.5") for error in errors)


def test_the_line_through_two_points_is_that_of_the_two_point_correction() -> None:
    line = line_through(points(("0", "0.4"), ("98.18", "99.1")))
    assert line == AsFound.two_points(
        shown_low=Decimal("0.4"),
        true_low=Decimal(0),
        shown_high=Decimal("99.1"),
        true_high=Decimal("98.18"),
    )


def test_the_line_through_more_points_is_the_least_squares_line() -> None:
    """Shown 0, 10, 20, true 1, 9, 20: slope 0.95, intercept 0.5 by hand (sums 190/200; 10 - 9.5)."""
    line = line_through(points(("1", "0"), ("9", "10"), ("20", "20")))
    assert line == AsFound(Decimal("0.5"), Decimal("0.95"))


@pytest.mark.parametrize(
    "pairs", [[("0", "0.2"), ("0.4", "0.6")], [("0", "0"), ("50", "100")], [("0", "20"), ("20", "0")]]
)
def test_no_line_is_drawn_where_two_points_do_not_give_one(pairs: list[tuple[str, str]]) -> None:
    assert line_through(points(*pairs)) is None


def test_readings_of_one_truth_give_the_mean_error() -> None:
    line = line_through(points(("0", "0.2"), ("0", "0.4")))
    assert line == AsFound.constant(Decimal("0.3"))


def test_an_error_just_beyond_the_tolerance_is_not_shown_as_equal_to_it() -> None:
    found = checks.check_ice(shown=Decimal("0.504"), unit="degC", allowed=HALF)
    assert "+0.504 °C, outside" in said(found)


@pytest.mark.parametrize(
    ("shown", "passed"), [("98.98", True), ("98.93", True), ("99.3", None), ("99.9", None), ("100.1", False)]
)
def test_an_altitude_decides_only_what_holds_in_any_weather(shown: str, passed: bool | None) -> None:
    """300 m is 98.98 °C (published), the weather ± 0.5 °C; tolerance ± 0.55 °C."""
    allowed = Allowed(Decimal("0.55"), "degC")
    found = checks.check_boiling(shown=Decimal(shown), unit="degC", allowed=allowed, altitude_m=Decimal(300))
    assert found.passed is passed


# Buffers at temperature: JIS Z 8802 and Foxboro MI 611-211, from the published rows.
@pytest.mark.parametrize("row", [r for r in published("instruments") if r["id"].startswith("IN-BUF-")])
def test_a_meter_that_shows_the_published_ph_of_a_buffer_is_within(row: dict[str, Any]) -> None:
    names = {"phthalate": "phthalate_4", "neutral phosphate": "phosphate_6_86", "borate": "borate_9_18"}
    found = check_buffers(
        [InBuffer(names[row["inputs"]["buffer"]], Decimal(str(row["expected"])))],
        temperature_c=Decimal(row["inputs"]["T_C"]),
        allowed=Allowed(Decimal("0.01"), "pH"),
    )
    assert found.passed


def test_the_other_buffer_seven_in_the_beaker_is_named() -> None:
    found = check_buffers(
        [InBuffer("technical_7", Decimal("6.86"))],
        temperature_c=Decimal(25),
        allowed=Allowed(Decimal("0.05"), "pH"),
    )
    assert found.passed is False
    assert "read the label" in said(found)


@pytest.mark.parametrize(
    ("given_", "field"),
    [
        ([InBuffer("technical_7")], "shown"),
        ([InBuffer("stated_buffer", Decimal(7))], "stated"),
        ([InBuffer("technical_7", mv=Decimal(200)), InBuffer("technical_4", mv=Decimal(-15))], "mv_low"),
    ],
)
def test_what_cannot_be_judged_is_refused_at_its_field(given_: list[InBuffer], field: str) -> None:
    about: dict[str, Any] = {
        "temperature_c": Decimal(25),
        "allowed": Allowed(Decimal("0.05"), "pH"),
        "criterion": "electrode_usual",
    }
    with pytest.raises(Refusal) as refused:
        check_buffers(given_, **about)
    assert refused.value.field == field
    assert check_buffers([InBuffer("technical_7", Decimal(7))], **about).passed


def test_methods_belong_to_quantities() -> None:
    assert checks.methods_of("ph") == ("buffers", "reference")
    assert checks.methods_of("salt") == ("reference",)


def test_the_working_of_an_electrode_shows_slope_and_offset_from_its_millivolts() -> None:
    """Worked example of studylib.net/doc/25392327, with its buffers 7.01 and 4.01 at 25 °C: 98.6 %."""
    read = [
        InBuffer("stated_buffer", mv=Decimal(-15), stated=Decimal("7.01")),
        InBuffer("stated_buffer", mv=Decimal(160), stated=Decimal("4.01")),
    ]
    found = check_buffers(read, temperature_c=Decimal(25), allowed=None, criterion="electrode_usual")
    steps = [str(render(step)) for step in found.steps]
    assert "59.16 mV per pH" in steps[2]
    assert steps[3].endswith("by theory = 98.6 %")
    assert found.passed


def test_an_error_in_ph_is_written_as_a_difference() -> None:
    allowed = Allowed(Decimal("0.05"), "pH")
    found = check_buffers(
        [InBuffer("technical_7", Decimal("7.06"))], temperature_c=Decimal(25), allowed=allowed
    )
    assert said(found) == "The error is +0.06 pH, outside the tolerance of ± 0.05 pH: the check fails."
