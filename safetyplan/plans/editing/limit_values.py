"""One value of a limit, as text in the form and as it stands in the document; numbers by the one parser.

A figure stays in the unit of its source: a number typed in another unit is refused, not converted. A time is
taken in another unit where it comes out exactly. What already stands in the document is taken as it stands.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from safetyplan.calculation.rounding import trim
from safetyplan.calculation.typed import Typed, TypedRefusal, parse, tidy
from safetyplan.calculation.unit_tables import QUANTITIES, UNITS
from safetyplan.calculation.units import convert_exactly
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean, offer_document, whole_number
from safetyplan.plans.editing.limit_fields import Field
from safetyplan.words import general, limit_kinds, name_words, render, sentence_case

PRESENCE = "presence"
LONGEST_NAME = 40
PARTS = tuple({**general.NAMES, **limit_kinds.NAMES})
_NAME = re.compile(r"[a-z][a-z0-9_]{0,39}")
_DOCUMENT_NUMBER = re.compile(r"-?[0-9]{1,10}(\.[0-9]{1,6})?")


@dataclass(frozen=True)
class Known:
    """What stands in the present document: names by their words, numbers with their unit."""

    names: Mapping[tuple[str, str], str] = field(default_factory=dict)
    numbers: frozenset[tuple[str, str]] = frozenset()

    def name(self, part: str, words: str) -> str | None:
        """Find the name behind words, first that of the same field."""
        at_home = self.names.get((part, words))
        return at_home or next((code for (_at, said), code in self.names.items() if said == words), None)


@dataclass(frozen=True)
class Asked:
    """One value to read: what was typed, of which field, in which unit, what is known of it."""

    raw: str
    field: Field
    part: str
    unit: str
    known: Known
    confirmed: bool = False


def to_text(asked: Field, value: Any) -> str:
    """Write a value of a document for the form."""
    if asked.entry == "unit":
        return str(value) if value else PRESENCE if "" in asked.options else ""
    if value is None or value is False:
        return ""
    if value is True:
        return "on"
    if asked.entry == "names":
        return "\n".join(name_words(code) for code in value)
    return name_words(value) if asked.entry == "name" else str(value)


def from_text(asked: Asked) -> Any:
    """Read a value for the document; None where nothing was typed and nothing is needed. Raises BadInput."""
    raw = clean(asked.raw, most=2000 if asked.field.entry == "names" else 200, part=asked.part)
    if asked.field.entry == "flag":
        return bool(raw)
    if not raw:
        if not asked.field.required:
            return None
        if asked.field.entry in ("choice", "event", "unit"):
            raise BadInput(_("Choose one."), part=asked.part)
        raise BadInput(_("%(name)s: this is missing.") % {"name": asked.field.label}, part=asked.part)
    return READ[asked.field.entry](asked, raw)


def _figure(asked: Asked, raw: str) -> str:
    """A number in its own unit; what cannot be usual is asked about, for a limit is not typed every day."""
    unit = asked.unit
    if (unit, raw) in asked.known.numbers:
        return raw
    try:
        return _plain(parse(raw, quantity=UNITS[unit].quantity, unit=unit, confirmed=asked.confirmed), asked)
    except TypedRefusal as refusal:
        raise _refused(refusal, asked.part, unit) from refusal


def _plain(typed: Typed, asked: Asked) -> str:
    if typed.censored:
        raise BadInput(_("Type the number alone, without “<” or “>”."), part=asked.part)
    return trim(typed.value)


def _refused(refusal: TypedRefusal, part: str, unit: str) -> BadInput:
    """Give the words of the parser, with the offers that stay in the unit of the limit."""
    words = str(render(refusal.sentence))
    if refusal.sentence.code == "typed_other_unit":
        words += " " + _(
            "A limit stays in the unit of its source: choose that unit, or type the figure in it."
        )
    offers = [offer_document(offer) for offer in refusal.offers if offer.unit == unit]
    return BadInput(words, part=part, offers=offers)


def read_difference(raw: str, unit: str, part: str, *, signed: bool, confirmed: bool = False) -> str:
    """Read a difference of two values: it may be small or below zero where the values themselves cannot."""
    written = tidy(raw)
    below = signed and written.startswith("-")
    try:
        typed = _parse_difference(written.removeprefix("-") if below else written, unit, confirmed)
    except TypedRefusal as refusal:
        raise _refused(refusal, part, unit) from refusal
    if typed.censored:
        raise BadInput(_("Type the number alone, without “<” or “>”."), part=part)
    return trim(typed.value.copy_negate() if below and typed.value else typed.value)


def _parse_difference(written: str, unit: str, confirmed: bool) -> Typed:
    quantity = UNITS[unit].quantity
    try:
        return parse(written, quantity=quantity, unit=unit, confirmed=confirmed)
    except TypedRefusal as refusal:
        if refusal.sentence.code != "typed_unlikely":  # usual for the value says nothing about a difference
            raise
        return parse(written, quantity=quantity, unit=unit, confirmed=True)


def _difference(asked: Asked, raw: str) -> str:
    if (asked.unit, raw) in asked.known.numbers:
        return raw
    signed = asked.field.entry == "difference"
    return read_difference(raw, asked.unit, asked.part, signed=signed, confirmed=asked.confirmed)


def read_span(raw: str, unit: str, part: str, *, confirmed: bool = False) -> str:
    """Read a time in `unit`; another unit may be typed with it and is taken where it comes out exactly."""
    try:
        typed = _parse_span(raw, unit, confirmed)
    except TypedRefusal as refusal:
        offers = [_with_unit(offer_document(offer), unit) for offer in refusal.offers]
        raise BadInput(str(render(refusal.sentence)), part=part, offers=offers) from refusal
    exact = convert_exactly(typed.value, typed.unit, unit)
    if exact is None or not _DOCUMENT_NUMBER.fullmatch(trim(exact)):
        words = _(
            "%(typed)s is no exact number of %(unit)s. Type it in %(unit)s, rounded to the strict side."
        )
        raise BadInput(words % {"typed": typed.echo, "unit": UNITS[unit].symbol}, part=part)
    return trim(exact)


def _parse_span(raw: str, unit: str, confirmed: bool) -> Typed:
    """Read a time in its unit, else in the unit that was typed with it."""
    first: TypedRefusal | None = None
    for own in (unit, *(other for other in QUANTITIES["duration"].units if other != unit)):
        try:
            return parse(raw, quantity="duration", unit=own, confirmed=confirmed)
        except TypedRefusal as refusal:
            if refusal.sentence.code != "typed_other_unit":
                raise
            first = first or refusal
    assert first is not None
    raise first


def _with_unit(offer: dict[str, Any], unit: str) -> dict[str, Any]:
    """Write an offer with its unit where that is not the field's, so that it is read the same way again."""
    named = any(letter.isalpha() for letter in offer["raw"])
    written = offer["raw"] if named or offer["unit"] == unit else f"{offer['raw']} {offer['unit']}"
    return {**offer, "raw": written}


