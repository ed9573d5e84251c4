"""Every address of the application x everybody, in one table; an address without a row fails.

Columns: not signed in, stranger (of another dairy), inspector, maker, reviewer, owner (responsible and
qualified person, administrator). A number is the expected status of a GET, or of an empty POST for the
addresses that only take one: there 302 or 303 to the sign-in page for nobody, 404 for the stranger, 403
for a member without the role, and anything of ANSWERED for those who may (an empty form is refused with
words, never with a fault of the server).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from django.core.signals import request_finished
from django.db import close_old_connections
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from pytest_django.plugin import DjangoDbBlocker

from records.deviations.files import attach_file
from records.inspection.services import issue_print
from records.instruments.checking import CheckContent, record_instrument_check
from records.instruments.measured import Readings
from records.instruments.services import register_instrument
from safetyplan.integrity.models import RecordSeal
from safetyplan.plans.confirming import keep_evidence
from safetyplan.plans.services import revise
from tests.access_rows import EDITED, EVERYBODY, SENT, TABLE, Row
from tests.builders import (
    T0,
    a_device,
    a_link,
    a_lot,
    a_photo,
    a_reading,
    an_event,
    at,
    day_slot,
    hours,
    lot_slot,
    plan_in_force,
)
from tests.cast import Cast, make_cast
from tests.records.receiving.everything import at_the_door
from tests.records.rules.sharing import undone
from tests.records.things.stage import a_round, a_sheet, a_thing, put_in

ANSWERED = (200, 201, 302, 303, 400, 409, 415, 422)


# Without an establishment in the address, or authorised by the claim's own signature.
ELSEWHERE = {"home", "sign_in", "sign_out", "first_run", "claims", "claims_line", "service_worker"}
ELSEWHERE |= {"unsent_forget", "claim_files", "challenge", "turn", "password_turn"}


@dataclass
class Scene:
    """Everything an address may name, and a client for everybody."""

    arguments: dict[str, list[Any]]
    clients: dict[str, Client]


@pytest.fixture(scope="module")
def prepared(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[tuple[Cast, Scene]]:
    """Prepare the dairy once: every address is then asked in it, and what that changes is undone."""
    with undone(django_db_blocker):
        cast = make_cast()
        with at(cast.dairy, T0.replace(day=13)):
            plan_in_force(cast)
        yield cast, scene_in(cast)


@pytest.fixture
def scene(prepared: tuple[Cast, Scene], db: None) -> Scene:
    """Give the scene for one test."""
    return prepared[1]


@pytest.fixture
def working(prepared: tuple[Cast, Scene]) -> Cast:
    """Give the people of the scene."""
    return prepared[0]


def scene_in(working: Cast) -> Scene:
    """Make one of each: lot, event, reading, deviation, file, print, instrument, device."""
    dairy = working.dairy
    with at(dairy, hours(0.4)):
        lot = a_lot(working)
    with at(dairy, hours(2)):
        event = an_event(working, lot, "starter_added", hours(1.9))
        good = a_reading(
            working, lot_slot(lot, "OPRP3"), hours(0.4), temperature="3.8", late_reason="wet hands"
        )
        bad = a_reading(working, lot_slot(lot, "PRP2", "extra"), hours(1.9), label="wrong")
        assert bad.deviation is not None
        credential = a_device(dairy, working.maker).credential
        file = attach_file(
            establishment=dairy, by=working.maker, name="a.txt", content=b"note", deviation=bad.deviation
        )
        photo = a_photo(working, good.reading.pk)
        tool = register_instrument(
            establishment=dairy,
            by=working.maker,
            code="P-1",
            name="Probe",
            quantity="temperature",
            tolerance="0.5",
        )
        content = CheckContent("ice_point", hours(2), Readings([{"shown": "0.1"}]))
        checked = record_instrument_check(
            establishment=dairy, by=working.maker, instrument=tool, content=content
        )
        evidence = keep_evidence(establishment=dairy, by=working.owner, name="a.txt", content=b"a trial")
        revise(establishment=dairy, by=working.owner)
        whey_lot = a_lot(working, "TF-0514-W", started=hours(1.8))
        link = a_link(working, lot, whey_lot, hours(1.9), known=True)
        issue = issue_print(establishment=dairy, by=working.owner, what="lot", subject=str(lot.pk))
        brine = a_thing(working, begun=hours(1.8))
        (use,) = put_in(working, brine, lot, start=hours(1.9))
        seen = a_round(working, hours(2))
        sheet = a_sheet(working)
    seal = RecordSeal.objects.of(dairy).order_by("-size")[0]
    day = T0.date().isoformat()
    named = {
        "lot": [lot.pk],
        "lot_release": [lot.pk],
        "lot_dispatch": [lot.pk],
        "lot_left_on_hold": [lot.pk],
        "lot_event": [lot.pk, "rennet_added"],
        "event_correct": [event.pk],
        "event_void": [event.pk],
        "lot_make": [lot.pk],
        "lot_links": [lot.pk],
        "link_change": [link.pk],
        "reading": [good.reading.pk],
        "reading_correct": [good.reading.pk],
        "reading_void": [good.reading.pk],
        "photo": [photo.pk, "small"],
        "capture": [day_slot(T0, "PRP1")],
        "check_explain": [day_slot(T0, "PRP3")],
        "day": [day],
        "day_sign": [day],
        "day_no_production": [day],
        "day_production_undo": [day],
        "series": [day_slot(T0, "PRP1")],
        "deviation": [bad.deviation.pk],
        "file": [file.pk],
        "print_file": [issue.number],
        "seal_note": [seal.pk],
        "plan_version": [1],
        "person": [working.maker.pk],
        "training_add": [working.maker.pk],
        "credential_revoke": [credential.pk],
        **{name: [tool.pk] for name in ("instrument", "instrument_change", "instrument_check")},
        "instrument_retire": [tool.pk],
        "instrument_use": [tool.pk],
        "instrument_check_shown": [checked.pk],
        "instrument_check_correct": [checked.pk],
        "calculator": ["brine", "make"],
        "calculation_attach": ["brine", "make"],
        "plan_version_export": [1],
        "plan_evidence": [evidence.sha256],
        "plan_parameter_back": ["review_days"],
        "plan_confirm_flow": ["TF"],
        "thing": [brine.id],
        "thing_task": [brine.id, "use"],
        "thing_out": [brine.id, use.pk],
        "thing_void": [brine.id, use.pk],
        "thing_correct": [brine.id, use.pk],
        "round": [seen.pk],
        "round_void": [seen.pk],
        "paper_sheet": [sheet.pk],
        "paper_photo": [sheet.pk],
        **EDITED,
        **at_the_door(working, lot),
    }
    for step in ("lot", "hold", "action", "attach", "cause", "evaluate", "dispose", "recall", "close"):
        named[f"deviation_{step}"] = [bad.deviation.pk]
    return Scene(named, {who: client_of(working, who) for who in EVERYBODY})


def client_of(cast: Cast, who: str) -> Client:
    """Sign somebody in; nobody stays outside."""
    client = Client()
    if who != "nobody":
        client.force_login(getattr(cast, who))
    return client


def finish(answer: Any) -> None:
    """Close an answer, and with it the file it may send, but not the test's database connection."""
    request_finished.disconnect(close_old_connections)
    answer.close()
    request_finished.connect(close_old_connections)


