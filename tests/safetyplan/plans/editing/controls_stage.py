"""Helpers of the tests of controls and limits: the form as the page gave it, sent with some of it changed."""

import json
from html.parser import HTMLParser
from typing import Any

from django.contrib.messages import get_messages
from django.http import HttpRequest, HttpResponse

from safetyplan.establishments.models import Person
from tests.cast import Cast
from tests.safetyplan.plans.stage import PLAN, document_of, get, post
from tests.web import text_of

OPEN = {
    "kind": "open",
    "prompt": "By which hour must the curd reach which pH?",
    "sources": ["An invented study of uncooked curd"],
    "suggests": "reached_by",
}


class _Fields(HTMLParser):
    """Reads what a browser would send of the form of the editor."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.sent: dict[str, Any] = {}
        self._area = self._select = ""
        self._inside = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        name = given.get("name") or ""
        if tag == "form":
            self._inside = "plan-form" in (given.get("class") or "")
        if not self._inside:
            return
        if tag == "input" and given.get("type") in ("checkbox", "radio"):
            if "checked" in given:
                self._add(name, given.get("value") or "on")
        elif tag == "input":
            self._add(name, given.get("value") or "")
        elif tag == "textarea":
            self._area, self.sent[name] = name, ""
        elif tag == "select":
            self._select = name
        elif tag == "option" and "selected" in given:
            self._add(self._select, given.get("value") or "")

    def _add(self, name: str, value: str) -> None:
        if name in self.sent:
            present = self.sent[name]
            self.sent[name] = [*(present if isinstance(present, list) else [present]), value]
        else:
            self.sent[name] = value

    def handle_data(self, data: str) -> None:
        if self._area:
            self.sent[self._area] += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea":
            self.sent[self._area] = self.sent[self._area].removeprefix("\n")
            self._area = ""
        if tag == "form":
            self._inside = False


def fields_of(page: HttpResponse) -> dict[str, Any]:
    """Give what a browser would send of the form on a page."""
    reader = _Fields()
    reader.feed(text_of(page))
    reader.sent.pop("csrfmiddlewaretoken", None)
    return reader.sent


def opened(cast: Cast, name: str, *more: object, query: str = "") -> dict[str, Any]:
    """Open a page as the owner and give what its form holds."""
    page = get(cast, cast.owner, name, *more, query=query)
    assert page.status_code == 200
    return fields_of(page)


def send(cast: Cast, page: str, /, *more: object, person: Person | None = None, **typed: Any) -> HttpResponse:
    """Send a form as the owner, unless somebody else is named."""
    return post(cast, person or cast.owner, page, *more, **typed)


def said(answer: HttpResponse) -> str:
    """Give what the next page will say after a form was saved."""
    request: HttpRequest = answer.wsgi_request  # type: ignore[attr-defined]
    return " ".join(str(message) for message in get_messages(request))


def control_of(cast: Cast, code: str) -> dict[str, Any]:
    """Give a control of the draft's document."""
    found: dict[str, Any] = next(item for item in document_of(cast)["controls"] if item["code"] == code)
    return found


def plan_with(code: str = "CCP2", **changes: Any) -> str:
    """Give the demonstration's plan with one control changed."""
    plan = json.loads(PLAN)
    for control in plan["controls"]:
        if control["code"] == code:
            control |= changes
    return json.dumps(plan)


def with_limit(limit: dict[str, Any], code: str = "CCP2") -> str:
    """Give the plan with another limit, due after the start of the lot unless the limit names its times."""
    when = (
        {"kind": "limit_points"}
        if limit["kind"] == "reached_by"
        else {"kind": "after_event", "event": "started"}
    )
    present = next(c for c in json.loads(PLAN)["controls"] if c["code"] == code)
    return plan_with(code, limit=limit, monitoring={**present["monitoring"], "when": when})


def sent(cast: Cast, code: str = "CCP2", *, query: str = "", **typed: Any) -> Any:
    """Open the limit of a control, change some of it, and save."""
    return send(
        cast, "plan_limit", code, **{**opened(cast, "plan_limit", code, query=query), "act": "save", **typed}
    )