def _span(asked: Asked, raw: str) -> str | int:
    known = (asked.unit, raw) in asked.known.numbers
    text = raw if known else read_span(raw, asked.unit, asked.part, confirmed=asked.confirmed)
    if not asked.field.whole:
        return text
    if Decimal(text) != int(Decimal(text)):
        raise BadInput(_("Only whole minutes here."), part=asked.part)
    return int(Decimal(text))


def _whole(asked: Asked, raw: str) -> int:
    return whole_number(raw, part=asked.part)


def _name(asked: Asked, raw: str) -> str:
    kept = asked.known.name(asked.part, raw)
    if kept is not None:
        return kept
    words = _plain_words(raw)
    code = words.replace(" ", "_")
    meant = [known for known in PARTS if _plain_words(name_words(known)) == words]
    if meant and code not in meant:
        return meant[0]
    if _NAME.fullmatch(code) and _plain_words(name_words(code)) == words:
        return code
    if not _NAME.fullmatch(code):
        message = _("Use letters a to z, digits and blanks, a letter first, at most %(most)d in all.")
        raise BadInput(message % {"most": LONGEST_NAME}, part=asked.part)
    message = _("“%(name)s” is kept for “%(other)s” here. Take another name.")
    raise BadInput(message % {"name": raw, "other": sentence_case(name_words(code))}, part=asked.part)


def _plain_words(text: str) -> str:
    return " ".join(text.casefold().replace("_", " ").replace("-", " ").split())


def _names(asked: Asked, raw: str) -> list[str]:
    codes = [_name(asked, line.strip()) for line in raw.splitlines() if line.strip()]
    if len(set(codes)) != len(codes):
        raise BadInput(_("One of them stands here twice."), part=asked.part)
    return codes


def _choice(asked: Asked, raw: str) -> str:
    if raw not in asked.field.options:
        raise BadInput(_("Choose one of those offered."), part=asked.part)
    return raw


def _event(asked: Asked, raw: str) -> str:
    if not _NAME.fullmatch(raw):
        raise BadInput(_("Choose one of the events offered."), part=asked.part)
    return raw


def _unit(asked: Asked, raw: str) -> str | None:
    if raw == PRESENCE and "" in asked.field.options:
        return None
    return _choice(asked, raw)


READ = {
    "number": _figure,
    "difference": _difference,
    "tolerance": _difference,
    "span": _span,
    "whole": _whole,
    "name": _name,
    "names": _names,
    "choice": _choice,
    "event": _event,
    "unit": _unit,
}
