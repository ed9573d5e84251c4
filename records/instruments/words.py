"""Instruments and their checks in words and as a curve, for pages and paper."""

from collections.abc import Sequence
from datetime import timedelta
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.instruments.measured import method_words
from records.instruments.models import EACH_DAY_OF_USE, Instrument, InstrumentCheck
from records.instruments.standing import InstrumentState, Standing
from safetyplan.calculation.rounding import decimal_text, difference
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.establishments.localtime import LocalTime
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import until
from safetyplan.printing.chart import Scene
from safetyplan.printing.curve import Words, curve_scene
from safetyplan.words import name_words, sentence_case

SHOWN, PRINTED = 100, 2000  # checks of an instrument on its page, and on its calibration record


def standing_word(standing: Standing) -> str:
    """Name where an instrument stands."""
    words = {
        Standing.UNSCHEDULED: _("No schedule"),
        Standing.IN_ORDER: _("In order"),
        Standing.DUE: _("Check due"),
        Standing.OVERDUE: _("Check overdue"),
        Standing.FAILED: _("Check failed"),
    }
    return words[standing]


def schedule_words(instrument: Instrument) -> str:
    """Say how often an instrument is checked, and how."""
    days = instrument.check_every_days
    if days is None:
        return _("no schedule")
    if days == EACH_DAY_OF_USE:
        often = _("each day of use")
    else:
        often = ngettext("every %(n)d day", "every %(n)d days", days) % {"n": days}
    how = method_words(instrument.check_method) if instrument.check_method else ""
    return f"{often}: {how}" if how else often


def by_when(state: InstrumentState) -> str:
    """Say by when an instrument has to be checked; "" without a schedule."""
    if state.standing == Standing.FAILED:
        return _("its last check failed: not to be used before it is found good")
    if state.due_on is None:
        return ""
    if state.instrument.check_every_days == EACH_DAY_OF_USE:
        return (
            _("checked today") if state.standing == Standing.IN_ORDER else _("before its first reading today")
        )
    told = {"day": state.due_on.isoformat()}
    if state.standing == Standing.OVERDUE:
        return _("was to be checked by %(day)s") % told
    return _("to be checked by %(day)s") % told


def facts(instrument: Instrument) -> list[tuple[str, str]]:
    """Give what the register says of an instrument."""
    unit = UNITS[instrument.unit].symbol if instrument.unit else ""
    span = " – ".join(text for text in (instrument.range_low, instrument.range_high) if text)
    reference = instrument.reference
    certificate = instrument.certificate or ""
    if instrument.certificate_until:
        until = _("valid until %(day)s") % {"day": instrument.certificate_until.isoformat()}
        certificate = f"{certificate}, {until}" if certificate else until
    criterion = sentence_case(name_words(instrument.criterion)) if instrument.criterion else ""
    rows = [
        (_("Measures"), sentence_case(name_words(instrument.quantity))),
        (_("Tolerance"), f"± {instrument.tolerance_text}" if instrument.tolerance_text else ""),
        (_("Criterion for the electrode"), criterion),
        (_("Schedule"), schedule_words(instrument)),
        (_("Its reference"), f"{reference.code} {reference.name}" if reference else ""),
        (_("Certificate"), certificate),
        (_("Maker and model"), instrument.maker or ""),
        (_("Serial number"), instrument.serial or ""),
        (_("Where it is kept"), instrument.place or ""),
        (_("Range"), f"{span} {unit}".strip() if span else ""),
        (_("Smallest step it shows"), f"{instrument.resolution} {unit}" if instrument.resolution else ""),
    ]
    return [(name, text) for name, text in rows if text]


def error_words(text: str, unit: str) -> str:
    """Write an error with its sign and unit; a dash where none is known."""
    if not text:
        return "–"
    value = Decimal(text)
    places = min(2, len(text.partition(".")[2]))
    written = decimal_text(value, places)
    return difference(written if value <= 0 else f"+{written}", unit)


def history(
    establishment: Establishment, keys: Sequence[Any], as_of: int | None = None, most: int = SHOWN
) -> tuple[list[InstrumentCheck], int]:
    """Give the newest checks of an instrument, those that were corrected too, and how many older there are.

    The newest come first; most: how many are given.
    """
    rows = until(InstrumentCheck.objects.of(establishment), as_of).filter(instrument__in=list(keys))
    related = rows.select_related("instrument", "reference", "entry")
    found = list(related.order_by("-checked_at", "-entry__sequence")[:most])
    return found, rows.count() - len(found) if len(found) == most else 0


def standing_checks(found: Sequence[InstrumentCheck]) -> list[InstrumentCheck]:
    """Keep the checks that were not corrected, in the order of time."""
    replaced = {check.supersedes_id for check in found}
    return [check for check in reversed(found) if check.pk not in replaced]


def drift_scene(instrument: Instrument, found: Sequence[InstrumentCheck], clock: LocalTime) -> Scene | None:
    """Draw the errors as found over time, against the tolerance; None below two of them."""
    known = [check for check in standing_checks(found) if check.error_text and check.unit == instrument.unit]
    if len(known) < 2 or not instrument.unit:
        return None
    first = known[0].checked_at
    points = [((c.checked_at - first) / timedelta(days=1), float(Decimal(c.error_text))) for c in known]
    same = instrument.tolerance_unit == instrument.unit and instrument.tolerance_value
    most = float(Decimal(instrument.tolerance_value)) if same and instrument.tolerance_value else None
    words = Words(
        x_label=_("days since %(day)s") % {"day": f"{clock.local(first):%Y-%m-%d}"},
        y_label=UNITS[instrument.unit].symbol,
        trace=_("error as found"),
        limit="",
        target=_("tolerance"),
        nothing=_("no checks yet"),
    )
    edges = [[(0.0, most)], [(0.0, -most)]] if most is not None else [[]]
    return curve_scene(points, [], edges[0], words, more_target_steps=edges[1:])
