"""The clock of an establishment: the server's, unless a demonstration has set its own."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, datetime
from uuid import UUID

from safetyplan.establishments.models import Establishment
from safetyplan.integrity.refusals import Refused

_set_clock: ContextVar[tuple[UUID, datetime] | None] = ContextVar("demonstration_clock", default=None)


def whole_milliseconds(at: datetime) -> datetime:
    """Cut an instant to the millisecond, the precision of every record."""
    return at.astimezone(UTC).replace(microsecond=at.microsecond // 1000 * 1000)


def now(establishment: Establishment) -> datetime:
    """Give the present instant for an establishment, in whole milliseconds UTC."""
    chosen = _set_clock.get()
    if chosen is not None and chosen[0] == establishment.id:
        return whole_milliseconds(chosen[1])
    return whole_milliseconds(datetime.now(UTC))


@contextmanager
def demonstration_clock(establishment: Establishment, at: datetime) -> Iterator[None]:
    """Set the clock of an invented demonstration; refused for a real establishment."""
    if not establishment.demonstration:
        raise Refused("Only an invented demonstration may set the clock.")
    token = _set_clock.set((establishment.id, at))
    try:
        yield
    finally:
        _set_clock.reset(token)
