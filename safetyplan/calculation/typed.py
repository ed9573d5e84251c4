"""The one parser of values typed by a person: it accepts, asks, or refuses; it never guesses.

Grammar, after trimming spaces (also no-break spaces) and reading U+2212 as a minus:

    [<>] [+-] digits [ (. or ,) digits ] [unit]

Only the digits 0 to 9; comma or point is the decimal mark, whatever the language; no thousands marks, no
exponent. A text is accepted (Typed), or refused with a grade: "R" means type it differently or choose an
offer, "C" means it is taken as typed once a person confirms it.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

from safetyplan.calculation import rounding
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.unit_tables import QUANTITIES, UNITS, Quantity
from safetyplan.calculation.units import UnitError, convert

Grade = Literal["C", "R"]
Censored = Literal["", "<", ">"]

LONGEST_TEXT = 60
SPACES = dict.fromkeys(map(ord, "\u00a0\u2007\u202f\u2009"), " ")
_NUMBER = re.compile(r"([<>]?)\s*([+-]?)([0-9]+)(?:([.,])([0-9]+))?\s*(.*)", re.DOTALL)
_CLOCK = re.compile(r"([0-9]{1,3}):([0-5][0-9])")
_EXPONENT = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?e[+-]?[0-9]+", re.IGNORECASE)
_MARKS = re.compile(r"[+-]?[0-9., ']*[0-9][0-9., ']*")
_WORDS_FIRST = re.compile(r"[^\W\d_]{2,}[^0-9]*[0-9].*", re.DOTALL)


@dataclass(frozen=True)
class Offer:
    """A choice put to the person: `raw` typed into a field of `unit` with `confirmed` gives this choice.

    value: the number it stands for, in `unit` (None for a time of day). typed: what the person had typed.
    fold: for a time of day that happened twice, 0 the first and 1 the second.
    """

    raw: str
    unit: str
    confirmed: bool
    label: Sentence
    typed: str
    value: Decimal | None = None
    fold: int | None = None


class TypedRefusal(ValueError):
    """What was typed is not taken as it stands: why, the offers, and whether confirming is enough."""

    def __init__(self, sentence: Sentence, offers: Iterable[Offer] = (), grade: Grade = "R") -> None:
        super().__init__(sentence.code)
        self.sentence = sentence
        self.offers = tuple(offers)
        self.grade: Grade = grade


@dataclass(frozen=True)
class Typed:
    """An accepted value: the number with its typed precision, its unit, the raw text, and the echo to show.

    censored: "<" or ">" when the true count is only known to lie below or above the number.
    """

    value: Decimal
    unit: str
    raw: str
    censored: Censored
    echo: str


@dataclass(frozen=True)
class _Entry:
    raw: str
    kind: Quantity
    unit: str
    confirmed: bool
    mark: str = ""
    sign: str = ""
    whole: str = ""
    point: str = ""
    fraction: str = ""
    rest: str = ""

    @property
    def value(self) -> Decimal:
        number = Decimal(f"{self.whole}.{self.fraction}" if self.fraction else self.whole)
        return number.copy_negate() if self.sign == "-" and not number.is_zero() else number


def parse(text: str, *, quantity: str, unit: str, confirmed: bool = False) -> Typed:
    """Read one value typed into a field of `quantity` shown in `unit`.

    Returns the number in that unit with its typed precision; more than three decimals are rounded half up to
    three once confirmed. Raises TypedRefusal for every other text, ValueError when the field itself is
    declared wrongly.
    """
    kind = QUANTITIES.get(quantity)
    if kind is None or unit not in kind.units:
        raise ValueError(f"no field of {quantity!r} in {unit!r}")
    entry = _split(_Entry(text, kind, unit, confirmed))
    for check in (
        _check_unit,
        _check_mark,
        _check_length,
        _check_sign,
        _check_thousands,
        _check_whole,
        _check_range,
    ):
        check(entry)
    if not confirmed:
        _check_decimals(entry)
        _check_plausible(entry)
    return _accepted(entry)


def parse_duration(text: str, *, unit: str = "min", confirmed: bool = False) -> Typed:
    """Read a duration, in minutes unless said otherwise. "1:30" is asked about: 1 h 30 min, or 1 min 30 s?"""
    return parse(text, quantity="duration", unit=unit, confirmed=confirmed)


def tidy(text: str) -> str:
    """Without the blanks around it, no-break spaces as spaces, U+2212 as a minus."""
    return text.translate(SPACES).strip().replace("\u2212", "-")


def quotable(text: str) -> str:
    """A short piece of typed text fit to stand in a message: invisible and broken characters become "?"."""
    return "".join(letter if letter.isprintable() else "?" for letter in text[:20])


def _accepted(entry: _Entry) -> Typed:
    value = rounding.to_typed_precision(entry.value)
    mark: Censored = "<" if entry.mark == "<" else ">" if entry.mark == ">" else ""
    echo = mark + rounding.amount(rounding.trim(value), entry.unit)
    return Typed(value, entry.unit, entry.raw, mark, echo)


def _split(entry: _Entry) -> _Entry:
    written = tidy(entry.raw)
    if not written:
        raise TypedRefusal(say("typed_empty"))
    if len(written) > LONGEST_TEXT:
        raise TypedRefusal(say("typed_too_long", digits=str(entry.kind.digits)))
    symbol = UNITS[entry.unit].symbol
    if UNITS[entry.unit].before and written[: len(symbol)].casefold() == symbol.casefold():
        written = written[len(symbol) :].strip()
    if entry.kind.name == "duration" and (clock := _CLOCK.fullmatch(written)):
        raise _clock_question(entry, int(clock[1]), int(clock[2]))
    found = _NUMBER.fullmatch(written)
    if not found:
        raise TypedRefusal(_why_not(written))
    mark, sign, whole, point, fraction, rest = (group or "" for group in found.groups())
    entry = replace(entry, mark=mark, sign=sign, whole=whole, point=point, fraction=fraction, rest=rest)
    if rest and not _units_named(rest) and not _is_degree_sign(entry):
        raise TypedRefusal(_unknown_unit(rest) if _looks_like_unit(rest) else _why_not(written))
    return entry


def _why_not(written: str) -> Sentence:
    """The most helpful reason why a text is no number."""
    if written.casefold().strip("+-") in {"nan", "inf", "infinity"}:
        return say("typed_not_a_number")
    if _EXPONENT.fullmatch(written):
        return say("typed_exponent")
    if _MARKS.fullmatch(written):
        return say("typed_marks")
    if _WORDS_FIRST.fullmatch(written):
        return say("typed_number_only")
    return say("typed_digits")


def _units_named(word: str) -> tuple[str, ...]:
    folded = " ".join(word.casefold().split())
    return tuple(
        code for code, unit in UNITS.items() if folded in unit.words or folded == unit.symbol.casefold()
    )


def _is_degree_sign(entry: _Entry) -> bool:
    return entry.rest == "°" and UNITS[entry.unit].symbol.startswith("°")


def _looks_like_unit(rest: str) -> bool:
    return all(letter.isalpha() or letter in "°%/ " for letter in rest)


def _unknown_unit(rest: str) -> Sentence:
    return say("typed_unknown_unit", typed=quotable(rest))


def _check_unit(entry: _Entry) -> None:
    named = _units_named(entry.rest) if entry.rest else ()
    if entry.unit in named or not named:
        return
    asked = UNITS[entry.unit].symbol or entry.unit
    same = [code for code in named if code in entry.kind.units]
    if not same:
        raise TypedRefusal(say("typed_wrong_quantity", typed=quotable(entry.rest), unit=asked))
    offers = [offer for code in same for offer in _offer_converted(entry, code)]
    raise TypedRefusal(say("typed_other_unit", typed=quotable(entry.rest), unit=asked), offers)


def _offer_converted(entry: _Entry, unit: str) -> list[Offer]:
    """The same text read in another unit, labelled with what that is in the unit asked for."""
    try:
        typed = parse(entry.raw, quantity=entry.kind.name, unit=unit)
        number = rounding.shown(convert(typed.value, unit, entry.unit), entry.kind.name, entry.unit)
    except (TypedRefusal, UnitError):
        return []
    label = say(
        "offer_converted", typed=typed.echo, shown=typed.censored + rounding.amount(number, entry.unit)
    )
    return [Offer(entry.raw, unit, False, label, entry.raw, typed.value)]


def _offer_number(entry: _Entry, raw: str, *, confirmed: bool = False) -> Offer:
    value = Decimal(raw)
    label = say("offer_number", shown=entry.mark + rounding.amount(raw, entry.unit))
    return Offer(entry.mark + raw, entry.unit, confirmed, label, entry.raw, value)


def _clock_question(entry: _Entry, first: int, second: int) -> TypedRefusal:
    """ "1:30" is 1 h 30 min or 1 min 30 s: both are offered, in units that hold them exactly."""
    offers = []
    for unit in ("min", "s"):
        number = str(first * 60 + second)
        shown = rounding.shown(convert(Decimal(number), unit, entry.unit), "duration", entry.unit)
        typed, converted = rounding.amount(number, unit), rounding.amount(shown, entry.unit)
        label = say("offer_converted", typed=typed, shown=converted)
        offers.append(Offer(number, unit, False, label, entry.raw, Decimal(number)))
    return TypedRefusal(say("typed_clock", typed=f"{first}:{second:02}"), offers)


def _check_mark(entry: _Entry) -> None:
    if entry.mark and not entry.kind.censored:
        raise TypedRefusal(say("typed_censored", mark=entry.mark))


def _check_length(entry: _Entry) -> None:
    if len(entry.whole) > entry.kind.digits:
        raise TypedRefusal(say("typed_too_long", digits=str(entry.kind.digits)))


def _check_sign(entry: _Entry) -> None:
    if entry.value < 0 and not entry.kind.negative:
        raise TypedRefusal(say("typed_negative", quantity=entry.kind.name))


def _check_thousands(entry: _Entry) -> None:
    """Ask whether three digits after a mark are decimals or thousands, where both are possible."""
    if len(entry.fraction) != 3 or entry.whole.startswith("0") or len(entry.whole) > 3:
        return
    joined = entry.whole + entry.fraction
    if not _possible(entry, Decimal(entry.sign + joined)) or len(joined) > entry.kind.digits:
        return
    if entry.confirmed and entry.point == "." and not entry.kind.whole:
        return
    offers = [_offer_number(entry, entry.sign + joined)]
    if not entry.kind.whole:
        offers.insert(0, _offer_decimals(entry))
    raise TypedRefusal(
        say("typed_thousands", typed=f"{entry.sign}{entry.whole}{entry.point}{entry.fraction}"), offers
    )


def _offer_decimals(entry: _Entry) -> Offer:
    """The reading with decimals, written so that it asks no more: 1.1 for 1,100, or 1.234 confirmed."""
    fraction = entry.fraction.rstrip("0") or "0"
    return _offer_number(entry, f"{entry.sign}{entry.whole}.{fraction}", confirmed=len(fraction) == 3)


def _check_whole(entry: _Entry) -> None:
    if entry.kind.whole and entry.fraction:
        raise TypedRefusal(say("typed_whole", quantity=entry.kind.name))


def _possible(entry: _Entry, value: Decimal) -> bool:
    low, high = entry.kind.physical[entry.unit]
    return low <= value <= high


def _plausible(kind: Quantity, unit: str, value: Decimal) -> bool:
    low, high = kind.plausible[unit]
    return low <= value <= high


def _check_range(entry: _Entry) -> None:
    if _possible(entry, rounding.to_typed_precision(entry.value)):
        return
    low, high = (rounding.amount(rounding.trim(end), entry.unit) for end in entry.kind.physical[entry.unit])
    sentence = say("typed_impossible", quantity=entry.kind.name, low=low, high=high)
    raise TypedRefusal(sentence, _missing_point(entry))


def _missing_point(entry: _Entry) -> list[Offer]:
    """A pH typed without its decimal mark: 70 may be 7.0, 465 may be 4.65."""
    if entry.kind.name != "ph" or entry.fraction or entry.sign:
        return []
    for places in (1, 2):
        value = Decimal(entry.whole).scaleb(-places)
        if _plausible(entry.kind, entry.unit, value):
            return [_offer_number(entry, rounding.trim(value))]
    return []


def _as_typed(entry: _Entry) -> Offer:
    typed = _accepted(entry)
    return Offer(entry.raw, entry.unit, True, say("offer_as_typed", shown=typed.echo), entry.raw, typed.value)


def _check_decimals(entry: _Entry) -> None:
    if len(entry.fraction) > rounding.TYPED_DECIMALS:
        sentence = say("typed_decimals", most=str(rounding.TYPED_DECIMALS))
        raise TypedRefusal(sentence, [_as_typed(entry)], grade="C")


def _check_plausible(entry: _Entry) -> None:
    if _plausible(entry.kind, entry.unit, entry.value):
        return
    others = [] if entry.rest else [unit for unit in entry.kind.units if unit != entry.unit]
    offers = [
        offer
        for unit in others
        if _plausible(entry.kind, unit, entry.value)
        for offer in _offer_converted(entry, unit)
    ]
    shown = rounding.amount(rounding.trim(entry.value), entry.unit)
    raise TypedRefusal(say("typed_unlikely", shown=shown), [*offers, _as_typed(entry)], grade="C")
