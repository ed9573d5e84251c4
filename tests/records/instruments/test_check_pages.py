"""The pages of the checks of instruments: recorded by form, shown with their working, corrected."""

from typing import Any
from uuid import uuid4

import pytest
from django.http import HttpResponse
from django.urls import reverse

from records.checks.services import ReadingContent, record_reading
from records.instruments.models import Instrument, InstrumentCheck
from tests.builders import T0, a_lot, at, hours, lot_slot, plan_in_force
from tests.cast import Cast
from tests.records.instruments.acts import a_meter, a_probe, checked, some_scales
from tests.web import entries, signed_in, text_of

NOW = {"on_date": "2026-05-14", "on_time": "09:00", "done": "nothing"}  # T0 is 08:00 in Dublin


def post(cast: Cast, instrument: Instrument, method: str = "ice_point", **typed: str) -> HttpResponse:
    """Send the form of a check as the maker, an hour after T0."""
    url = reverse("instrument_check", args=[cast.dairy.slug, instrument.pk])
    with at(cast.dairy, hours(1)):
        return signed_in(cast.maker).post(f"{url}?method={method}", {"uuid": str(uuid4()), **NOW, **typed})


def only(cast: Cast) -> InstrumentCheck:
    return InstrumentCheck.objects.of(cast.dairy).get()


def follow(cast: Cast, answer: HttpResponse) -> str:
    assert answer.status_code == 302
    return text_of(signed_in(cast.inspector).get(answer["Location"]))


def test_the_ice_point_is_recorded_and_shown_with_its_working(cast: Cast) -> None:
    page = follow(cast, post(cast, a_probe(cast), found_1_shown="0,4"))

    assert "The error is +0.4 °C, within the tolerance of ± 0.5 °C." in page
    assert "Melting ice of clean water is 0 °C." in page
    assert "Within the tolerance" in page
    assert only(cast).found.count("0,4") == 1


def test_the_boiling_point_is_recorded_by_pressure_with_its_source(cast: Cast) -> None:
    page = follow(cast, post(cast, a_probe(cast), "boiling_point", found_1_shown="98.2", air_pressure="950"))

    assert "At 950.0 hPa water boils at 98.18 °C." in page  # iapws 1.5.5, IAPWS-IF97
    assert "IAPWS-IF97" in page


def test_a_pressure_in_inches_of_mercury_is_the_same_pressure(cast: Cast) -> None:
    typed = {"found_1_shown": "99.97", "air_pressure": "29.92", "air_pressure_unit": "inHg"}

    page = follow(cast, post(cast, a_probe(cast, tolerance="0.05"), "boiling_point", **typed))

    assert "Within the tolerance" in page


def test_buffers_are_recorded_with_slope_and_offset(cast: Cast) -> None:
    meter = a_meter(cast, criterion="electrode_food")
    typed = {
        "temperature": "20",
        "found_1_name": "technical_7",
        "found_1_shown": "7.03",
        "found_2_name": "technical_4",
        "found_2_shown": "4.02",
        "found_slope": "97.5",
        "found_offset": "-4",
    }

    page = follow(cast, post(cast, meter, "buffers", **typed))

    assert "The technical buffer 7.00 has pH 7.02 at 20.0 °C." in page
    assert "the electrode meets the criterion" in page


def test_a_comparison_names_its_reference(cast: Cast) -> None:
    reference, probe = a_probe(cast, "R1"), a_probe(cast)
    typed = {"reference": str(reference.pk), "found_1_true": "63", "found_1_shown": "63.9"}

    page = follow(cast, post(cast, probe, "reference", **typed))

    assert "R1 Probe R1" in page
    assert "outside the tolerance" in page
    assert "Do not use it for checks" in page


def test_scales_are_recorded_with_their_weights(cast: Cast) -> None:
    typed = {"weights": "M1, certificate 4", "found_1_true": "500", "found_1_shown": "503"}

    page = follow(cast, post(cast, some_scales(cast), "scales", **typed))

    assert "M1, certificate 4" in page
    assert "+3 g, within the tolerance of ± 5 g" in page


def test_what_was_adjusted_is_shown_as_found_and_as_left(cast: Cast) -> None:
    typed = {"found_1_shown": "0.9", "left_1_shown": "0.1", "done": "adjusted"}

    page = follow(cast, post(cast, a_probe(cast), **typed))

    assert page.index("+0.9 °C") < page.index("+0.1 °C")
    assert "Do not use it" not in page


