"""A signed-in person looking at pages, and what a page holds."""

import re
from html import unescape
from typing import Any

from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from safetyplan.establishments.models import Person

WRITES = re.compile(r"^\s*(INSERT|UPDATE|DELETE|REPLACE|CREATE|DROP|ALTER)\b", re.IGNORECASE)


def as_person(person: Person) -> Client:
    """Give a client in which a person is signed in."""
    client = Client()
    client.force_login(person)
    return client


def address(name: str, *args: Any, slug: str = "near") -> str:
    """Give the address of a page of the dairy."""
    return reverse(name, args=[slug, *args])


def words(response: Any) -> str:
    """Give the text of a page without its markup, every run of white space as one space."""
    assert isinstance(response, HttpResponse)
    body = re.sub(r"<(script|style).*?</\1>", " ", response.content.decode(), flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).split())


def field(response: Any, name: str, form: int = 0) -> str:
    """Give the value of the form field of a name; `form` counts forms that have it."""
    found = re.findall(rf'<input[^>]*name="{name}"[^>]*>', response.content.decode())
    value = re.search(r'value="([^"]*)"', found[form])
    return unescape(value[1]) if value else ""


def written(client: Client, url: str) -> list[str]:
    """Open a page and give the statements by which it wrote to the database, the session's apart."""
    with CaptureQueriesContext(connection) as queries:
        client.get(url)
    statements = [str(query["sql"]) for query in queries.captured_queries]
    return [sql for sql in statements if WRITES.match(sql) and "django_session" not in sql]