def every_name(patterns: list[Any]) -> set[str]:
    """Collect the names of all addresses."""
    found: set[str] = set()
    for pattern in patterns:
        if isinstance(pattern, URLResolver):
            found |= every_name(pattern.url_patterns)
        elif isinstance(pattern, URLPattern):
            assert pattern.name, f"{pattern.pattern} has no name"
            found.add(pattern.name)
    return found


def test_every_address_has_a_row() -> None:
    listed = {r.name for r in TABLE} | ELSEWHERE

    assert every_name(get_resolver().url_patterns) == listed


@pytest.mark.parametrize("entry", TABLE, ids=[f"{r.method} {r.name}" for r in TABLE])
def test_an_address_answers_those_who_may_and_refuses_all_others(
    entry: Row, scene: Scene, working: Cast
) -> None:
    address = reverse(entry.name, args=[working.dairy.slug, *scene.arguments.get(entry.name, [])])
    wrong = []
    with at(working.dairy, hours(2.1)):
        for who, client in scene.clients.items():
            sent = SENT.get(entry.name, {})
            answer = client.get(address, sent) if entry.method == "GET" else client.post(address, sent)
            finish(answer)
            right = (302, 303) if who == "nobody" else (404,) if who == "stranger" else (403,)
            if who in entry.may:
                right = (200, 302, 303) if entry.method == "GET" else ANSWERED
            if who == "nobody" and answer.status_code == 401:
                continue  # an address that scripts ask says so instead of sending to the sign-in page
            if answer.status_code not in right:
                wrong.append(f"{who}: {answer.status_code}, not one of {right}")
            if who == "nobody":
                assert reverse("sign_in") in answer["Location"]
    assert wrong == []


def test_a_person_whose_login_is_closed_gets_nothing(scene: Scene, working: Cast) -> None:
    address = reverse("today", args=[working.dairy.slug])
    assert scene.clients["maker"].get(address).status_code == 200

    working.maker.is_active = False
    working.maker.save()

    assert scene.clients["maker"].get(address).status_code in (302, 404)
