"""The record kind of instruments."""

from records.instruments.models import Instrument
from safetyplan.integrity.kinds import declare

INSTRUMENT = declare(
    Instrument, "instrument", "code", "name", "quantity", "tolerance_text", "retired", "supersedes"
)
