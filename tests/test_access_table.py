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
MEMBERS = {"inspector", "maker", "reviewer", "owner"}
WRITERS = {"maker", "reviewer", "owner"}
EVERYBODY = ("nobody", "stranger", "inspector", "maker", "reviewer", "owner")


@dataclass(frozen=True)
class Row:
    """An address, how it is asked, and who may."""

    name: str
    method: str
    may: frozenset[str]


def row(name: str, method: str, may: set[str]) -> Row:
    """Make a row."""
    return Row(name, method, frozenset(may))


# screens of the plan's editor: everybody of the dairy reads them, a qualified individual writes
EDITED = {
    "plan_begin": [],
    "plan_text": [],
    "plan_product_add": [],
    "plan_product": ["TF"],
    "plan_product_remove": ["TF"],
    "plan_steps": ["TF"],
    "plan_step_add": ["TF"],
    "plan_step": ["TF", "heat"],
    "plan_step_remove": ["TF", "heat"],
    "plan_events": ["TF"],
    "plan_event_add": ["TF"],
    "plan_event": ["TF", "packed"],
    "plan_event_remove": ["TF", "packed"],
    "plan_hazard_add": [],
    "plan_hazard": ["H1"],
    "plan_hazard_remove": ["H1"],
    "plan_determination": ["H1"],
    "plan_control_add": [],
    "plan_control": ["CCP1"],
    "plan_control_remove": ["CCP1"],
    "plan_limit": ["CCP2"],
    "plan_prerequisite_add": [],
    "plan_prerequisite": ["PR-PEST"],
    "plan_prerequisite_remove": ["PR-PEST"],
    "plan_verification_add": [],
    "plan_verification": ["V2"],
    "plan_verification_remove": ["V2"],
    "plan_validation_add": [],
    "plan_validation": ["W1"],
    "plan_validation_remove": ["W1"],
    "plan_recall": [],
    "plan_positive": [],
    "plan_parameter": ["review_days"],
    "plan_profile_change": [],
}
# what an address must be told before it answers at all
SENT = {
    "plan_profile_change": {"to": "eu", "read_on": "2026-11-25"},
    "seals_between": {"first": "1", "second": "2"},
    "lot_find": {"code": "TF-0514"},
}
# pages with one form each: who may send it may see it
ASKED_AT_THE_DOOR = {
    **{key: {"maker"} for key in ("milk_new", "load_correct", "load_void", "lot_milk", "lot_milk_correct")},
    **dict.fromkeys(("load_refuse", "refusal_correct", "load_authority", "authority_change"), WRITERS),
    **dict.fromkeys(("supplier_new", "supplier_change", "herd_new", "herd_change"), WRITERS),
    **dict.fromkeys(("certificate_new", "certificate_change", "treated_new", "treated_change"), WRITERS),
    **dict.fromkeys(("ingredient_new", "ingredient_correct", "ingredient_end"), WRITERS),
    **{key: {"owner"} for key in ("supplier_approve", "treated_end")},
}
# pages of the plan that everybody of the dairy reads
READ = (
    "plan_version plan_draft plan_products plan_hazards plan_controls plan_programmes "
    "plan_profile plan_confirm plan_evidence plan_export plan_version_export plan_compare "
    "plan_draft_read plan_duties"
)
TABLE = [
    *(row(name, "GET", MEMBERS) for name in READ.split()),
    row("today", "GET", MEMBERS),
    row("lots", "GET", MEMBERS),
    row("lot", "GET", MEMBERS),
    row("reading", "GET", MEMBERS),
    row("photo", "GET", MEMBERS),
    row("lot_find", "GET", MEMBERS),
    row("scan", "POST", WRITERS),
    row("day", "GET", MEMBERS),
    row("week", "GET", MEMBERS),
    row("visit", "GET", MEMBERS),
    row("visit", "POST", MEMBERS),
    row("verifier", "GET", MEMBERS),
    row("deviations", "GET", MEMBERS),
    row("deviation", "GET", MEMBERS),
    row("file", "GET", MEMBERS),
    row("plan", "GET", MEMBERS),
    row("print_file", "GET", MEMBERS),
    row("seal_note", "GET", MEMBERS),
    row("instruments", "GET", MEMBERS),
    row("instrument", "GET", MEMBERS),
    row("instrument_new", "GET", WRITERS),
    row("instrument_change", "GET", WRITERS),
    row("instrument_check", "GET", WRITERS),
    row("instrument_check_shown", "GET", MEMBERS),
    row("instrument_check_correct", "GET", WRITERS),
    row("things", "GET", MEMBERS),
    row("thing", "GET", MEMBERS),
    row("thing_new", "GET", WRITERS),
    row("thing_new", "POST", WRITERS),
    row("thing_task", "GET", WRITERS),
    row("thing_task", "POST", WRITERS),
    row("thing_out", "GET", WRITERS),
    row("thing_out", "POST", WRITERS),
    row("thing_void", "GET", WRITERS),
    row("thing_void", "POST", WRITERS),
    row("round_now", "GET", {"maker"}),
    row("round", "GET", MEMBERS),
    row("round_void", "POST", {"maker"}),
    row("paper_sheets", "GET", {"maker"}),
    row("paper_sheets", "POST", {"maker"}),
    row("paper_sheet", "GET", {"maker"}),
    row("paper_sheet", "POST", {"maker"}),
    row("paper_photo", "GET", MEMBERS),
    row("people", "GET", MEMBERS),
    row("details", "GET", MEMBERS),
    row("capture", "GET", {"maker"}),
    row("lot_event", "GET", {"maker"}),
    row("reading_correct", "GET", {"maker"}),
    row("reading_void", "GET", {"maker"}),
    row("event_correct", "GET", {"maker"}),
    row("event_void", "GET", {"maker"}),
    row("event_void", "POST", {"maker"}),
    row("lot_make", "GET", MEMBERS),
    row("additions", "GET", MEMBERS),
    row("lot_links", "GET", {"maker", "owner"}),
    row("lot_links", "POST", {"maker", "owner"}),
    row("link_change", "GET", {"maker", "owner"}),
    row("link_change", "POST", {"maker", "owner"}),
    row("lot_new", "GET", {"maker"}),
    row("check_explain", "GET", WRITERS),
    row("deviation_new", "GET", WRITERS),
    row("person_add", "GET", {"owner"}),
    row("person", "GET", MEMBERS),
    row("reading_void", "POST", {"maker"}),
    row("lot_new", "POST", {"maker"}),
    row("check_explain", "POST", WRITERS),
    row("deviation_new", "POST", WRITERS),
    row("person_add", "POST", {"owner"}),
    row("person", "POST", {"owner"}),
    row("details", "POST", {"owner"}),
    row("plan_approve", "POST", {"owner"}),
    row("plan_revise", "POST", {"owner"}),
    row("training_add", "POST", {"owner"}),
    row("credential_revoke", "POST", {"maker", "owner"}),
    row("instrument_new", "POST", WRITERS),
    row("instrument_change", "POST", WRITERS),
    row("instrument_retire", "POST", WRITERS),
    row("instrument_use", "POST", WRITERS),
    row("instrument_check", "POST", WRITERS),
    row("instrument_check_correct", "POST", WRITERS),
    row("enrol", "POST", {"maker"}),
    row("lot_release", "POST", {"owner"}),
    row("lot_dispatch", "POST", {"maker", "owner"}),
    row("lot_left_on_hold", "POST", {"maker", "owner"}),
    row("day_sign", "POST", {"reviewer", "owner"}),
    row("day_no_production", "POST", WRITERS),
    row("day_production_undo", "POST", WRITERS),
    row("series", "GET", {"maker"}),
    row("print_issue", "POST", WRITERS),
    row("export", "POST", MEMBERS),
    row("deviation_lot", "POST", WRITERS),
    row("deviation_hold", "POST", WRITERS),
    row("deviation_action", "POST", WRITERS),
    row("deviation_attach", "POST", WRITERS),
    row("calculators", "GET", MEMBERS),
    row("calculator", "GET", MEMBERS),
    row("calculator", "POST", MEMBERS),
    row("calculation_attach", "POST", WRITERS),
    row("deviation_cause", "POST", WRITERS),
    row("deviation_evaluate", "POST", {"owner"}),
    row("deviation_dispose", "POST", {"owner"}),
    row("deviation_recall", "POST", {"owner"}),
    row("deviation_close", "POST", {"reviewer", "owner"}),
    row("plan_trigger", "POST", WRITERS),
    row("plan_duty_sign", "POST", {"owner"}),
    row("plan_apply", "GET", {"owner"}),
    row("plan_apply", "POST", {"owner"}),
    row("plan_print", "POST", WRITERS),
    row("plan_blank_sheet", "POST", WRITERS),
    row("plan_parameter_back", "POST", {"owner"}),
    row("plan_confirm_figure", "POST", {"owner"}),
    row("plan_confirm_targets", "POST", {"owner"}),
    row("plan_confirm_flow", "POST", {"owner"}),
    row("bundle", "GET", {"maker"}),
    row("kept_page", "GET", {"maker"}),
    row("manifest", "GET", MEMBERS),
    row("device", "GET", MEMBERS),
    row("device_import", "GET", WRITERS),
    row("device_import", "POST", WRITERS),
    row("seals_between", "GET", MEMBERS),
    row("seals_alarm", "POST", MEMBERS),
    *(row(name, method, may) for name in EDITED for method, may in (("GET", MEMBERS), ("POST", {"owner"}))),
]
TABLE += [row(name, "GET", MEMBERS) for name in ("receiving", "load", "suppliers", "supplier", "ingredients")]
TABLE += [row(name, "GET", MEMBERS) for name in ("ingredient", "certificate_file", "ingredient_file")]
TABLE += [row("correction", "GET", MEMBERS), row("correction", "POST", WRITERS)]
TABLE += [row(name, "GET", {"maker"}) for name in ("milk_choose", "load_next")]
TABLE += [row(name, how, may) for name, may in ASKED_AT_THE_DOOR.items() for how in ("GET", "POST")]
# Without an establishment in the address, or authorised by the claim's own signature.
ELSEWHERE = {"home", "sign_in", "sign_out", "first_run", "claims", "claims_line", "service_worker"}
ELSEWHERE |= {"claim_files", "challenge", "turn", "password_turn"}


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
        brine = a_thing(working, begun=hours(1))
        (use,) = put_in(working, brine, lot, start=hours(1.5))
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
