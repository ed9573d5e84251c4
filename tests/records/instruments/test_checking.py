"""Checks of instruments recorded and corrected: what is judged by what, and what is refused."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from records.instruments.checking import (
    CheckContent,
    correct_instrument_check,
    record_instrument_check,
)
from records.instruments.measured import Readings
from records.instruments.models import InstrumentCheck
from records.instruments.queries import in_use, last_check, last_good
from records.instruments.services import retire_instrument
from safetyplan.integrity import canonical
from safetyplan.integrity.refusals import BadInput, NotAllowed, Refused
from tests.builders import T0, at, hours
from tests.cast import Cast
from tests.records.instruments.acts import a_meter, a_probe, checked, pairs, shown, some_scales
from tests.web import entries


@pytest.mark.parametrize(
    ("found", "passed", "said"),
    [
        ("0.5", True, "The error is +0.5 °C, within the tolerance of ± 0.5 °C."),
        ("-0,5", True, "The error is -0.5 °C, within the tolerance of ± 0.5 °C."),
        ("0.51", False, "The error is +0.51 °C, outside the tolerance of ± 0.5 °C: the check fails."),
    ],
)
def test_the_ice_point_is_judged_by_the_tolerance_of_the_instrument(
    cast: Cast, found: str, passed: bool, said: str
) -> None:
    check = checked(cast, a_probe(cast), hours(1), found)

    assert (check.passed, check.sentence_text) == (passed, said)
    assert (check.unit, check.tolerance_text, check.tolerance_unit) == ("degC", "0.5", "degC")


def test_a_reading_is_kept_as_it_was_typed_and_as_a_number(cast: Cast) -> None:
    check = checked(cast, a_probe(cast), hours(1), "0,40 °C")

    [point] = canonical.loads(check.found.encode())  # type: ignore[misc]
    assert point == {
        "name": "",
        "raw": "0,40 °C",
        "shown": "0.40",
        "true": "0",
        "unit": "degC",
        "what": "point",
    }
    assert (check.error_text, check.intercept_text, check.slope_text) == ("0.40", "-0.40", "1")


def test_a_thermometer_in_fahrenheit_has_its_ice_point_at_32(cast: Cast) -> None:
    probe = a_probe(cast, unit="degF", tolerance="1 °F")

    check = checked(cast, probe, hours(1), "33.5")

    assert (check.error_text, check.passed) == ("1.5", False)


def test_a_tolerance_in_another_unit_than_the_instrument_is_compared_as_a_difference(cast: Cast) -> None:
    probe = a_probe(cast, tolerance="2 °F")  # ± 2 °F of a store's thermometer: 1.11 °C

    at_the_edge = checked(cast, probe, hours(1), "1.11")
    beyond = checked(cast, probe, hours(2), "1.12")

    assert (probe.tolerance_value, probe.tolerance_unit) == ("2", "degF")
    assert [at_the_edge.passed, beyond.passed] == [True, False]


# Boiling points: iapws 1.5.5, IAPWS-IF97, as in fixtures/published/instruments.json (95 kPa: 98.18 °C).
@pytest.mark.parametrize(
    ("given", "found", "passed"),
    [
        ({"air_pressure": "950"}, "98.2", True),
        ({"air_pressure": "950"}, "98.8", False),
        ({"altitude": "300"}, "98.98", True),  # 300 m: 98.98 °C; the weather is ± 0.5 °C
        ({"altitude": "300"}, "99.3", None),
        ({"altitude": "300"}, "100.1", False),
    ],
)
def test_the_boiling_point_is_judged_by_pressure_or_by_altitude_and_weather(
    cast: Cast, given: dict[str, str], found: str, passed: bool | None
) -> None:
    check = checked(cast, a_probe(cast, tolerance="0.55"), hours(1), found, "boiling_point", given=given)

    assert check.passed is passed


def test_an_undecided_check_is_neither_a_good_one_nor_a_failed_one(cast: Cast) -> None:
    probe = a_probe(cast)
    good = checked(cast, probe, hours(1))

    undecided = checked(cast, probe, hours(2), "99.3", "boiling_point", given={"altitude": "300"})

    assert undecided.good_after is None
    assert last_check(cast.dairy, probe, hours(3)) == undecided
    assert last_good(cast.dairy, probe, hours(3)) == good


@pytest.mark.parametrize("given", [{}, {"air_pressure": "950", "altitude": "500"}])
def test_the_boiling_point_needs_pressure_or_altitude(cast: Cast, given: dict[str, str]) -> None:
    probe = a_probe(cast)
    with pytest.raises(BadInput, match="one of the two") as refused:
        checked(cast, probe, hours(1), "98.2", "boiling_point", given=given)
    assert refused.value.part == "air_pressure"
    assert checked(cast, probe, hours(1), "98.2", "boiling_point", given={"air_pressure": "950"}).passed


def buffers(*points: tuple[str, str], **told: str) -> Readings:
    """Give readings in buffers."""
    return Readings([{"name": name, "shown": text} for name, text in points], **told)


# The technical buffer 7.00 has pH 7.02 at 20 °C (Foxboro MI 611-211, table 7).
@pytest.mark.parametrize(("found", "error", "passed"), [("7.07", "0.05", True), ("7.08", "0.06", False)])
def test_a_meter_is_judged_by_the_ph_of_its_buffer_at_the_temperature(
    cast: Cast, found: str, error: str, passed: bool
) -> None:
    readings = buffers(("technical_7", found), ("technical_4", "4.01"))

    check = checked(cast, a_meter(cast), hours(1), readings, "buffers", given={"temperature": "20"})

    assert (check.error_text, check.passed) == (error, passed)


# Worked example of studylib.net/doc/25392327: -15 mV and 160 mV are 98.6 % (with buffers 7.01 and 4.01), and
# 15 mV and 160 mV are 81.7 %, to be rejected at 85 to 105 %.
@pytest.mark.parametrize(("neutral", "passed"), [("-15", True), ("15", False)])
def test_an_electrode_is_judged_by_the_millivolts_in_two_buffers(
    cast: Cast, neutral: str, passed: bool
) -> None:
    meter = a_meter(cast, tolerance="", criterion="electrode_usual")
    points = [
        {"name": "stated_buffer", "stated": "7.01", "mv": neutral},
        {"name": "stated_buffer", "stated": "4.01", "mv": "160"},
    ]

    check = checked(cast, meter, hours(1), Readings(points), "buffers", given={"temperature": "25"})

    assert check.passed is passed
    assert ("98.60 %" if passed else "81.70 %") in check.sentence_text
    assert check.line is None


@pytest.mark.parametrize(("slope", "passed"), [("102", True), ("102.1", False), ("91.9 %", False)])
def test_an_electrode_is_judged_by_slope_and_offset_as_the_meter_tells_them(
    cast: Cast, slope: str, passed: bool
) -> None:
    meter = a_meter(cast, criterion="electrode_food")
    readings = buffers(("technical_7", "7.00"), slope=slope, offset="-4.2")

    check = checked(cast, meter, hours(1), readings, "buffers", given={"temperature": "25"})

    assert check.passed is passed


def test_good_readings_do_not_make_up_for_a_failed_electrode(cast: Cast) -> None:
    meter = a_meter(cast, criterion="electrode_food")
    given = {"temperature": "25"}

    alone = checked(cast, meter, hours(1), buffers(("technical_7", "7.00")), "buffers", given=given)
    with_slope = buffers(("technical_7", "7.00"), slope="80", offset="0")
    failed = checked(cast, meter, hours(2), with_slope, "buffers", given=given)

    assert [alone.passed, failed.passed] == [True, False]


def test_a_comparison_over_a_range_gives_the_line_of_the_error(cast: Cast) -> None:
    """Two points: true 0 shown 0.4, true 98.2 shown 99.4; handbook form (r - r0)(t1 - t0)/(r1 - r0) + t0."""
    probe = a_probe(cast)
    readings = pairs(("0", "0.4"), ("98.2", "99.4"))

    check = checked(cast, probe, hours(1), readings, "reference", given={"certificate": "No. 12"})

    assert check.line is not None
    assert check.line.corrected(Decimal("0.4")).quantize(Decimal("0.000001")) == 0
    assert check.line.corrected(Decimal("99.4")).quantize(Decimal("0.000001")) == Decimal("98.2")
    assert (check.error_text, check.passed) == ("1.2", False)


@pytest.mark.parametrize(
    ("until", "moment", "passed"),
    [(date(2026, 5, 14), hours(1), True), (date(2026, 5, 13), hours(1), None), (None, hours(1), True)],
)
def test_a_reference_with_an_expired_certificate_passes_nothing(
    cast: Cast, until: date | None, moment: Any, passed: bool | None
) -> None:
    reference = a_probe(cast, "R1", certificate="No. 12", certificate_until=until)
    probe = a_probe(cast)

    check = checked(cast, probe, moment, pairs(("63", "63.2")), "reference", reference=reference.pk)

    assert check.passed is passed


def test_a_failed_reference_passes_nothing_and_still_shows_what_is_outside(cast: Cast) -> None:
    reference, probe = a_probe(cast, "R1"), a_probe(cast)
    checked(cast, reference, hours(1), "0.9")

    within = checked(cast, probe, hours(2), pairs(("63", "63.2")), "reference", reference=reference.pk)
    outside = checked(cast, probe, hours(3), pairs(("63", "64")), "reference", reference=reference.pk)

    assert [within.passed, outside.passed] == [None, False]


def test_a_reference_is_named_and_is_another_instrument(cast: Cast) -> None:
    probe = a_probe(cast)
    with pytest.raises(BadInput, match="Choose the reference"):
        checked(cast, probe, hours(1), pairs(("63", "63.2")), "reference")
    with pytest.raises(BadInput, match="its own reference"):
        checked(cast, probe, hours(1), pairs(("63", "63.2")), "reference", reference=probe.pk)
    assert checked(
        cast, probe, hours(1), pairs(("63", "63.2")), "reference", given={"certificate": "No. 12"}
    ).passed


@pytest.mark.parametrize(
    ("again", "passed"), [((), True), (("1000", "1003", "998"), True), (("1000", "1006"), False)]
)
def test_scales_are_judged_by_weights_and_by_one_weight_again(
    cast: Cast, again: tuple[str, ...], passed: bool
) -> None:
    readings = replace(pairs(("100", "101"), ("2000", "2005")), again=again)

    check = checked(cast, some_scales(cast), hours(1), readings, "scales")

    assert (check.error_text, check.passed) == ("5", passed)


def test_one_adjusted_is_good_only_when_it_was_found_good_after_that(cast: Cast) -> None:
    probe = a_probe(cast)

    mended = checked(cast, probe, hours(1), "0.9", left=shown("0.1"), done="adjusted")
    not_mended = checked(cast, probe, hours(2), "0.9", left=shown("0.8"), done="adjusted")

    assert (mended.passed, mended.left_passed, mended.good_after) == (False, True, True)
    assert (not_mended.passed, not_mended.left_passed, not_mended.good_after) == (False, False, False)
    assert last_good(cast.dairy, probe, hours(3)) == mended


@pytest.mark.parametrize(
    ("changed", "part"),
    [
        ({"done": "adjusted"}, "left_1_shown"),
        ({"left": shown("0.1")}, "done"),
        ({"done": "sold"}, "done"),
        ({"method": "scales"}, "method"),
        ({"method": "by ear"}, "method"),
        ({"found": shown("")}, "found_1_shown"),
        ({"found": Readings()}, "found_1_shown"),
        ({"found": shown("nan")}, "found_1_shown"),
        ({"found": shown("32F")}, "found_1_shown"),
        ({"found": shown("161")}, "found_1_shown"),
        ({"found": shown("32")}, "found_1_shown"),
        ({"found": shown("-300")}, "found_1_shown"),
        ({"left": shown("1e3"), "done": "adjusted"}, "left_1_shown"),
        ({"note": "x" * 1001}, "note"),
        ({"note": "a\0b"}, "note"),
        ({"checked_at": hours(1.1)}, "checked_at"),
        ({"checked_at": hours(0.2)}, "late_reason"),
    ],
)
def test_a_check_that_is_not_whole_is_refused_at_its_field(
    cast: Cast, changed: dict[str, Any], part: str
) -> None:
    probe = a_probe(cast)
    content = CheckContent("ice_point", hours(1), shown("0.1"))
    by = {"establishment": cast.dairy, "by": cast.maker, "instrument": probe}
    before = entries(cast.dairy)

    with at(cast.dairy, hours(1)), pytest.raises(BadInput) as refused:
        record_instrument_check(content=replace(content, **changed), **by)

    assert refused.value.part == part
    assert entries(cast.dairy) == before
    with at(cast.dairy, hours(1)):
        assert record_instrument_check(content=content, **by).passed


def test_an_unlikely_reading_is_taken_once_a_person_stands_by_it(cast: Cast) -> None:
    probe = a_probe(cast)

    check = checked(cast, probe, hours(1), "161", confirmed=frozenset({"found_1_shown"}))

    assert (check.error_text, check.passed) == ("161", False)


def test_a_late_check_says_so_with_its_reason(cast: Cast) -> None:
    probe = a_probe(cast)
    content = CheckContent("ice_point", hours(1), shown("0.1"), late_reason="Wet hands")

    with at(cast.dairy, hours(3)):
        check = record_instrument_check(
            establishment=cast.dairy, by=cast.maker, instrument=probe, content=content
        )

    assert (check.late, check.late_reason) == (True, "Wet hands")
    assert not checked(cast, probe, hours(3)).late


def test_an_instrument_without_a_tolerance_is_not_judged(cast: Cast) -> None:
    with pytest.raises(BadInput, match="no tolerance in the register"):
        checked(cast, a_probe(cast, tolerance=""), hours(1))
    assert checked(cast, a_probe(cast, "T2"), hours(1)).passed


def test_an_instrument_taken_out_of_use_by_its_check_is_out_of_use(cast: Cast) -> None:
    probe = a_probe(cast)

    checked(cast, probe, hours(1), "2.0", done="out_of_use")

    assert not in_use(cast.dairy).exists()
    with pytest.raises(Refused, match="out of use"):
        checked(cast, probe, hours(2))


def test_an_instrument_out_of_use_is_not_checked(cast: Cast) -> None:
    probe = a_probe(cast)
    with at(cast.dairy, hours(1)):
        retire_instrument(establishment=cast.dairy, by=cast.maker, instrument=probe, why="Broken tip")

    with pytest.raises(Refused, match="T1 is out of use"):
        checked(cast, probe, hours(2))
    assert not InstrumentCheck.objects.of(cast.dairy).exists()


def test_a_corrected_check_keeps_the_first_one(cast: Cast) -> None:
    probe = a_probe(cast)
    first = checked(cast, probe, hours(1), "0.1")
    content = CheckContent("ice_point", hours(1), shown("1.0"))
    about = {"establishment": cast.dairy, "by": cast.maker, "original": first}

    with at(cast.dairy, hours(30)):
        second = correct_instrument_check(content=content, why="Read from the wrong line", **about)

    assert (second.supersedes, second.passed, second.late) == (first, False, False)
    assert InstrumentCheck.objects.of(cast.dairy).get(pk=first.pk).passed
    assert last_good(cast.dairy, probe, hours(31)) is None


@pytest.mark.parametrize(
    ("changed", "why", "message"),
    [
        ({"method": "reference"}, "Wrong line", "keeps the method"),
        ({}, "", "Give a reason"),
    ],
)
def test_a_correction_keeps_its_method_and_has_a_reason(
    cast: Cast, changed: dict[str, Any], why: str, message: str
) -> None:
    first = checked(cast, a_probe(cast), hours(1))
    content = CheckContent("ice_point", hours(1), shown("1.0"))
    about = {"establishment": cast.dairy, "by": cast.maker, "original": first}

    with at(cast.dairy, hours(2)), pytest.raises(BadInput, match=message):
        correct_instrument_check(content=replace(content, **changed), why=why, **about)
    with at(cast.dairy, hours(2)):
        correct_instrument_check(content=content, why="Wrong line", **about)
    with at(cast.dairy, hours(2)), pytest.raises(Refused, match="already corrected"):
        correct_instrument_check(content=content, why="Wrong line", **about)


def test_an_inspector_records_no_check(cast: Cast) -> None:
    probe = a_probe(cast)
    content = CheckContent("ice_point", T0 + timedelta(hours=1), shown("0.1"))
    about = {"establishment": cast.dairy, "instrument": probe, "content": content}
    with at(cast.dairy, hours(1)):
        with pytest.raises(NotAllowed):
            record_instrument_check(by=cast.inspector, **about)
        assert record_instrument_check(by=cast.reviewer, **about).passed