def test_a_form_sent_twice_records_once(cast: Cast) -> None:
    probe, once = a_probe(cast), str(uuid4())

    answers = [post(cast, probe, uuid=once, found_1_shown="0.1") for _again in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert only(cast).pk.hex == once.replace("-", "")


# Rows of the table of bad inputs: what is typed, and what is said at its field.
@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"found_1_shown": "32F"}, "°F"),  # row 3
        ({"found_1_shown": "161"}, "far from what is usual"),  # row 4
        ({"found_1_shown": "NaN"}, "not a number"),  # row 5
        ({"found_1_shown": "1e309"}, "Write the number out"),  # row 6
        ({"found_1_shown": "1_000"}, "digits 0 to 9"),  # row 7
        ({"found_1_shown": "٤.٢"}, "digits 0 to 9"),  # row 8
        ({"found_1_shown": "1.234,5"}, "mark"),  # row 10
        ({"found_1_shown": "-300"}, "between -273.15 °C and 300 °C"),  # row 12
        ({"found_1_shown": "--"}, "digits 0 to 9"),  # row 15
        ({"found_1_shown": ""}, "A value is missing here."),  # row 16
        ({"found_1_shown": "999999"}, "digits"),  # row 17
        ({"found_1_shown": "63.4"}, "far from what is true here"),  # row 20
        ({"on_time": "09:03"}, "is still to come"),  # row 23
        ({"on_date": "2026-05-11"}, "more than 48 hours ago"),  # row 24
        ({"on_date": "2026-03-29", "on_time": "01:30"}, "did not exist"),  # row 25
        ({"on_date": "2025-10-26", "on_time": "01:30"}, "twice"),  # row 26
        ({"on_time": "24:00"}, "00:00"),  # row 27
        ({"on_date": "03/04/2026"}, "year-month-day"),  # row 28
        ({"on_date": "0001-01-01"}, "year"),  # row 29
        ({"note": "a\0b"}, "Null characters"),  # row 68
        ({"note": "x" * 1001}, "at most 1000 characters"),  # row 72
    ],
)
def test_a_bad_input_is_said_at_its_field_and_what_was_typed_stays(
    cast: Cast, typed: dict[str, str], message: str
) -> None:
    probe = a_probe(cast)
    before = entries(cast.dairy)
    sent = {"found_1_shown": "0.1", "late_reason": "", **typed}

    answer = post(cast, probe, **sent)

    page = text_of(answer)
    assert answer.status_code == 422
    assert message in page
    assert entries(cast.dairy) == before
    for name in ("found_1_shown", "on_date", "on_time"):
        kept = sent.get(name, NOW.get(name, ""))
        assert not kept or not kept.isascii() or f'value="{kept}"' in page
    assert post(cast, probe, found_1_shown="0.1").status_code == 302


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0,4", "0.4"),
        ("0.4 °C", "0.4"),
        ("−0.4", "-0.4"),
        (" 0.40 ", "0.40"),
        ("-0", "0"),
        ("0.1236", "0.124"),
    ],
)
def test_a_reading_is_taken_as_people_write_it(cast: Cast, text: str, value: str) -> None:
    assert post(cast, a_probe(cast), found_1_shown=text).status_code == 302
    assert only(cast).error_text == value


def test_an_unlikely_reading_is_recorded_once_it_is_stood_by(cast: Cast) -> None:
    probe = a_probe(cast)

    asked = post(cast, probe, found_1_shown="63.4")
    stood_by = post(cast, probe, found_1_shown="63.4", found_1_shown_offer="0")

    assert 'name="found_1_shown_offer"' in text_of(asked)
    assert stood_by.status_code == 302
    assert only(cast).passed is False


def test_a_reading_in_fahrenheit_is_converted_where_that_is_chosen(cast: Cast) -> None:
    post(cast, a_probe(cast), found_1_shown="32.9F", found_1_shown_offer="0")

    assert only(cast).error_text == "0.5"


def test_the_form_asks_what_the_method_needs(cast: Cast) -> None:
    probe, meter = a_probe(cast, method="boiling_point"), a_meter(cast)
    client = signed_in(cast.maker)
    with at(cast.dairy, hours(1)):
        boiling = text_of(client.get(reverse("instrument_check", args=[cast.dairy.slug, probe.pk])))
        buffers = text_of(client.get(reverse("instrument_check", args=[cast.dairy.slug, meter.pk])))

    assert "air_pressure" in boiling
    assert "found_1_name" in buffers
    assert "found_slope" not in buffers  # the meter has no criterion for its electrode


