"""Helpers of the tests of programmes, profile and confirmations: open, send, look at the draft."""

import json
from typing import Any

from django.http import HttpResponse

from safetyplan.establishments.models import Person
from safetyplan.integrity import canonical
from tests.builders import at, hours
from tests.cast import Cast
from tests.safetyplan.plans.stage import PLAN, draft_of, get, url, write
from tests.web import signed_in

Data = dict[str, Any]
__all__ = ["get", "url"]


def begun(cast: Cast, **changes: Any) -> Cast:
    """Write the invented plan as the draft, some of its head changed."""
    write(cast, json.dumps({**json.loads(PLAN), **changes}))
    return cast


def document(cast: Cast) -> Data:
    """Give the draft's document."""
    draft = draft_of(cast)
    assert draft is not None
    found: Data = canonical.loads(draft.text.encode())
    return found


def item(cast: Cast, key: str, code: str) -> Data:
    """Give an item of the draft."""
    return next(one for one in document(cast)[key] if one["code"] == code)


def send(
    cast: Cast, address: str, /, *more: object, by: Person | None = None, revision: str = "", **typed: Any
) -> HttpResponse:
    """Send a form of the editor with the present revision, or another."""
    draft = draft_of(cast)
    shown = revision or (str(draft.revision) if draft else "")
    with at(cast.dairy, hours(1)):
        return signed_in(by or cast.owner).post(url(cast, address, *more), {"revision": shown, **typed})
