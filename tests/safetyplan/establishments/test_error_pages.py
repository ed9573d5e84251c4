"""Pages for what cannot be shown: not found, not allowed, refused, failed, a form that is out of date."""

from http import HTTPStatus

import pytest
from django.template.loader import render_to_string
from django.test import Client

from tests.cast import PASSWORD, Cast


def test_a_page_that_does_not_exist_says_so_and_leads_on(cast: Cast, client: Client) -> None:
    client.force_login(cast.maker)
    answer = client.get("/near/nowhere/")
    assert answer.status_code == HTTPStatus.NOT_FOUND
    assert "<h1>Not found</h1>" in answer.content.decode()
    assert 'href="/"' in answer.content.decode()


def test_a_refusal_is_shown_in_words_with_the_establishments_pages(cast: Cast, client: Client) -> None:
    client.force_login(cast.inspector)
    answer = client.get("/near/checks/day:2026-05-14:PRP1:0/")
    text = answer.content.decode()
    assert answer.status_code == HTTPStatus.FORBIDDEN
    assert "This needs the role: Maker." in text
    assert 'href="/near/today/"' in text


def test_a_form_with_an_old_token_says_that_nothing_was_recorded(cast: Cast) -> None:
    strict = Client(enforce_csrf_checks=True)
    answer = strict.post("/sign-in/", {"username": "maker-near", "password": PASSWORD})
    assert answer.status_code == HTTPStatus.FORBIDDEN
    assert "Nothing was recorded" in answer.content.decode()


@pytest.mark.parametrize("name", ["403.html", "404.html", "500.html", "403_csrf.html", "refused.html"])
def test_each_error_page_stands_without_any_context(name: str) -> None:
    text = render_to_string(name)
    assert text.count("<h1>") == 1
    assert "{" not in text.split("<main")[1]
