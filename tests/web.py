"""Small helpers of the page tests: a browser of a person, the text of a page, the size of the ledger."""

from django.http import HttpResponse
from django.test import Client

from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity.models import Entry


def signed_in(person: Person) -> Client:
    """Give a browser in which a person is signed in."""
    client = Client()
    client.force_login(person)
    return client


def entries(dairy: Establishment) -> int:
    """Count what the ledger holds."""
    return Entry.objects.of(dairy).count()


def text_of(response: HttpResponse) -> str:
    """Give the page as text."""
    return response.content.decode()
