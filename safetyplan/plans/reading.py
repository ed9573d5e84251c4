"""Reading of a plan's JSON value by value: the first that cannot be taken is named by its path. Pure."""

import re
from collections.abc import Mapping
from typing import Any

MOST_MINUTES = 1_000_000
DAY = re.compile(r"[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])")


class DocumentError(ValueError):
    """The document cannot be read; `where` is the path of the first bad value."""

    def __init__(self, where: str, message: str) -> None:
        super().__init__(f"{where}: {message}")
        self.where = where
        self.message = message


def get(data: Any, key: str, kind: type, where: str, default: Any = None) -> Any:
    """Give a value of a kind; a key left out is a fault unless a default is given."""
    if not isinstance(data, Mapping):
        raise DocumentError(where, "must be an object")
    if key not in data:
        if default is not None:
            return default
        raise DocumentError(f"{where}.{key}", "is missing")
    value = data[key]
    if not isinstance(value, kind) or (kind is int and isinstance(value, bool)):
        raise DocumentError(f"{where}.{key}", f"must be {kind.__name__}")
    return value


def text(data: Any, key: str, where: str) -> str:
    """Give a text, empty when it is left out."""
    found: str = get(data, key, str, where, default="")
    return found


def texts(data: Any, key: str, where: str) -> tuple[str, ...]:
    """Give a list of texts, empty when it is left out."""
    values = get(data, key, list, where, default=[])
    if not all(isinstance(value, str) for value in values):
        raise DocumentError(f"{where}.{key}", "must be a list of texts")
    return tuple(values)


def flag(data: Any, key: str, where: str) -> bool:
    """Give true or false; false when it is left out."""
    return key in data and bool(get(data, key, bool, where))


def one_of(data: Any, key: str, options: tuple[str, ...], where: str) -> str:
    """Give a text that is one of some, or empty when it is left out."""
    found = text(data, key, where)
    if found and found not in options:
        raise DocumentError(f"{where}.{key}", f"must be one of {', '.join(options)}")
    return found


def day(data: Any, key: str, where: str) -> str:
    """Give a date as text YYYY-MM-DD, or empty when it is left out."""
    found = text(data, key, where)
    if found and not DAY.fullmatch(found):
        raise DocumentError(f"{where}.{key}", "must be a date like 2026-05-14, or empty")
    return found


def objects(data: Any, key: str, where: str = "") -> list[tuple[Any, str]]:
    """Give the objects of a list that may be left out, each with its path."""
    found = get(data, key, list, where or "plan", default=[])
    path = f"{where}.{key}" if where else key
    return [(item, f"{path}[{i}]") for i, item in enumerate(found)]


def unique(codes: list[str], where: str) -> None:
    """Refuse a code that is used twice."""
    double = {code for code in codes if codes.count(code) > 1}
    if double:
        raise DocumentError(where, f"the code {sorted(double)[0]} is used twice")


def only(data: Any, keys: str, where: str) -> None:
    """Refuse a key that a document of this kind does not have; `keys` are separated by blanks."""
    if not isinstance(data, Mapping):
        raise DocumentError(where, "must be an object")
    strange = sorted(set(map(str, data)) - set(keys.split()))
    if strange:
        raise DocumentError(f"{where}.{strange[0][:60]}", "is not known here")


def minutes(data: Any, key: str, where: str, default: int) -> int:
    """Give a whole number of minutes, not below zero."""
    found: int = get(data, key, int, where, default=default)
    if not 0 <= found <= MOST_MINUTES:
        raise DocumentError(f"{where}.{key}", "must be a number of minutes, not below zero")
    return found
