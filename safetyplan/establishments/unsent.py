"""Forms that came when their session had ended: what was typed waits for whoever filled them in.

Every form of a signed-in person carries, signed, whose page it stands on and that page's address. Where such
a form comes without its session, or with a token that no longer fits, nothing of it is done; what was typed
waits on the server under a key that only this browser has, and is shown to that person alone. Passwords are
never kept, nor are files: which file belonged to it is said.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from importlib import import_module
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

FIELD = "form_of"
COOKIE = "__Host-unsent" if settings.HTTPS else "unsent"
SALT, KEY = "safetyplan.form", "unsent"
FOR_SECONDS = 12 * 3600
MOST_LETTERS, MOST_FORMS = 1_000_000, 5
SECRET = re.compile(r"password|passphrase|secret|csrf|token|(^|_)pin(_|$)")


@dataclass(frozen=True)
class Unsent:
    """What one form held: where it goes, the page it stood on, its fields in order, and its files' names."""

    person: str
    action: str
    page: str
    at: datetime
    fields: list[list[str]]
    files: list[list[str]]

    def document(self) -> dict[str, Any]:
        """Give it as a value of JSON."""
        return {**self.__dict__, "at": self.at.isoformat()}

    def typed(self) -> list[tuple[str, str]]:
        """Give what a person typed, for reading."""
        marks = ("uuid", "seen")
        said = [(name, text) for name, text in self.fields if text.strip() and name not in marks]
        return [(n.replace("_", " "), t) for n, t in said if not n.endswith(("_fold", "_offer", "_sure"))]


def mark_of(request: HttpRequest) -> str:
    """Give the signed mark of a form: whose page it stands on, and that page's address."""
    page = request.get_full_path()
    if request.method == "POST":  # shown again after a refusal: perhaps where only forms are sent
        page = _marked(request)[1] or page
    return signing.dumps([str(request.user.pk), page], salt=SALT)


def mark_for(person: object) -> str:
    """Give the signed mark of a form whose page passed to another person."""
    return signing.dumps([str(person), ""], salt=SALT)


def _marked(request: HttpRequest) -> tuple[str, str]:
    """Give the person and the page that a form's mark names; nothing for a mark that does not hold."""
    sent = getattr(request, FIELD, None) or request.POST.get(FIELD, "")
    try:
        person, page = signing.loads(sent, salt=SALT, max_age=7 * 24 * 3600)
    except (signing.BadSignature, ValueError):
        return "", ""
    return str(person), str(page)


def take_mark(request: HttpRequest) -> None:
    """Take the mark out of what was typed, before a view reads it."""
    if FIELD in request.POST:
        typed = request.POST.copy()
        setattr(request, FIELD, typed.pop(FIELD)[-1])
        typed._mutable = False
        request.POST = typed  # type: ignore[assignment]


def _page_of(request: HttpRequest, page: str) -> str:
    came = urlsplit(request.headers.get("referer", ""))
    own = f"/{came.path.lstrip('/')}" if came.netloc == request.get_host() else ""
    return page or (f"{own}?{came.query}" if own and came.query else own) or request.get_full_path()


def form_sent(request: HttpRequest) -> Unsent | None:
    """Give what a form held that was sent; None when nobody's page is known by it, or it is too long."""
    person, page = _marked(request)
    if not person:
        return None
    listed = [(name, text) for name, texts in request.POST.lists() for text in texts]
    fields = [[n, str(t)] for n, t in listed if n != FIELD and not SECRET.search(n.lower())]
    if sum(len(name) + len(text) for name, text in fields) > MOST_LETTERS:
        return None
    sent = [(name, file) for name, files in request.FILES.lists() for file in files]
    files = [[name, str(file.name)] for name, file in sent]
    action = request.get_full_path()
    return Unsent(person, action, _page_of(request, page), timezone.now(), fields, files)


def _store(key: str | None) -> Any:
    known = key if key and key.isascii() and key.isalnum() else None
    return import_module(settings.SESSION_ENGINE).SessionStore(known)


def _rows(store: Any) -> list[Unsent]:
    kept: list[Mapping[str, Any]] = store.get(KEY, [])
    return [Unsent(**{**row, "at": datetime.fromisoformat(row["at"])}) for row in kept]


def keep(request: HttpRequest, response: HttpResponse, unsent: Unsent) -> None:
    """Keep a form for its person, under a key that this browser gets; the newest of the same form stays."""
    store = _store(request.COOKIES.get(COOKIE))
    others = [row for row in _rows(store) if (row.person, row.action) != (unsent.person, unsent.action)]
    if KEY not in store:  # a key that is not ours, or none: never write beside somebody's session
        store = _store(None)
    store[KEY] = [row.document() for row in [*others, unsent][-MOST_FORMS:]]
    store.set_expiry(FOR_SECONDS)
    store.save()
    response.set_cookie(
        COOKIE, store.session_key, FOR_SECONDS, secure=settings.HTTPS, httponly=True, samesite="Lax"
    )


def waiting(request: HttpRequest) -> list[Unsent]:
    """Give the forms that wait in this browser for the person who is signed in, the newest last."""
    key, user = request.COOKIES.get(COOKIE), getattr(request, "user", None)
    if not key or user is None or not user.is_authenticated:
        return []
    return [row for row in _rows(_store(key)) if row.person == str(user.pk)]


def forget(request: HttpRequest, action: str) -> None:
    """Forget a form of the signed-in person: it was sent again, or is not wanted."""
    here = [row.action for row in waiting(request)]
    if action not in here:
        return
    store, mine = _store(request.COOKIES.get(COOKIE)), str(request.user.pk)
    left = [row.document() for row in _rows(store) if (row.person, row.action) != (mine, action)]
    store[KEY] = left
    store.save()
