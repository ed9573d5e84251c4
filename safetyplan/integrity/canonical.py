"""Canonical JSON: one value, one sequence of bytes.

RFC 8785 (JSON Canonicalization Scheme) for the restricted values a record may hold: objects with ASCII names,
text, whole numbers with ``|n| < 2**53``, true, false, null and lists. Within these limits Python's C encoder
writes exactly what RFC 8785 asks for, so nothing here formats a character or a number by hand.

Fractions are refused, even 1.0: a measured value is text ("4.20" keeps the precision it was typed with).
"""

from __future__ import annotations

import json
import re
import unicodedata
from datetime import UTC, datetime
from typing import Any, NoReturn

MAX_DEPTH = 32
INTEGER_LIMIT = 2**53

# RFC 7493 section 2.1, which RFC 8785 builds on, refuses surrogates and noncharacters; NUL does not survive
# every database.
_REFUSED = re.compile(
    "[\0\ud800-\udfff\ufdd0-\ufdef"
    + "".join(chr(plane << 16 | 0xFFFE) + chr(plane << 16 | 0xFFFF) for plane in range(17))
    + "]"
)
_INSTANT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{3}Z")
_ENCODER = json.JSONEncoder(
    ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False, check_circular=False
)


class CanonicalError(ValueError):
    """A value or its bytes are outside canonical form.

    ``problem`` says what is wrong, ``pointer`` where, as a JSON Pointer (RFC 6901); "" is the whole value.
    """

    def __init__(self, problem: str) -> None:
        super().__init__(problem)
        self.problem = problem
        self.pointer = ""

    def within(self, part: str | int) -> CanonicalError:
        """Return this error with one more step in front of its pointer."""
        step = str(part).replace("~", "~0").replace("/", "~1")
        self.pointer = f"/{step}{self.pointer}"
        return self

    def __str__(self) -> str:
        return f"{self.pointer or 'the value'}: {self.problem}"


def text_problem(text: str) -> str | None:
    """Say why ``text`` may not stand in a record, or None when it may.

    Refused: the character NUL, surrogates and noncharacters (RFC 7493 section 2.1), and text that is not in
    Unicode Normalization Form C. Bring typed text to NFC where it enters; here it is never changed.
    """
    if text.isascii():
        return "contains the character NUL" if "\0" in text else None
    found = _REFUSED.search(text)
    if found:
        return f"contains U+{ord(found.group()):04X}, which is not a character"
    return None if unicodedata.is_normalized("NFC", text) else "is not in Unicode normal form C"


def dumps(value: object) -> bytes:
    """Return the RFC 8785 bytes (UTF-8) of ``value``.

    Allowed: dict with ASCII names, str, int below 2**53 in size, bool, None, list and tuple, at most 32
    levels of dict or list. Raises CanonicalError, naming the place, for everything else.
    """
    _check(value, MAX_DEPTH)
    return _ENCODER.encode(value).encode("utf-8")


def loads(data: bytes) -> Any:
    """Return the value whose canonical bytes are exactly ``data``.

    Raises CanonicalError for bytes that are not UTF-8 or not one JSON value, for repeated names, fractions,
    NaN and infinities, more than 32 levels, and for any other spelling than the canonical one.
    """
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise CanonicalError(f"is not UTF-8 at byte {error.start}") from None
    try:
        value = json.loads(
            text, object_pairs_hook=_object, parse_float=_refuse_fraction, parse_constant=_refuse_constant
        )
    except CanonicalError:
        raise
    except RecursionError:
        raise CanonicalError(f"is nested more than {MAX_DEPTH} levels deep") from None
    except ValueError as error:
        raise CanonicalError(f"is not JSON: {error}") from None
    if dumps(value) != data:
        raise CanonicalError("is not in canonical form (RFC 8785)")
    return value


def instant(moment: datetime) -> str:
    """Return an aware datetime as RFC 3339 UTC in milliseconds, like 2026-05-14T18:00:00.000Z.

    Microseconds are cut off, never rounded: a recorded time is not later than the moment it stands for.
    Raises CanonicalError for a datetime without a zone or outside the years 1 to 9999.
    """
    if moment.utcoffset() is None:
        raise CanonicalError("a time needs its zone")
    try:
        utc = moment.astimezone(UTC)
    except OverflowError:
        raise CanonicalError("a time must lie in the years 1 to 9999") from None
    return utc.replace(tzinfo=None).isoformat(timespec="milliseconds") + "Z"


def read_instant(text: str) -> datetime:
    """Return the aware UTC datetime written by `instant`.

    Raises CanonicalError for every other spelling and for times that do not exist.
    """
    try:
        moment = datetime.fromisoformat(text) if _INSTANT.fullmatch(text) else None
    except ValueError:
        moment = None
    # Newer readers accept 24:00:00 and turn it into the next day.
    if moment is None or instant(moment) != text:
        raise CanonicalError("is not a time of the form 2026-05-14T18:00:00.000Z")
    return moment


def _check(value: object, levels: int) -> None:
    if isinstance(value, str):
        problem = text_problem(value)
        if problem:
            raise CanonicalError(problem)
    elif value is None or isinstance(value, bool):
        return
    elif isinstance(value, int):
        if not -INTEGER_LIMIT < value < INTEGER_LIMIT:
            raise CanonicalError("is a whole number of 2**53 or more in size; write it as text")
    elif isinstance(value, dict | list | tuple):
        if levels == 0:
            raise CanonicalError(f"is nested more than {MAX_DEPTH} levels deep")
        _check_members(value, levels - 1)
    elif isinstance(value, float):
        raise CanonicalError("is a fraction; write measured values as text")
    else:
        raise CanonicalError(f"is of type {type(value).__name__}, which a record cannot hold")


def _check_members(value: dict[Any, object] | list[object] | tuple[object, ...], levels: int) -> None:
    if isinstance(value, dict):
        for name in value:
            if type(name) is not str or not name.isascii() or "\0" in name:
                raise CanonicalError(f"has the name {name!a}; names are ASCII text without NUL")
    items = value.items() if isinstance(value, dict) else enumerate(value)
    for part, member in items:
        try:
            _check(member, levels)
        except CanonicalError as error:
            raise error.within(part) from None


def _object(pairs: list[tuple[str, object]]) -> dict[str, object]:
    members = dict(pairs)
    if len(members) != len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise CanonicalError(f"has the name {twice!a} twice")
    return members


def _refuse_fraction(digits: str) -> NoReturn:
    raise CanonicalError(f"has the fraction {digits[:40]}; write measured values as text")


def _refuse_constant(name: str) -> NoReturn:
    raise CanonicalError(f"has {name}, which is not JSON")
