"""The bad inputs on every plain form that records: rows 34 and 79 to 81 (the session is over, the answer is
lost), 25 and 26 (the clocks change), and what is typed where a number is asked for."""

import json
import os
import re
from collections.abc import Iterator
from datetime import date
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils.html import escape
from PIL import Image
from pytest_django.plugin import DjangoDbBlocker

from records.checks.services import explain_check
from records.receiving.models import Herd, Supplier
from records.signoff.queries import day_sheet
from safetyplan import middleware
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity import clock
from safetyplan.integrity.models import Entry, StoredFile
from tests.builders import T0, a_lot, a_picture, at, hours, plan_in_force
from tests.cast import Cast, make_cast
from tests.records.receiving.stage import Dairy
from tests.records.rules.plain_forms import (
    BY_NAME,
    FORMS,
    NUMBERS,
    REFUSED,
    TIMES,
    Plain,
    Reader,
    filled,
    read,
)
from tests.records.rules.sharing import undone
from tests.records.things.stage import a_thing
from tests.test_access_table import Scene, scene_in
from tests.web import entries, signed_in, text_of

pytestmark = pytest.mark.django_db
SOAK = os.environ.get("SOAK") == "1"
PICTURE = a_picture()
# All forms read numbers by the one parser: the gate asks each form a fourth of the texts, the soak all.
ASKED = [(row, text) for row, texts in REFUSED.items() for text in texts]
LONG = "long " * 2000
MAKER = 271  # the tag in which a camera names itself (CIPA DC-008)
HOSTILE = "=1+1 <script>alert(1)</script> {{7*7}} %s ${x} ' OR 1=1--"
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


def ready(cast: Cast, scene: Scene, form: Plain) -> tuple[Client, str, str]:
    """Give the browser of the person who sends a form, where it stands and where it is sent."""
    return (signed_in(getattr(cast, form.who)), *addresses(cast, scene, form))


def open_form(browser: Client, page: str, sent: str) -> Reader:
    """Open the page of a form."""
    answer = browser.get(page)
    assert answer.status_code == 200, answer.headers
    return read(text_of(answer), sent, page)


def form_on(browser: Client, page: str, sent: str, form: Plain) -> Typed:
    """Open the page of a form and fill it in."""
    return filled(open_form(browser, page, sent), form.typed)


def complaints(answer: Any) -> list[str]:
    """Give what a page says against a form."""
    return re.findall(r'class="(?:errorlist|error|notice bad).*?</(?:ul|p|div)>', text_of(answer), re.DOTALL)


def send(browser: Client, sent: str, typed: Typed, form: Plain, picture: bytes = PICTURE) -> Any:
    """Send a form, with a picture where it asks for a file."""
    file = {form.file: SimpleUploadedFile("../../<b>sheet\u202e.png", picture)} if form.file else {}
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
    browser, page, sent = ready(people, scene, form)
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

    assert recorded > before, complaints(again)


@pytest.mark.parametrize(("name", "day", "time"), TIMES, ids=[f"{n}-{t}" for n, _d, t in TIMES])
def test_rows_25_and_26_a_time_when_the_clocks_change_is_asked_back(
    people: Cast, scene: Scene, name: str, day: str, time: str
) -> None:
    form = BY_NAME[name]
    browser, page, sent = ready(people, scene, form)
    with at(people.dairy, hours(2.1)):
        typed = {**form_on(browser, page, sent, form), "late_reason": "Wet hands"}
        before = entries(people.dairy)
        left_out = browser.post(sent, {**typed, day: "2026-03-29", time: "01:30"})
        twice = browser.post(sent, {**typed, day: "2025-10-26", time: "01:30"})
        chosen = browser.post(sent, {**typed, day: "2025-10-26", time: "01:30", f"{time}_offer": "1"})
    assert (left_out.status_code, twice.status_code) == (422, 422)
    assert "did not exist" in text_of(left_out)
    assert 'value="01:30"' in text_of(left_out)
    assert text_of(twice).count(f"{time}_offer") == 2
    assert "happened twice" not in text_of(chosen)
    assert chosen.status_code in (302, 409, 422)
    assert entries(people.dairy) == before or chosen.status_code == 302


