"""The first run of an empty installation: one page, opened with a one-time token from the data folder."""

import os
import re
import secrets
from pathlib import Path

from django.conf import settings
from django.db import transaction
from django.utils.text import slugify
from django.utils.translation import gettext as _

from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.services import Details, MemberSpec, check_password, open_establishment
from safetyplan.integrity.refusals import BadInput, Refused

FILE_NAME = "first_run_token"
USERNAME = re.compile(r"[a-z0-9._-]{2,60}")
TAKEN_ADDRESSES = frozenset({"sign-in", "sign-out", "first-run", "static"})


def token_file() -> Path:
    """Give the path of the token, in the data folder."""
    return Path(settings.DATA_FOLDER) / FILE_NAME


def new_token() -> str:
    """Make a token, write it to the data folder for this user's eyes only, and give it."""
    token = secrets.token_urlsafe(32)
    path = token_file()
    path.unlink(missing_ok=True)
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
        file.write(token)
    return token


def token_matches(token: str) -> bool:
    """Tell whether this is the token of the data folder; without one nothing matches."""
    try:
        kept = token_file().read_text().strip()
    except OSError:
        return False
    return bool(kept) and secrets.compare_digest(kept.encode(), token.encode())


def finish() -> None:
    """Remove the token: the first run is over."""
    token_file().unlink(missing_ok=True)


def is_open(token: str) -> bool:
    """Tell whether the first-run page may be shown: nothing is installed yet and the token matches."""
    return token_matches(token) and not Establishment.objects.exists()


def short_name(typed: str, name: str) -> str:
    """Give the short name of the addresses: what was typed, else made of the establishment's name."""
    made = typed.strip() or slugify(name)[:48] or "dairy"
    return f"{made}-dairy" if made in TAKEN_ADDRESSES else made


def open_first(
    *, slug: str, details: Details, username: str, password: str, member: MemberSpec
) -> tuple[Establishment, Person]:
    """Open the first establishment with its first person; refused once there is one."""
    name = username.strip().lower()
    if not USERNAME.fullmatch(name):
        raise BadInput(
            _("The sign-in name may hold small letters, digits, dot, hyphen and underscore."), part="username"
        )
    check_password(name, password)
    with transaction.atomic():
        if Establishment.objects.exists():
            raise Refused(_("This installation is set up already. Sign in."))
        person = Person.objects.create_person(username=name, password=password)
        establishment = open_establishment(
            slug=short_name(slug, details.name), details=details, administrator=person, member=member
        )
    finish()
    return establishment, person
