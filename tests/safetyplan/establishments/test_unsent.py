"""A form whose session had ended: kept for its person and nobody else, without passwords, and for a while."""

import re
from typing import Any

import pytest
from django import forms
from django.contrib.sessions.models import Session
from django.test import Client

from safetyplan.establishments import unsent
from tests.builders import at, hours
from tests.cast import PASSWORD, Cast
from tests.web import entries, signed_in, text_of

pytestmark = pytest.mark.django_db
SIGN_IN = {"username": "maker-near", "password": PASSWORD}
HIDDEN = re.compile(r'name="(csrfmiddlewaretoken|form_of|uuid)" value="([^"]+)"')


def hidden(page: Any) -> dict[str, str]:
    """Give the hidden fields of the page's own form."""
    return dict(HIDDEN.findall(text_of(page).split("<main")[1]))


def new_lot(browser: Client, **changes: str) -> dict[str, str]:
    """Fill in the form that starts a lot."""
    page = browser.get("/near/lots/new/")
    typed = {"product": "TF", "code": "TF-9", "vat": "Vat 2", "on_date": "2026-05-14", "on_time": "09:00"}
    return {**hidden(page), **typed, **changes}


def browser_of(cast: Cast, who: str = "maker") -> Client:
    """Give a browser that checks the token of forms as a server does."""
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(getattr(cast, who))
    return browser


@pytest.fixture
def left(working: Cast) -> Client:
    """The maker's browser, in which a form was sent when the session had ended."""
    browser = browser_of(working)
    with at(working.dairy, hours(1)):
        typed = new_lot(browser)
        del browser.cookies["sessionid"]
        browser.post("/near/lots/new/", typed)
    return browser


def today_of(cast: Cast, browser: Client, who: str) -> str:
    """Sign somebody in and read the form's page and the page of today."""
    browser.force_login(getattr(cast, who))
    return "".join(text_of(browser.get(f"/near/{page}/")) for page in ("lots/new", "today"))


def test_signing_in_says_why_and_leads_back_to_the_form_with_what_was_typed(
    working: Cast, left: Client
) -> None:
    page = left.get("/sign-in/?next=/near/lots/new/")
    sent = {**SIGN_IN, **hidden(page), "next": "/near/lots/new/"}
    with at(working.dairy, hours(1)):
        back = left.post("/sign-in/", sent, follow=True)
        assert "You had been signed out: nothing was recorded." in text_of(page)
        assert back.redirect_chain[-1][0] == "/near/lots/new/"
        assert ["code", "TF-9"] in back.context["unsent_data"]["fields"]
        assert "TF-9" in text_of(back)


@pytest.mark.parametrize("who", ["helper", "owner", "inspector"])
def test_another_person_who_signs_in_sees_nothing_of_it(working: Cast, left: Client, who: str) -> None:
    with at(working.dairy, hours(1)):
        assert "TF-9" not in today_of(working, left, who)


def test_it_is_there_again_when_its_person_comes_back_after_another(working: Cast, left: Client) -> None:
    with at(working.dairy, hours(1)):
        today_of(working, left, "helper")
        left.force_login(working.maker)
        assert "/near/lots/new/" in text_of(left.get("/near/today/")).split("<main")[1][:2000]
        assert "TF-9" in text_of(left.get("/near/lots/new/"))


def test_the_same_person_on_another_device_does_not_meet_it(working: Cast, left: Client) -> None:
    with at(working.dairy, hours(1)):
        assert "TF-9" not in text_of(signed_in(working.maker).get("/near/lots/new/"))


def test_it_is_thrown_away_when_asked(working: Cast, left: Client) -> None:
    left.force_login(working.maker)
    with at(working.dairy, hours(1)):
        sent = {**hidden(left.get("/near/lots/new/")), "action": "/near/lots/new/", "page": "/near/lots/new/"}
        answer = left.post("/unsent/forget/", sent)
        assert answer["Location"] == "/near/lots/new/"
        assert "TF-9" not in text_of(left.get("/near/lots/new/"))