@pytest.mark.parametrize(("name", "field", "other"), NUMBERS, ids=[f"{n}-{f}" for n, f, _o in NUMBERS])
def test_what_is_no_number_is_refused_at_its_field_and_stays_and_a_pasted_one_is_taken(
    people: Cast, scene: Scene, name: str, field: str, other: str
) -> None:
    form = BY_NAME[name]
    browser, page, sent = ready(people, scene, form)
    with at(people.dairy, hours(2.1)):
        typed = form_on(browser, page, sent, form)
        before = entries(people.dairy)
        for row, text in ASKED if SOAK else ASKED[NUMBERS.index((name, field, other)) % 4 :: 4]:
            answer = browser.post(sent, {**typed, field: text})
            told = f"row {row}: {text}"
            assert answer.status_code == 422, told
            assert f'value="{escape(text)}"' in text_of(answer), told
            assert 'class="errorlist"' in text_of(answer), told
        if other:
            assert f"{field}_offer" in text_of(browser.post(sent, {**typed, field: other}))
        assert entries(people.dairy) == before
        least = 221 if name == "load_correct" else 1  # litres of that load are used already
        answer = browser.post(sent, {**typed, field: f"\u00a0{least},5\n"})
        assert answer.status_code == 302, complaints(answer)
    kept = Entry.objects.of(people.dairy).order_by("-sequence")[: entries(people.dairy) - before]
    assert any(f'"{least}.5"' in json.dumps(row.document()) for row in kept)


@pytest.mark.parametrize("form", FORMS, ids=str)
def test_rows_66_68_and_72_text_that_cannot_be_kept_is_refused_and_code_stays_text(
    people: Cast, scene: Scene, form: Plain
) -> None:
    browser, page, sent = ready(people, scene, form)
    browser.raise_request_exception = False
    with at(people.dairy, hours(2.1)):
        reader = open_form(browser, page, sent)
        typed, texts = filled(reader, form.typed), reader.texts
        alone = SOAK and form.name != "paper_sheet"  # a sheet stores its other lines
        before = entries(people.dairy)
        for fields in [[name] for name in texts] if alone else [texts][: len(texts)]:
            for text in ("a\0b", LONG):
                answer = send(browser, sent, {**typed, **dict.fromkeys(fields, text)}, form)
                assert answer.status_code == 422, (fields, text[:5], complaints(answer))
            assert LONG in text_of(answer)
        assert entries(people.dairy) == before
        answer = send(browser, sent, {**typed, **dict.fromkeys(texts, HOSTILE)}, form)
        assert answer.status_code in (302, 409, 422)
        shown = text_of(browser.get(answer["Location"])) if answer.status_code == 302 else text_of(answer)
    assert "<script>alert" not in shown


CHANGES = [form for form in FORMS if form.name.endswith(("_correct", "_change")) or form.task == "correct"]


@pytest.mark.parametrize("form", CHANGES, ids=str)
def test_row_36_the_second_of_two_tabs_that_correct_the_same_is_told_and_keeps_what_was_typed(
    people: Cast, scene: Scene, form: Plain
) -> None:
    browser, page, sent = ready(people, scene, form)
    with at(people.dairy, hours(2.1)):
        tabs = [form_on(browser, page, sent, form) for _tab in range(2)]
        first = browser.post(sent, tabs[0])
        recorded = entries(people.dairy)
        second = browser.post(sent, {**tabs[1], "reason": "Read in the other tab"})
    assert (first.status_code, second.status_code) == (302, 409), complaints(second)
    assert "Read in the other tab" in text_of(second)
    assert entries(people.dairy) == recorded


def test_row_36_the_second_tab_reads_what_it_says_now_and_may_then_save_its_own(
    people: Cast, scene: Scene
) -> None:
    browser, page, sent = ready(people, scene, BY_NAME["supplier_change"])
    with at(people.dairy, hours(2.1)):
        mine = {**form_on(browser, page, sent, BY_NAME["supplier_change"]), "name": "Hill & Daughters"}
        browser.post(sent, {**mine, "uuid": str(uuid4()), "name": "Hill & Sons"})
        told = browser.post(sent, mine)
        again = {**filled(read(text_of(told), sent, page), {}), "name": "Hill & Daughters"}
        saved = browser.post(sent, again)
    assert "It says now: Name: Hill &amp; Sons." in text_of(told)
    assert saved.status_code == 302


@pytest.mark.parametrize("form", [form for form in FORMS if form.file], ids=str)
def test_rows_63_and_64_a_file_is_kept_without_what_the_camera_hid_under_a_harmless_name(
    people: Cast, scene: Scene, form: Plain
) -> None:
    hidden = Image.Exif()
    hidden[MAKER] = "Invented Telephone"
    browser, page, sent = ready(people, scene, form)
    with at(people.dairy, hours(2.1)):
        typed, before = form_on(browser, page, sent, form), entries(people.dairy)
        answer = send(browser, sent, typed, form, a_picture("green", exif=hidden))
    assert answer.status_code == 302, complaints(answer)
    assert entries(people.dairy) > before
    kept = [bytes(row.content) for row in StoredFile.objects.of(people.dairy)]
    assert not any(b"Invented Telephone" in content for content in kept)
    newest = Entry.objects.of(people.dairy).order_by("-sequence")[: entries(people.dairy) - before]
    said = "".join(json.dumps(row.document(), ensure_ascii=False) for row in newest)
    assert "sheet" in said
    assert not any(trick in said for trick in ("..", "\u202e", "/sheet"))
