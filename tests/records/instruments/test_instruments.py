"""The pages of the register of instruments."""

from typing import Any
from uuid import uuid4

import pytest
from django.http import HttpResponse
from django.urls import reverse

from records.instruments.models import Instrument
from records.instruments.queries import in_use
from tests.builders import T0, at, hours
from tests.cast import Cast
from tests.records.instruments.acts import a_probe, checked, shown
from tests.web import entries, signed_in, text_of

PROBE = {
    "code": "T1",
    "name": "Probe thermometer",
    "quantity": "temperature",
    "tolerance": "0.5 °C",
    "method": "ice_point",
    "every": "30",
    "place": "Vat room",
    "range_low": "-20",
    "range_high": "110",
    "resolution": "0,1",
}


def register(cast: Cast, **changed: str) -> HttpResponse:
    """Register an instrument as the maker."""
    url = reverse("instrument_new", args=[cast.dairy.slug])
    return signed_in(cast.maker).post(url, {"uuid": str(uuid4()), **PROBE, **changed})


def turn(cast: Cast, instrument: Instrument, name: str = "instrument_retire", why: str = "Broken") -> Any:
    """Take an instrument out of use, or into it, as the maker."""
    url = reverse(name, args=[cast.dairy.slug, instrument.pk])
    return signed_in(cast.maker).post(url, {"uuid": str(uuid4()), "reason": why})


def page(cast: Cast, name: str, *args: Any) -> str:
    """Read a page as the inspector."""
    answer = signed_in(cast.inspector).get(reverse(name, args=[cast.dairy.slug, *args]))
    assert answer.status_code == 200
    return text_of(answer)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"code": ""}, "Give the instrument a code and a name."),
        ({"name": ""}, "Give the instrument a code and a name."),
        ({"quantity": ""}, "Choose what the instrument measures."),
        ({"quantity": "mood"}, "Select a valid choice"),
        ({"code": "x" * 31}, "at most 30 characters"),
        ({"tolerance": "-0.5"}, "The tolerance must be above zero."),
        ({"tolerance": "0"}, "The tolerance must be above zero."),
        ({"tolerance": "half"}, "digits 0 to 9"),
        ({"tolerance": "0.5 pH"}, "pH"),
        ({"unit": "kg"}, "Choose a unit of what the instrument measures."),
        ({"method": "buffers"}, "Choose a method for what the instrument measures."),
        ({"criterion": "electrode_food"}, "Only the electrode of a pH meter"),
        ({"every": "1.5"}, "whole"),
        ({"every": "-1"}, "below zero"),
        ({"every": "99999"}, "At most 3660 days."),
        ({"range_high": "-30"}, "The range must end above where it begins."),
        ({"range_low": "-300"}, "between -273.15 °C and 300 °C"),
        ({"resolution": "0"}, "The smallest step must be above zero."),
        ({"certificate_until": "03/04/2026"}, "year-month-day"),
        ({"certificate_until": "9999-01-01"}, "year-month-day"),
        ({"reference": "not one"}, "Select a valid choice"),
        ({"name": "a\0b"}, "Null characters"),
        ({"uuid": "none"}, "not complete"),
    ],
)
def test_an_instrument_is_registered_whole(cast: Cast, changed: dict[str, str], message: str) -> None:
    answer = register(cast, **changed)

    found = text_of(answer)
    kept = {**PROBE, **changed}
    assert answer.status_code == 422
    assert message in found
    assert kept["tolerance"] in found
    assert not Instrument.objects.of(cast.dairy).exists()
    assert register(cast).status_code == 302


def test_an_instrument_is_kept_with_all_that_was_said_of_it(cast: Cast) -> None:
    register(cast)

    row = in_use(cast.dairy).get()
    assert (row.tolerance_value, row.tolerance_unit, row.unit) == ("0.5", "degC", "degC")
    assert (row.range_low, row.range_high, row.resolution) == ("-20", "110", "0.1")
    assert (row.check_every_days, row.check_method) == (30, "ice_point")
    assert "every 30 days: Ice point" in page(cast, "instrument", row.pk)


