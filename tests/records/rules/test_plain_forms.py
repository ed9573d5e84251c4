"""Rows 34 and 79 to 81 of the bad inputs on every plain form: the session is over, the answer is lost."""

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from pytest_django.plugin import DjangoDbBlocker

from records.checks.services import explain_check
from records.receiving.models import Herd, Supplier
from records.signoff.queries import day_sheet
from safetyplan import middleware
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity import clock
from tests.builders import T0, a_lot, a_picture, at, hours, plan_in_force
from tests.cast import Cast, make_cast
from tests.records.receiving.stage import Dairy
from tests.records.rules.plain_forms import FORMS, Plain, filled
from tests.records.rules.sharing import undone
from tests.records.things.stage import a_thing
from tests.test_access_table import Scene, scene_in
from tests.web import entries, signed_in, text_of

pytestmark = pytest.mark.django_db
PICTURE = a_picture()
Typed = dict[str, str]
SECRET = ("password", "csrfmiddlewaretoken", "form_of")


@pytest.fixture(scope="module")
def prepared(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[tuple[Cast, Scene]]:
    """Record one of each, once."""
    with undone(django_db_blocker):
        cast = make_cast()
        with at(cast.dairy, T0.replace(day=13)):
            plan_in_force(cast)
        scene = scene_in(cast)
        scene.arguments |= untouched(cast, scene)
        yield cast, scene


def untouched(cast: Cast, scene: Scene) -> dict[str, list[Any]]:
    """Add what nothing hangs on yet: a load, a lot, a day."""
    with at(cast.dairy, hours(2.05)):
        supplier = Supplier.objects.of(cast.dairy).get(pk=scene.arguments["supplier"][0])
        herd = Herd.objects.of(cast.dairy).get(pk=scene.arguments["herd_change"][0])
        load = Dairy(cast, supplier, herd).load("M-2", 2, statements=kept_out(scene))
        lot = a_lot(cast, "TF-8", started=hours(2))
        local = ZoneTime(zone_of(cast.dairy))
        for state in day_sheet(cast.dairy, date(2026, 5, 13), local, clock.now(cast.dairy)).unexplained():
            explain_check(establishment=cast.dairy, by=cast.maker, slot=state.slot.id, why="Nobody was there")
        brine = a_thing(cast, code="B8", begun=hours(2))
    return {
        "load_void": [load.pk],
        "lot_milk": [lot.pk],
        "lot_links": [lot.pk],
        "thing_task": [brine.id, "use"],
        "day_sign": ["2026-05-13"],
        "day_no_production": ["2026-05-13"],
    }


def kept_out(scene: Scene) -> dict[str, str]:
    """Say that the milk of the treated animal is not in the load."""
    return {f"treated_{scene.arguments['treated_change'][0]}": "kept_out"}


@pytest.fixture
def people(prepared: tuple[Cast, Scene], db: None) -> Cast:
    """Give the people."""
    return prepared[0]


@pytest.fixture
def scene(prepared: tuple[Cast, Scene]) -> Scene:
    """Give what an address may name."""
    return prepared[1]


def addresses(cast: Cast, scene: Scene, form: Plain) -> tuple[str, str]:
    """Give where a form stands, and where it is sent."""
    told = [cast.dairy.slug, *scene.arguments.get(form.name, [])]
    if form.task:
        told[-1] = form.task
    sent = reverse(form.name, args=told) + form.query
    return (reverse(form.page, args=told) if form.page else sent), sent


def form_on(browser: Client, page: str, sent: str, form: Plain) -> dict[str, str]:
    """Open the page of a form and fill it in."""
    answer = browser.get(page)
    assert answer.status_code == 200, answer.headers
    return filled(text_of(answer), sent, page, form.typed)


def send(browser: Client, sent: str, typed: Typed, form: Plain) -> Any:
    """Send a form, with a picture where it asks for a file."""
    file = {form.file: SimpleUploadedFile("sheet.png", PICTURE)} if form.file else {}
    return browser.post(sent, {**typed, **file})


def losing_the_answer(
    monkeypatch: pytest.MonkeyPatch, browser: Client, sent: str, typed: Typed, form: Plain
) -> int:
    """Send a form whose answer is lost after everything is recorded."""

    class Lost:
        """A log that fails: it is written after the view."""

        def info(self, *_words: object) -> None:
            raise OSError("no space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(middleware, "access_log", Lost())
        browser.raise_request_exception = False
        return send(browser, sent, typed, form).status_code


@pytest.mark.parametrize("form", FORMS, ids=str)
def test_what_was_typed_survives_a_session_that_is_over_and_an_answer_that_is_lost(
    people: Cast, scene: Scene, form: Plain, monkeypatch: pytest.MonkeyPatch
) -> None:
    page, sent = addresses(people, scene, form)
    browser = signed_in(getattr(people, form.who))
    with at(people.dairy, hours(2.1)):
        typed = form_on(browser, page, sent, form)
        before = entries(people.dairy)
        browser.logout()
        signed_out = send(browser, sent, typed, form)
        assert signed_out["Location"].startswith(reverse("sign_in")), signed_out.status_code
        assert entries(people.dairy) == before
        browser.force_login(getattr(people, form.who))
        kept = browser.get(page).context["unsent_data"]
        assert kept["action"] == sent
        assert dict(kept["fields"]) == {k: v for k, v in typed.items() if k not in SECRET}
        assert [name for name, _file in kept["files"]] == [form.file] * bool(form.file)
        assert losing_the_answer(monkeypatch, browser, sent, typed, form) == 500
        recorded = entries(people.dairy)
        again = send(browser, sent, typed, form)
    import re

    assert recorded > before, re.findall(
        r'(?s)errorlist.*?</ul>|class="notice bad.*?</div>|class="error.*?</p>', text_of(again)
    )
