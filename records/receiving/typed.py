"""What is typed at the door, read: days, volumes, codes, certificates' files."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.utils.translation import gettext as _

from safetyplan.calculation.codes import parse_code
from safetyplan.calculation.times import parse_local
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity import clock
from safetyplan.integrity.files import checked_evidence, keep_file, shown_name
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean, in_words, number
from safetyplan.plans.queries import late_after

AHEAD = timedelta(days=20 * 365)
WITHOUT_PLAN = 60  # minutes after which an entry is late while there is no plan to say


@dataclass(frozen=True)
class Upload:
    """A file as it was sent."""

    name: str
    content: bytes


@dataclass(frozen=True)
class Kept:
    """A file as it is kept: name, kind, SHA-256; empty where there is none."""

    file_name: str = ""
    media_type: str = ""
    sha256: str = ""


def keep(establishment: Establishment, upload: Upload | None) -> Kept:
    """Keep an uploaded file under its SHA-256, told by its content."""
    if upload is None:
        return Kept()
    kind, content = checked_evidence(upload.content)
    return Kept(shown_name(upload.name), kind, keep_file(establishment, content))


def day_typed(establishment: Establishment, text: str, *, part: str, past: bool = False) -> date | None:
    """Read a typed date, up to twenty years ahead, or none where nothing was typed.

    past: it may not lie ahead of today.
    """
    if not text.strip():
        return None
    zone, now = zone_of(establishment), clock.now(establishment)
    with in_words(part):
        limit = now if past else now + AHEAD
        noon = parse_local(text, "00:00", zone, now=limit, fold=0, confirmed=True)
    return noon.astimezone(zone).date()


def moment_typed(
    establishment: Establishment,
    day: str,
    time: str,
    *,
    part: str,
    fold: str = "",
    ahead: bool = False,
    sure: bool = True,
) -> datetime:
    """Read a typed date and time of day in local time. ahead: it may lie in the future."""
    now = clock.now(establishment)
    with in_words(part):
        return parse_local(
            day,
            time,
            zone_of(establishment),
            now=now + AHEAD if ahead else now,
            fold=int(fold) if fold in ("0", "1") else None,
            confirmed=sure,
        )


def volume_typed(raw: str, *, unit: str, part: str = "volume", sure: bool = False) -> str:
    """Read a typed volume above nothing, in the unit of its field."""
    typed = number(raw, quantity="volume", unit=unit, part=part, confirmed=sure)
    if typed.value <= 0:
        raise BadInput(_("Give a volume above 0."), part=part)
    return typed.text


def code_typed(raw: str, *, part: str = "code") -> str:
    """Read a typed code."""
    with in_words(part):
        return parse_code(raw)


def needed(text: str, *, part: str, message: str, most: int = 120) -> str:
    """Take a text that has to be there."""
    tidy = clean(text, most=most, part=part)
    if not tidy:
        raise BadInput(message, part=part)
    return tidy


def tolerance(establishment: Establishment) -> int:
    """Give the minutes after which an entry is late, as the plan in force says."""
    return late_after(establishment, WITHOUT_PLAN)
