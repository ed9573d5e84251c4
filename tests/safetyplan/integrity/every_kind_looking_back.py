"""The part of the story of every kind in which a probe turns out to have been wrong."""

from records.batches.models import Lot
from records.checks.instrument_checks import record_check
from records.checks.services import ReadingContent, record_reading
from records.instruments.checking import CheckContent
from records.instruments.measured import Readings
from records.instruments.services import register_instrument
from tests.builders import at, hours, lot_slot
from tests.cast import Cast


def find_a_probe_wrong(cast: Cast, lot: Lot) -> None:
    """Read a lot's milk by a probe, and find an hour later that it shows too much."""
    about = {"establishment": cast.dairy, "by": cast.maker}
    with at(cast.dairy, hours(109)):
        probe = register_instrument(
            code="T9", name="Spare probe", quantity="temperature", tolerance="0.5", **about
        )
        part = {"name": "temperature", "raw": "3.8", "unit": "degC", "confirmed": False}
        slot = lot_slot(lot, "OPRP3", "extra")
        content = ReadingContent(slot, hours(109), [part], instrument=probe.pk)
        record_reading(content=content, **about)
    with at(cast.dairy, hours(110)):
        shown = CheckContent("ice_point", hours(110), Readings([{"shown": "1.8"}]))
        record_check(instrument=probe, content=shown, **about)
