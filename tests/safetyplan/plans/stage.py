"""Helpers of the plan's page tests: open, send, write a draft, sign."""

import json
from typing import Any

from django.http import HttpResponse
from django.urls import reverse

from safetyplan.establishments.models import Person
from safetyplan.plans.models import PlanDraft
from safetyplan.plans.services import save_draft
from tests.builders import PLAN_FILE, at, confirm_all, hours
from tests.cast import PASSWORD, Cast
from tests.web import signed_in

PLAN = PLAN_FILE.read_text()


def url(cast: Cast, name: str, *more: object) -> str:
    """Give an address of the plan's pages."""
    return reverse(name, args=[cast.dairy.slug, *more])


def get(cast: Cast, person: Person, name: str, *more: object, query: str = "") -> HttpResponse:
    """Open a page."""
    with at(cast.dairy, hours(1)):
        return signed_in(person).get(url(cast, name, *more) + query)


def post(
    cast: Cast, person: Person, page: str, /, *more: object, query: str = "", **typed: Any
) -> HttpResponse:
    """Send a form."""
    with at(cast.dairy, hours(1)):
        return signed_in(person).post(url(cast, page, *more) + query, typed)


def draft_of(cast: Cast) -> PlanDraft | None:
    """Give the draft."""
    return PlanDraft.objects.of(cast.dairy).first()


def write(cast: Cast, text: str = PLAN) -> PlanDraft:
    """Save a draft through the service."""
    present = draft_of(cast)
    with at(cast.dairy, hours(0.5)):
        return save_draft(
            establishment=cast.dairy,
            by=cast.owner,
            text=text,
            reason="",
            revision=present.revision if present else None,
        )


def confirmed(cast: Cast, text: str = PLAN) -> PlanDraft:
    """Save a draft and confirm all that stands in it."""
    draft = write(cast, text)
    with at(cast.dairy, hours(0.6)):
        confirm_all(cast)
    return draft


def document_of(cast: Cast) -> dict[str, Any]:
    """Give the draft's document."""
    draft = draft_of(cast)
    assert draft is not None
    found: dict[str, Any] = json.loads(draft.text)
    return found


def revision_of(cast: Cast) -> str:
    """Give the revision of the draft as a form carries it."""
    draft = draft_of(cast)
    assert draft is not None
    return str(draft.revision)


def changed_plan(**changes: Any) -> str:
    """Give the plan with some values of its head changed."""
    return json.dumps({**json.loads(PLAN), **changes})


def signed(draft: PlanDraft, **changed: str) -> dict[str, str]:
    """Give the form that approves."""
    said = {"reason": "First plan", "takes_effect": "now", "capacity": "owner", "password": PASSWORD}
    return {"revision": str(draft.revision), **said, **changed}
