"""What people do with instruments in these tests."""

from datetime import datetime
from typing import Any

from records.instruments.checking import CheckContent, record_instrument_check
from records.instruments.measured import Readings
from records.instruments.models import Instrument, InstrumentCheck
from records.instruments.services import About, register_instrument
from tests.builders import T0, at
from tests.cast import Cast


def a_probe(
    cast: Cast, code: str = "T1", *, tolerance: str = "0.5", since: datetime = T0, **about: Any
) -> Instrument:
    """Register a probe thermometer in °C."""
    with at(cast.dairy, since):
        return register_instrument(
            establishment=cast.dairy,
            by=cast.maker,
            code=code,
            name=f"Probe {code}",
            quantity="temperature",
            tolerance=tolerance,
            about=About(**about),
        )


def a_meter(cast: Cast, *, tolerance: str = "0.05", **about: Any) -> Instrument:
    """Register a pH meter."""
    with at(cast.dairy, T0):
        return register_instrument(
            establishment=cast.dairy,
            by=cast.maker,
            code="P1",
            name="pH meter",
            quantity="ph",
            tolerance=tolerance,
            about=About(**about),
        )


def some_scales(cast: Cast, *, tolerance: str = "5 g", unit: str = "g") -> Instrument:
    """Register scales."""
    with at(cast.dairy, T0):
        return register_instrument(
            establishment=cast.dairy,
            by=cast.maker,
            code="S1",
            name="Bench scales",
            quantity="mass",
            tolerance=tolerance,
            about=About(unit=unit),
        )


def pairs(*found: tuple[str, str]) -> Readings:
    """Give readings beside a reference or under weights: what was true, what was shown."""
    return Readings([{"true": true, "shown": shown} for true, shown in found])


def shown(text: str) -> Readings:
    """Give one reading."""
    return Readings([{"shown": text}])


def checked(
    cast: Cast,
    instrument: Instrument,
    moment: datetime,
    found: Readings | str = "0.1",
    method: str = "ice_point",
    **more: Any,
) -> InstrumentCheck:
    """Record a check of an instrument, made just now; at the ice point unless another method is given."""
    readings = shown(found) if isinstance(found, str) else found
    content = CheckContent(method, moment, readings, **more)
    with at(cast.dairy, moment):
        return record_instrument_check(
            establishment=cast.dairy, by=cast.maker, instrument=instrument, content=content
        )