def test_a_form_sent_twice_registers_once(cast: Cast) -> None:
    once = str(uuid4())

    answers = [register(cast, uuid=once) for _again in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert Instrument.objects.of(cast.dairy).count() == 1


def test_a_code_is_given_once(cast: Cast) -> None:
    register(cast)

    answer = register(cast, name="Another probe")

    assert answer.status_code == 422
    assert "Another instrument has this code." in text_of(answer)
    assert 'value="Another probe"' in text_of(answer)
    assert register(cast, code="T2").status_code == 302


def change(cast: Cast, found: Instrument, **changed: str) -> HttpResponse:
    """Change an instrument as the maker."""
    url = reverse("instrument_change", args=[cast.dairy.slug, found.pk])
    typed = {"uuid": str(uuid4()), **PROBE, "reason": "Moved to the cellar", **changed}
    return signed_in(cast.maker).post(url, typed)


def test_a_change_needs_its_reason_and_keeps_the_first_entry(cast: Cast) -> None:
    register(cast)
    first = in_use(cast.dairy).get()

    refused = change(cast, first, place="Cellar", reason="")
    done = change(cast, first, place="Cellar")

    assert (refused.status_code, done.status_code) == (422, 302)
    assert "Give a reason" in text_of(refused)
    assert in_use(cast.dairy).get().place == "Cellar"
    assert Instrument.objects.of(cast.dairy).get(pk=first.pk).place == "Vat room"
    assert "Moved to the cellar" in page(cast, "instrument", first.pk)


def test_the_form_of_a_change_holds_what_the_register_says(cast: Cast) -> None:
    register(cast)
    found = in_use(cast.dairy).get()

    url = reverse("instrument_change", args=[cast.dairy.slug, found.pk])
    text = text_of(signed_in(cast.maker).get(url))

    for value in ("0.5 °C", "Vat room", "-20", "110", "0.1", "30"):
        assert f'value="{value}"' in text


def test_an_instrument_out_of_use_stays_on_the_list_with_its_reason(cast: Cast) -> None:
    register(cast)

    turn(cast, in_use(cast.dairy).get(), why="Broken tip")

    found = page(cast, "instruments")
    assert not in_use(cast.dairy).exists()
    assert "T1" in found
    assert "Broken tip" in found


def test_an_instrument_comes_back_into_use_with_a_reason(cast: Cast) -> None:
    register(cast)
    probe = in_use(cast.dairy).get()
    turn(cast, probe)

    refused = turn(cast, probe, "instrument_use", why="")
    done = turn(cast, probe, "instrument_use", why="New tip")

    assert (refused.status_code, done.status_code) == (422, 302)
    assert in_use(cast.dairy).get().reason == "New tip"


def test_taking_an_instrument_out_of_use_twice_changes_nothing(cast: Cast) -> None:
    register(cast)
    probe = in_use(cast.dairy).get()

    answers = [turn(cast, probe) for _again in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert Instrument.objects.of(cast.dairy).count() == 2


def test_an_inspector_reads_the_register_and_changes_nothing(cast: Cast) -> None:
    register(cast)
    probe = in_use(cast.dairy).get()
    client, before = signed_in(cast.inspector), entries(cast.dairy)

    read = client.get(reverse("instruments", args=[cast.dairy.slug]))
    written = client.post(reverse("instrument_new", args=[cast.dairy.slug]), PROBE)
    retired = client.post(reverse("instrument_retire", args=[cast.dairy.slug, probe.pk]))

    assert read.status_code == 200
    assert "Register an instrument" not in text_of(read)
    assert [written.status_code, retired.status_code] == [403, 403]
    assert entries(cast.dairy) == before


def test_the_instruments_of_another_dairy_are_not_found(cast: Cast) -> None:
    register(cast)
    probe = in_use(cast.dairy).get()
    client = signed_in(cast.stranger)

    ours = client.get(reverse("instruments", args=[cast.dairy.slug]))
    theirs = client.post(reverse("instrument_retire", args=[cast.other_dairy.slug, probe.pk]))
    read = client.get(reverse("instrument", args=[cast.other_dairy.slug, probe.pk]))

    assert [ours.status_code, theirs.status_code, read.status_code] == [404, 404, 404]
    assert in_use(cast.dairy).exists()


def test_the_list_and_today_say_what_has_to_be_checked(cast: Cast) -> None:
    good, late = a_probe(cast, every="30", since=T0), a_probe(cast, "T2", every="7", since=T0)
    checked(cast, good, T0)
    checked(cast, late, T0)

    with at(cast.dairy, hours(24 * 10)):
        listed, today = page(cast, "instruments"), page(cast, "today")

    assert "to be checked by 2026-06-13" in listed
    assert "was to be checked by 2026-05-21" in listed
    assert "was to be checked by 2026-05-21" in today
    assert "T1 Probe T1" not in today


def test_one_whose_check_failed_is_named_today_until_it_is_found_good(cast: Cast) -> None:
    probe = a_probe(cast)
    checked(cast, probe, hours(1), "0.9")

    with at(cast.dairy, hours(2)):
        assert "its last check failed" in page(cast, "today")
    checked(cast, probe, hours(3))
    with at(cast.dairy, hours(4)):
        assert "Instruments to check" not in page(cast, "today")


def test_the_page_of_an_instrument_shows_its_checks_and_draws_their_errors(cast: Cast) -> None:
    probe = a_probe(cast)
    checked(cast, probe, hours(1), "0.2")
    checked(cast, probe, hours(24), "0.9", left=shown("0.1"), done="adjusted")

    found = page(cast, "instrument", probe.pk)

    for words in ("+0.2 °C", "+0.9 °C", "+0.1 °C", "Outside the tolerance", "adjusted", "<svg"):
        assert words in found
