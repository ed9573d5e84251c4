"""Signing in: the password is checked, guessing gets slower, and the security log says what happened.

After five failed tries for a name the next one waits 1 s, then 2, 4, 8 ... up to 15 minutes. The count is
kept in the database, so it survives a restart and holds for every server process. (The doubling wait is
common practice, no source.)
"""

import logging
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import ceil

from django.contrib.auth import authenticate, login
from django.db import transaction
from django.http import HttpRequest
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from safetyplan.establishments.models import Person, SignInTry

FREE_TRIES = 5
LONGEST_WAIT = timedelta(minutes=15)
FORGOTTEN_AFTER = timedelta(days=1)
NAME_LENGTH = 60
METHOD, SESSION = "signed_in_by", "signed_in_mark"
BY_PASSWORD, BY_PIN = "password", "pin"

log = logging.getLogger("safetyplan.security")


@dataclass(frozen=True)
class Tried:
    """What became of a try: the person who is now signed in, or how long the next try has to wait."""

    person: Person | None
    wait: timedelta = timedelta()


def wait_after(failed: int) -> timedelta:
    """How long the next try waits after so many failed ones. Errors: none."""
    if failed < FREE_TRIES:
        return timedelta()
    return min(timedelta(seconds=2 ** min(failed - FREE_TRIES, 20)), LONGEST_WAIT)


def said(tried: Tried) -> str:
    """Say why nobody was signed in; never whether the name exists."""
    if not tried.wait:
        return _("Name and password do not belong together. Check both and try again.")
    seconds = ceil(tried.wait.total_seconds())
    return ngettext(
        "Too many tries. Wait %(count)d second, then try again.",
        "Too many tries. Wait %(count)d seconds, then try again.",
        seconds,
    ) % {"count": seconds}


def one_line(text: str) -> str:
    """Write a text so that it stays on one line of the log, whatever was typed."""
    return text[:NAME_LENGTH].encode("unicode_escape").decode("ascii")


def sign_in_person(request: HttpRequest, username: str, password: str) -> Tried:
    """Check a password and sign the person in, under a new session id."""
    name = username.strip().lower()
    address = one_line(str(request.META.get("REMOTE_ADDR", "")))
    wait = _count_try(name[:NAME_LENGTH], timezone.now())
    if wait:
        log.warning("sign-in refused, too many tries: name=%s address=%s", one_line(name), address)
        return Tried(None, wait)
    person = authenticate(request, username=name, password=password)
    if person is None:
        log.warning("sign-in failed: name=%s address=%s", one_line(name), address)
        return Tried(None)
    SignInTry.objects.filter(username=name[:NAME_LENGTH]).delete()
    login(request, person)
    request.session.cycle_key()  # the framework keeps the id when the same person signs in once more
    mark_session(request, BY_PASSWORD)
    log.info("sign-in ok: name=%s address=%s", one_line(name), address)
    return Tried(person)


def mark_session(request: HttpRequest, method: str) -> None:
    """Write into a new session how the person was recognised, and a mark that tells sessions apart."""
    request.session[METHOD] = method
    request.session[SESSION] = secrets.token_hex(8)


def session_mark(request: HttpRequest) -> str:
    """Give the mark that tells this session from others; empty where it has none."""
    return str(request.session.get(SESSION, "")) if hasattr(request, "session") else ""


def method_of(request: HttpRequest) -> str:
    """Tell how the person of this session was recognised."""
    return str(request.session.get(METHOD, BY_PASSWORD)) if hasattr(request, "session") else BY_PASSWORD


def _count_try(name: str, now: datetime) -> timedelta:
    """Count a try before its password is checked, so that tries at the same moment cannot slip past.

    Gives how long to wait instead when it comes too early; such a try is not counted.
    """
    with transaction.atomic():
        SignInTry.objects.filter(last_at__lt=now - FORGOTTEN_AFTER).delete()
        row, _made = SignInTry.objects.select_for_update().get_or_create(
            username=name, defaults={"failed": 0, "last_at": now}
        )
        left = row.last_at + wait_after(row.failed) - now
        if left > timedelta():
            return left
        row.failed += 1
        row.last_at = now
        row.save()
    return timedelta()
