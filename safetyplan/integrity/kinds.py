"""Record kinds: each declared once, with the encoder that turns its row into the hashed record.

Old encoders stay for ever; a guarded table only ever gains nullable columns, and those belong to a
new version of the kind.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cached_property
from json.encoder import encode_basestring
from typing import Any
from uuid import UUID

from safetyplan.integrity import canonical
from safetyplan.integrity.models import CanonicalTextField, Recorded, Signed

Encoder = Callable[[Any], str]
HEADER = ("entry", "establishment", "author", "recorded_at", "claim_text", "credential", "claim_signature")
SIGNATURE = ("signed_name", "signed_meaning", "signed_roles", "signed_method", "signed_proof")


@dataclass(frozen=True)
class Kind:
    """A kind of record: its name, version, table and encoder (row to the JSON text of the record).

    `derived` names the columns that are computed from the others (an index for queries) and how.
    `columns` names what the encoder writes: a column that came with a later version is empty in its rows.
    """

    name: str
    version: int
    model: type[Recorded]
    encode: Encoder
    derived: Mapping[str, Callable[[Any], Any]] = field(default_factory=dict)
    columns: tuple[str, ...] = ()

    @cached_property
    def later(self) -> tuple[str, ...]:
        """Give the columns of the table that rows of this version do not have."""
        known = {*HEADER, *self.columns, *self.derived}
        return tuple(f.attname for f in self.model._meta.concrete_fields if f.name not in known)


class Register:
    """The list of declared kinds; AppConfigs fill it."""

    def __init__(self) -> None:
        self._kinds: dict[tuple[str, int], Kind] = {}

    def add(self, kind: Kind) -> Kind:
        """Declare a kind; a second declaration of the same name and version is a mistake."""
        key = (kind.name, kind.version)
        if key in self._kinds and self._kinds[key] is not kind:
            raise ValueError(f"kind {key} is declared twice")
        self._kinds[key] = kind
        return kind

    def get(self, name: str, version: int) -> Kind | None:
        """Find a kind by name and version."""
        return self._kinds.get((name, version))

    def all(self) -> list[Kind]:
        """Give every declared kind, in order of name."""
        return [self._kinds[key] for key in sorted(self._kinds)]

    def models(self) -> list[type[Recorded]]:
        """Give each table of the declared kinds once."""
        return list(dict.fromkeys(kind.model for kind in self.all()))


register = Register()


def _instant(value: datetime) -> str:
    if value.microsecond % 1000:
        raise canonical.CanonicalError("a time is finer than a millisecond")
    return f'"{canonical.instant(value)}"'


WRITERS: dict[type, Callable[[Any], str]] = {
    type(None): lambda value: "null",
    bool: lambda value: "true" if value else "false",
    int: str,
    str: encode_basestring,
    UUID: lambda value: f'"{value}"',
    datetime: _instant,
    date: lambda value: f'"{value.isoformat()}"',
}


def json_text(value: Any) -> str:
    """Write a column's value as canonical JSON; the caller checks the whole for what it may not hold."""
    write = WRITERS.get(type(value)) or (encode_basestring if isinstance(value, str) else None)
    if write is None:
        raise canonical.CanonicalError(f"a {type(value).__name__} cannot be recorded")
    return write(value)


def columns(model: type[Recorded], *names: str) -> Encoder:
    """Make an encoder of the named columns.

    It writes text, not an object: verification composes every record again, and what is canonical
    JSON already (a nested list) goes in as it is stored, so that any change to it shows.
    """
    found = [(name, model._meta.get_field(name)) for name in sorted(names)]
    parts = [(f'"{name}":', f.attname, isinstance(f, CanonicalTextField)) for name, f in found]  # type: ignore[union-attr]

    def encode(row: Recorded) -> str:
        texts = []
        for label, attribute, nested in parts:
            value = getattr(row, attribute)
            if type(value) is str:
                texts.append(label + (value if nested else encode_basestring(value)))
            else:
                texts.append(label + json_text(value))
        return "{" + ",".join(texts) + "}"

    return encode


def declare(
    model: type[Recorded],
    name: str,
    *names: str,
    derived: Mapping[str, Any] | None = None,
    version: int = 1,
) -> Kind:
    """Declare a version of a kind from its columns; a signed row's signature is always included."""
    if issubclass(model, Signed):
        names = (*names, *SIGNATURE)
    return register.add(Kind(name, version, model, columns(model, *names), derived or {}, names))