def correct(cast: Cast, check: InstrumentCheck, **typed: str) -> Any:
    url = reverse("instrument_check_correct", args=[cast.dairy.slug, check.pk])
    with at(cast.dairy, hours(2)):
        return signed_in(cast.maker).post(url, {"uuid": str(uuid4()), **NOW, **typed})


def test_a_correction_needs_its_reason_and_shows_both(cast: Cast) -> None:
    first = checked(cast, a_probe(cast), hours(1), "0.1")

    refused = correct(cast, first, found_1_shown="0.9")
    done = correct(cast, first, found_1_shown="0.9", reason="Read from the wrong line")

    assert refused.status_code == 422
    assert "Give a reason" in text_of(refused)
    page = follow(cast, done)
    assert "Read from the wrong line" in page
    shown = signed_in(cast.inspector).get(reverse("instrument_check_shown", args=[cast.dairy.slug, first.pk]))
    assert "This check was corrected." in text_of(shown)
    assert correct(cast, first, found_1_shown="0.2", reason="Again").status_code == 409


@pytest.mark.parametrize(
    ("method", "typed"),
    [
        (
            "ice_point",
            {"found_1_shown": "0,40", "left_1_shown": "0.1", "done": "adjusted"},
        ),
        ("boiling_point", {"found_1_shown": "98.3", "air_pressure": "28.05", "air_pressure_unit": "inHg"}),
        ("reference", {"found_1_true": "63", "found_1_shown": "63.1", "certificate": "No. 12"}),
    ],
)
def test_the_form_of_a_correction_holds_what_was_typed(
    cast: Cast, method: str, typed: dict[str, str]
) -> None:
    post(cast, a_probe(cast), method, **typed)

    url = reverse("instrument_check_correct", args=[cast.dairy.slug, only(cast).pk])
    page = text_of(signed_in(cast.maker).get(url))

    for text in (text for name, text in typed.items() if not name.endswith(("done", "unit"))):
        assert f'value="{text}"' in page


def test_a_meters_correction_holds_each_buffer(cast: Cast) -> None:
    meter = a_meter(cast, criterion="electrode_usual")
    typed = {
        "temperature": "25",
        "found_1_name": "technical_7",
        "found_1_shown": "7.01",
        "found_1_mv": "-15",
        "found_2_name": "technical_4",
        "found_2_mv": "158",
        "found_slope": "98.6",
        "found_offset": "-15",
    }
    post(cast, meter, "buffers", **typed)

    url = reverse("instrument_check_correct", args=[cast.dairy.slug, only(cast).pk])
    page = text_of(signed_in(cast.maker).get(url))

    for name in ("found_1_shown", "found_1_mv", "found_2_mv", "found_slope", "found_offset"):
        assert f'name="{name}" value="{typed[name]}"' in page
    assert '<option value="technical_4" selected>' in page


def test_a_late_check_needs_its_reason(cast: Cast) -> None:
    probe = a_probe(cast)

    refused = post(cast, probe, found_1_shown="0.1", on_time="08:00")
    done = post(cast, probe, found_1_shown="0.1", on_time="08:00", late_reason="Wet hands")

    assert "Give a reason" in text_of(refused)
    assert "Late entry" in follow(cast, done)


def test_an_inspector_sees_a_check_and_cannot_correct_it(cast: Cast) -> None:
    check = checked(cast, a_probe(cast), hours(1))
    client = signed_in(cast.inspector)

    page = client.get(reverse("instrument_check_shown", args=[cast.dairy.slug, check.pk]))
    form = client.get(reverse("instrument_check_correct", args=[cast.dairy.slug, check.pk]))

    assert "Correct this check" not in text_of(page)
    assert (page.status_code, form.status_code) == (200, 403)


def test_a_failed_check_names_the_deviation_of_the_readings_it_reached(cast: Cast) -> None:
    with at(cast.dairy, T0.replace(day=13)):
        plan_in_force(cast)
    probe = a_probe(cast)
    checked(cast, probe, hours(0.05))
    with at(cast.dairy, hours(0.4)):
        lot = a_lot(cast)
        content = ReadingContent(
            slot=lot_slot(lot, "OPRP3"),
            observed_at=hours(0.4),
            parts=[{"name": "temperature", "raw": "3.8", "unit": "", "confirmed": False}],
            instrument=probe.pk,
        )
        record_reading(establishment=cast.dairy, by=cast.maker, content=content)

    page = follow(cast, post(cast, probe, found_1_shown="0.9"))

    assert "Deviation 1</a>" in page
