"""Look-back: which readings an instrument's failed check makes not valid, and what they would have been.

Rule: a failed check reaches back to the last good one, and on to the next good one: an instrument known to be
off gives no valid reading until it is found good again. Checks count by their minute. A reading in the minute
of a good check was taken with the instrument as it was found good and stays valid, unless a check of the same
minute failed; one in the minute of the failed check falls. Before the first check of all nothing is known to
be good, so a first check that fails reaches back to the beginning. What a corrected reading would have been
is evidence for the person who evaluates; it acquits nothing.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from safetyplan.calculation.instruments import AsFound


@dataclass(frozen=True)
class Check:
    """A check of an instrument: when, whether it passed, and its error as found where that is known."""

    at: datetime
    passed: bool
    as_found: AsFound | None = None


@dataclass(frozen=True)
class Taken:
    """A reading taken with the instrument: when, its value in the instrument's unit, and its lot."""

    key: str
    at: datetime
    value: Decimal
    lot: str = ""


@dataclass(frozen=True)
class Fallen:
    """A reading that a failed check makes not valid, with that check and the value put right by it.

    known: it was taken after the check had failed, before the instrument was found good again.
    """

    taken: Taken
    failed: Check
    recomputed: Decimal | None
    known: bool = False


@dataclass(frozen=True)
class LookBack:
    """Everything that failed checks reach: the readings in the order of time, and their lots."""

    fallen: tuple[Fallen, ...]
    lots: tuple[str, ...]


@dataclass(frozen=True)
class Span:
    """What one failed check reaches: the minutes of the good checks around it, None where there is none."""

    failed: Check
    good_before: datetime | None
    good_after: datetime | None

    def reaches(self, at: datetime) -> bool:
        """Whether a reading of this instant falls: outside the minutes of both good checks, between them."""
        minute = _minute(at)
        after_good = self.good_before is None or minute > self.good_before
        return after_good and (self.good_after is None or minute < self.good_after)


def _minute(at: datetime) -> datetime:
    return at - timedelta(seconds=at.second, microseconds=at.microsecond)


def spans(checks: Iterable[Check]) -> list[Span]:
    """Each failed check in the order of time with the last good one before and the first good one after it.

    A good check of the very same minute counts for neither: which of the two came first is not known, so the
    failure reaches past it.
    """
    known = sorted(checks, key=lambda check: check.at)
    good = [_minute(check.at) for check in known if check.passed]
    found = []
    for failed in known:
        if not failed.passed:
            minute = _minute(failed.at)
            before = max((at for at in good if at < minute), default=None)
            found.append(Span(failed, before, min((at for at in good if at > minute), default=None)))
    return found


def look_back(checks: Iterable[Check], readings: Iterable[Taken]) -> LookBack:
    """The readings that failed checks make not valid, each with its recomputed value as evidence.

    Of several failed checks the first at or after the reading names it, else the last one before it.
    Validity: instants are aware. No rounding. Source: common practice of calibration.
    """
    failed = spans(checks)
    fallen = []
    for taken in sorted(readings, key=lambda taken: (taken.at, taken.key)):
        check = _reaching(failed, taken.at)
        if check is not None:
            recomputed = check.as_found.corrected(taken.value) if check.as_found is not None else None
            fallen.append(Fallen(taken, check, recomputed, known=_minute(check.at) < _minute(taken.at)))
    return LookBack(tuple(fallen), tuple(sorted({one.taken.lot for one in fallen if one.taken.lot})))


def _reaching(failed: Sequence[Span], at: datetime) -> Check | None:
    """The failed check that a reading falls by."""
    reaching = [span.failed for span in failed if span.reaches(at)]
    later = (check for check in reaching if _minute(check.at) >= _minute(at))
    return next(later, reaching[-1] if reaching else None)
