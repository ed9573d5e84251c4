"""The register of instruments."""

import pytest
from django.http import HttpResponse
from django.urls import reverse

from records.instruments.models import Instrument
from records.instruments.queries import in_use
from tests.cast import Cast
from tests.web import entries, signed_in, text_of

PROBE = {"code": "T1", "name": "Probe thermometer", "quantity": "temperature", "tolerance": "0.5 °C"}


def register(cast: Cast, **changed: str) -> HttpResponse:
    """Register an instrument as the maker."""
    url = reverse("instruments", args=[cast.dairy.slug])
    return signed_in(cast.maker).post(url, {**PROBE, **changed})


def retire(cast: Cast, instrument: Instrument) -> HttpResponse:
    """Take an instrument out of use as the maker."""
    url = reverse("instrument_retire", args=[cast.dairy.slug, instrument.pk])
    return signed_in(cast.maker).post(url)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"code": ""}, "Give the instrument a code and a name."),
        ({"name": ""}, "Give the instrument a code and a name."),
        ({"quantity": ""}, "Choose what the instrument measures."),
        ({"quantity": "mood"}, "Select a valid choice"),
        ({"code": "x" * 31}, "at most 30 characters"),
    ],
)
def test_an_instrument_is_registered_whole(cast: Cast, changed: dict[str, str], message: str) -> None:
    answer = register(cast, **changed)

    page = text_of(answer)
    kept = {**PROBE, **changed}
    assert answer.status_code == 422
    assert message in page
    assert kept["tolerance"] in page
    assert not Instrument.objects.of(cast.dairy).exists()
    assert register(cast).status_code == 302


def test_a_code_is_given_once(cast: Cast) -> None:
    register(cast)

    answer = register(cast, name="Another probe")

    assert answer.status_code == 422
    assert "Another instrument has this code." in text_of(answer)
    assert 'value="Another probe"' in text_of(answer)
    assert register(cast, code="T2").status_code == 302


def test_an_instrument_out_of_use_stays_on_the_list(cast: Cast) -> None:
    register(cast)

    retire(cast, in_use(cast.dairy).get())

    page = text_of(signed_in(cast.inspector).get(reverse("instruments", args=[cast.dairy.slug])))
    assert not in_use(cast.dairy).exists()
    assert "T1" in page
    assert "Out of use" in page


def test_taking_an_instrument_out_of_use_twice_changes_nothing(cast: Cast) -> None:
    register(cast)
    probe = in_use(cast.dairy).get()

    answers = [retire(cast, probe) for _again in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert Instrument.objects.of(cast.dairy).count() == 2


def test_an_inspector_reads_the_register_and_changes_nothing(cast: Cast) -> None:
    register(cast)
    probe = in_use(cast.dairy).get()
    client, before = signed_in(cast.inspector), entries(cast.dairy)

    read = client.get(reverse("instruments", args=[cast.dairy.slug]))
    written = client.post(reverse("instruments", args=[cast.dairy.slug]), PROBE)
    retired = client.post(reverse("instrument_retire", args=[cast.dairy.slug, probe.pk]))

    assert read.status_code == 200
    assert [written.status_code, retired.status_code] == [403, 403]
    assert entries(cast.dairy) == before


def test_the_instruments_of_another_dairy_are_not_found(cast: Cast) -> None:
    register(cast)
    probe = in_use(cast.dairy).get()
    client = signed_in(cast.stranger)

    ours = client.get(reverse("instruments", args=[cast.dairy.slug]))
    theirs = client.post(reverse("instrument_retire", args=[cast.other_dairy.slug, probe.pk]))

    assert [ours.status_code, theirs.status_code] == [404, 404]
    assert in_use(cast.dairy).exists()
