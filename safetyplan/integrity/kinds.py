"""Record kinds: each declared once, with the encoder that turns its row into the hashed record.

Old encoders stay for ever; a guarded table only ever gains nullable columns, and those belong to a
new version of the kind.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db import models

from safetyplan.integrity import canonical
from safetyplan.integrity.models import CanonicalTextField, Recorded, Signed

Encoder = Callable[[Any], dict[str, Any]]
HEADER = ("entry", "establishment", "author", "recorded_at", "claim_text", "credential", "claim_signature")
SIGNATURE = ("signed_name", "signed_meaning", "signed_roles", "signed_method", "signed_proof")


@dataclass(frozen=True)
class Kind:
    """A kind of record: its name, version, table and encoder.

    `derived` names the columns that are computed from the others (an index for queries) and how.
    """

    name: str
    version: int
    model: type[Recorded]
    encode: Encoder
    derived: Mapping[str, Callable[[Any], Any]] = field(default_factory=dict)


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


def plain(model_field: "models.Field[Any, Any]", value: Any) -> Any:
    """Give a column's value as a value of canonical JSON."""
    if value is None or isinstance(value, bool | int):
        return value
    if isinstance(model_field, CanonicalTextField):
        return canonical.loads(value.encode())
    if isinstance(value, UUID | str):
        return str(value)
    if isinstance(value, datetime):
        if value.microsecond % 1000:
            raise canonical.CanonicalError(f"{model_field.name}: finer than a millisecond")
        return canonical.instant(value)
    if isinstance(value, date):
        return value.isoformat()
    raise canonical.CanonicalError(f"{model_field.name}: {type(value).__name__} cannot be recorded")


def columns(*names: str) -> Encoder:
    """Make an encoder of the named columns."""

    def encode(row: Recorded) -> dict[str, Any]:
        meta = row._meta
        found = {name: meta.get_field(name) for name in names}
        return {name: plain(f, getattr(row, f.attname)) for name, f in found.items()}  # type: ignore[union-attr, arg-type]

    return encode


def declare(model: type[Recorded], name: str, *names: str, derived: Mapping[str, Any] | None = None) -> Kind:
    """Declare version 1 of a kind from its columns; a signed row's signature is always included."""
    if issubclass(model, Signed):
        names = (*names, *SIGNATURE)
    return register.add(Kind(name, 1, model, columns(*names), derived or {}))
