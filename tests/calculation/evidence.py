"""Short ways to write evidence in tests: a lot whose starter went in at 06:00 UTC."""

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from safetyplan.calculation.judgement import Evidence, Measured

START = datetime(2026, 5, 14, 6, 0, tzinfo=UTC)
EVENTS = {"starter_added": START}


def after(hours: str | Decimal = "0", *, seconds: int = 0) -> datetime:
    """The instant so many hours and seconds after the starter."""
    return START + timedelta(microseconds=int(Decimal(hours) * 3_600_000_000), seconds=seconds)


def number(
    name: str,
    value: str,
    unit: str,
    at: datetime | None = START,
    *,
    valid: bool = True,
    mark: str | None = None,
) -> Measured:
    """A measured number."""
    return Measured(name, Decimal(value), unit, at, text=mark, instrument_valid=valid)


def chosen(name: str, text: str, *, valid: bool = True) -> Measured:
    """A choice or a written reference."""
    return Measured(name, None, "", START, text=text, instrument_valid=valid)


def time(name: str, at: datetime | None) -> Measured:
    """A time of the process."""
    return Measured(name, None, "", at)


def ph(value: str, hours: str | Decimal, *, seconds: int = 0, valid: bool = True) -> Measured:
    """A pH measured so many hours after the starter."""
    return number("ph", value, "pH", after(hours, seconds=seconds), valid=valid)


def evidence(
    *measured: Measured,
    now: datetime | None = None,
    events: Mapping[str, datetime] | None = None,
    ordinal: int = 0,
) -> Evidence:
    """Evidence for one due point; by default two days after the starter, when every deadline has passed."""
    return Evidence(measured, EVENTS if events is None else events, now or after("48"), ordinal)