def test_somebody_else_cannot_throw_it_away(working: Cast, left: Client) -> None:
    left.force_login(working.helper)
    with at(working.dairy, hours(1)):
        left.post("/unsent/forget/", {**hidden(left.get("/near/lots/new/")), "action": "/near/lots/new/"})
        left.force_login(working.maker)
        assert "TF-9" in text_of(left.get("/near/lots/new/"))


def test_after_signing_in_anew_in_another_tab_the_form_comes_back_filled_in(working: Cast) -> None:
    browser = browser_of(working)
    with at(working.dairy, hours(1)):
        typed, before = new_lot(browser), entries(working.dairy)
        del browser.cookies["csrftoken"]
        browser.get("/near/lots/new/")  # the other tab has another token
        answer = browser.post("/near/lots/new/", typed)
        assert (answer.status_code, answer["Location"]) == (302, "/near/lots/new/")
        assert "TF-9" in text_of(browser.get("/near/lots/new/"))
        assert entries(working.dairy) == before


def test_a_form_of_another_person_with_an_old_token_is_kept_for_that_person(working: Cast) -> None:
    browser = browser_of(working)
    with at(working.dairy, hours(1)):
        typed = new_lot(browser)
        del browser.cookies["csrftoken"]
        browser.force_login(working.helper)
        browser.get("/near/lots/new/")
        answer = browser.post("/near/lots/new/", typed)
        assert answer.status_code == 403
        assert "TF-9" not in text_of(answer)
        assert "TF-9" in today_of(working, browser, "maker")


def test_a_form_without_the_mark_of_a_page_of_ours_is_not_kept(working: Cast) -> None:
    browser = browser_of(working)
    with at(working.dairy, hours(1)):
        typed = {**new_lot(browser), "form_of": "made-up:by:somebody"}
        del browser.cookies["sessionid"]
        answer = browser.post("/near/lots/new/", typed)
    assert answer["Location"].startswith("/sign-in/")
    assert unsent.COOKIE not in browser.cookies


def test_what_is_too_long_is_not_kept_and_nothing_breaks(working: Cast) -> None:
    browser = browser_of(working)
    with at(working.dairy, hours(1)):
        typed = new_lot(browser, late_reason="x" * (unsent.MOST_LETTERS + 1))
        del browser.cookies["sessionid"]
        assert browser.post("/near/lots/new/", typed).status_code == 302
    assert unsent.COOKIE not in browser.cookies


def test_the_key_is_for_the_server_alone_and_nobody_elses_session_is_written(working: Cast) -> None:
    browser, other = browser_of(working), signed_in(working.helper)
    with at(working.dairy, hours(1)):
        typed = new_lot(browser)
        del browser.cookies["sessionid"]
        browser.cookies[unsent.COOKIE] = str(other.session.session_key)
        browser.post("/near/lots/new/", typed)
    cookie = browser.cookies[unsent.COOKIE]
    assert (cookie["httponly"], cookie["samesite"]) == (True, "Lax")
    assert cookie.value != other.session.session_key
    assert "unsent" not in Session.objects.get(pk=other.session.session_key).get_decoded()


@pytest.mark.parametrize("key", ["x", "\x00", "é" * 32, "a" * 32])
def test_a_made_up_key_shows_nothing(working: Cast, left: Client, key: str) -> None:
    left.force_login(working.maker)
    left.cookies[unsent.COOKIE] = key
    with at(working.dairy, hours(1)):
        assert "TF-9" not in text_of(left.get("/near/lots/new/"))


def every_form(kind: type[forms.BaseForm]) -> set[type[forms.BaseForm]]:
    """Collect the forms of the program."""
    return {kind, *(found for below in kind.__subclasses__() for found in every_form(below))}


def test_no_field_that_hides_what_is_typed_is_ever_kept() -> None:
    hiding = {
        name
        for form in every_form(forms.BaseForm)
        for name, field in getattr(form, "base_fields", {}).items()
        if isinstance(field.widget, forms.PasswordInput)
    }
    assert "password" in hiding
    assert [name for name in hiding if not unsent.SECRET.search(name)] == []
