"""What people type, turned into values for services; refusals in their words."""

import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from safetyplan.calculation.rounding import trim
from safetyplan.calculation.times import AHEAD, FIRST_YEAR, lateness
from safetyplan.calculation.typed import Offer, TypedRefusal, parse
from safetyplan.establishments.models import Establishment
from safetyplan.integrity import canonical, clock
from safetyplan.integrity.refusals import BadInput
from safetyplan.words import render


@dataclass(frozen=True)
class Number:
    """A typed number: its value, its canonical text, and how it is shown."""

    value: Decimal
    text: str
    unit: str
    censored: str
    echo: str


def clean(text: str, *, most: int = 500, part: str = "") -> str:
    """Trim a text, bring it to one Unicode form, and refuse what cannot be kept or printed."""
    tidy = unicodedata.normalize("NFC", text.strip())
    problem = canonical.text_problem(tidy)
    if problem is not None:
        raise BadInput(
            _("This text holds a character that cannot be kept: %(why)s.") % {"why": problem}, part=part
        )
    if len(tidy) > most:
        raise BadInput(
            _("At most %(most)d characters, please: this has %(has)d.") % {"most": most, "has": len(tidy)},
            part=part,
        )
    return tidy


def reason(text: str, *, part: str = "reason", most: int = 500) -> str:
    """Take a reason; at least three characters."""
    tidy = clean(text, most=most, part=part)
    if len(tidy) < 3:
        raise BadInput(_("Give a reason (at least three letters)."), part=part)
    return tidy


def offer_document(offer: Offer) -> dict[str, Any]:
    """Give an offer for a page or a device."""
    return {
        "label": str(render(offer.label)),
        "raw": offer.raw,
        "unit": offer.unit,
        "confirmed": offer.confirmed,
        "fold": offer.fold,
    }


@contextmanager
def in_words(part: str) -> Iterator[None]:
    """Turn the parser's refusal into one for the person, with its offers."""
    try:
        yield
    except TypedRefusal as refusal:
        raise BadInput(
            str(render(refusal.sentence)), part=part, offers=[offer_document(o) for o in refusal.offers]
        ) from refusal


def number(raw: str, *, quantity: str, unit: str, part: str, confirmed: bool = False) -> Number:
    """Read a typed number of a quantity, in the unit of its field."""
    clean(raw, part=part)
    with in_words(part):
        typed = parse(raw, quantity=quantity, unit=unit, confirmed=confirmed)
    return Number(typed.value, trim(typed.value), typed.unit, typed.censored, typed.echo)


def whole_number(raw: str, *, part: str) -> int:
    """Read a typed number of pieces."""
    return int(number(raw, quantity="count", unit="count", part=part, confirmed=True).value)


def mass(raw: str, *, part: str = "mass", unit: str = "kg") -> str:
    """Read a typed mass; '' when nothing was typed."""
    return number(raw, quantity="mass", unit=unit, part=part, confirmed=True).text if raw.strip() else ""


def volume(raw: str, *, part: str = "volume", unit: str = "L") -> str:
    """Read a typed volume; '' when nothing was typed."""
    return number(raw, quantity="volume", unit=unit, part=part, confirmed=True).text if raw.strip() else ""


def check_observed(
    establishment: Establishment,
    observed_at: datetime,
    captured_at: datetime | None,
    tolerance_minutes: int,
    late_reason: str,
    *,
    part: str = "observed_at",
) -> bool:
    """Tell whether a record is late; refuse the future, and lateness without a reason."""
    now = clock.now(establishment)
    if observed_at.year < FIRST_YEAR:
        raise BadInput(_("Give a year from %(first)d on.") % {"first": FIRST_YEAR}, part=part)
    if observed_at > now + AHEAD:
        raise BadInput(_("This time lies in the future."), part=part)
    late = lateness(observed_at, captured_at or now, timedelta(minutes=tolerance_minutes))
    if late:
        reason(late_reason, part="late_reason")
    return late
