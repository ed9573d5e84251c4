"""Corrections: a prerequisite check outside its limit, what was done at once, and the measurement after it.

A critical or operational control opens a deviation instead; so does a prerequisite check of a lot, because
product is touched. A correction stays open until it says what was done and a later reading of the same
check is within the limit, or the record says why none could be taken.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from records.checks.due import GOOD
from records.checks.kinds import CORRECTION_MADE
from records.checks.models import CorrectionMade, Reading
from records.checks.places import points_of
from records.checks.slots import parse_slot
from safetyplan.calculation.judgement import State
from safetyplan.establishments.access import WRITERS, require_role
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.queries import latest, replaced, until
from safetyplan.integrity import clock, index, ledger
from safetyplan.integrity.index import Item
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.models import OpenItem
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import check_observed, clean, reason

OPEN_CORRECTION = "correction"
PREREQUISITE = "prp"


@dataclass
class CorrectionState:
    """A prerequisite reading outside its limit, what was done, and the readings within it since."""

    reading: Reading
    made: list[CorrectionMade] = field(default_factory=list)
    good_since: list[Reading] = field(default_factory=list)

    @property
    def answered(self) -> bool:
        """Tell whether it is said what was done, and shown or explained that it is right again."""
        return bool(self.made) and (bool(self.good_since) or any(row.no_recheck for row in self.made))


def corrects(rank: str, lot: object) -> bool:
    """Tell whether a check outside its limit asks for a correction rather than a deviation."""
    return rank == PREREQUISITE and lot is None


def wanted(reading: Reading) -> bool:
    """Tell whether a reading asks for a correction."""
    return corrects(reading.rank, reading.lot_id) and reading.state == State.OUTSIDE_LIMIT


def states_of(
    establishment: Establishment, readings: Sequence[Reading], as_of: int | None = None
) -> list[CorrectionState]:
    """Give what was done about some readings outside their limit, in a constant number of queries."""
    if not readings:
        return []
    found = {reading.pk: CorrectionState(reading) for reading in readings}
    rows = until(CorrectionMade.objects.of(establishment), as_of).filter(reading__in=list(found))
    for row in rows.select_related("author").order_by("entry__sequence"):
        found[row.reading_id].made.append(row)
    first = min(reading.observed_at for reading in readings)
    good = latest(Reading.objects.of(establishment), as_of).filter(
        control__in={reading.control for reading in readings},
        observed_at__gt=first,
        lot=None,
        voided=False,
        state__in=[str(state) for state in GOOD],
    )
    since = list(good.order_by("observed_at", "entry__sequence"))
    points = points_of(establishment, [*readings, *since])
    for later in since:
        for state in found.values():
            if _measures_again(later, state.reading) and points[later.pk] == points[state.reading.pk]:
                state.good_since.append(later)
    return list(found.values())


def _measures_again(later: Reading, bad: Reading) -> bool:
    """Tell whether a later reading is of the same check and the same thing."""
    if later.control != bad.control or later.observed_at <= bad.observed_at:
        return False
    one, other = parse_slot(bad.slot), parse_slot(later.slot)
    return (one.load, one.thing) == (other.load, other.thing)


def open_readings(establishment: Establishment) -> list[Reading]:
    """Give the readings that still wait for a correction, the newest first."""
    items = OpenItem.objects.of(establishment).filter(what=OPEN_CORRECTION)
    # The keys first, and sorted here: in one query SQLite walks every reading of the establishment in order.
    keys = list(items.values_list("subject", flat=True))
    rows: Any = Reading.objects.of(establishment).filter(pk__in=keys)
    found: list[Reading] = list(rows.select_related("plan_version", "author"))
    return sorted(found, key=lambda reading: reading.observed_at, reverse=True)


def settle(establishment: Establishment, reading: Reading | None = None) -> None:
    """Bring the list of open corrections up to date with what was just recorded."""
    listed = open_readings(establishment)
    if reading is not None and wanted(reading):
        listed.append(reading)
    open_now = _still_open(establishment, listed)
    for row in listed:
        if row.pk in open_now:
            index.add(establishment, OPEN_CORRECTION, row.pk, None)
        else:
            index.close(establishment, OPEN_CORRECTION, row.pk)


def _still_open(establishment: Establishment, readings: Iterable[Reading]) -> set[UUID]:
    listed = list(readings)
    gone = Reading.objects.of(establishment).filter(supersedes__in=[row.pk for row in listed])
    replaced = set(gone.values_list("supersedes", flat=True))
    standing = [row for row in listed if row.pk not in replaced]
    return {state.reading.pk for state in states_of(establishment, standing) if not state.answered}


def build(establishment: Establishment) -> set[Item]:
    """Give what the records say is open: prerequisite readings that wait for a correction."""
    rows: Any = latest(Reading.objects.of(establishment)).filter(
        rank=PREREQUISITE, lot=None, state=str(State.OUTSIDE_LIMIT), voided=False
    )
    found = _still_open(establishment, rows.select_related("plan_version"))
    return {(OPEN_CORRECTION, pk, None) for pk in found}


def make_correction(
    *,
    establishment: Establishment,
    by: Person,
    reading: Reading,
    text: str,
    action_code: str = "",
    done_at: datetime | None = None,
    no_recheck: str = "",
    claim: Claim | None = None,
) -> CorrectionMade:
    """Record what was done after a prerequisite check outside its limit."""
    require_role(establishment, by, *WRITERS)
    with transaction.atomic():
        ledger.lock(establishment)
        if not wanted(reading):
            raise Refused(_("This reading does not ask for a correction."))
        if replaced(reading):
            raise Refused(_("This reading was corrected since. Look at the newest one."))
        at = done_at or clock.now(establishment)
        if at < reading.observed_at:
            raise BadInput(_("This is before the reading."), part="done_at")
        check_observed(establishment, at, None, 24 * 60, text, part="done_at")
        row = CorrectionMade(
            reading=reading,
            action_code=clean(action_code, most=30),
            text=reason(text, part="text", most=1000),
            done_at=at,
            no_recheck=reason(no_recheck, part="no_recheck") if no_recheck.strip() else "",
        )
        ledger.append(kind=CORRECTION_MADE, row=row, establishment=establishment, author=by, claim=claim)
        settle(establishment)
    return row
