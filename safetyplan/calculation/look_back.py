"""Look-back: which readings an instrument's failed check makes not valid, and what they would have been.

Rule: a failed check reaches back to the last good one. A reading at the very instant of a good check was
taken with the instrument as it was found good and stays valid; one at the instant of the failed check falls.
Before the first check of all nothing is known to be good, so a first check that fails reaches back to the
beginning. What a corrected reading would have been is evidence for the person who evaluates; it acquits
nothing.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
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
    """A reading that a failed check makes not valid, with that check and the value put right by it."""

    taken: Taken
    failed: Check
    recomputed: Decimal | None


@dataclass(frozen=True)
class LookBack:
    """Everything that failed checks reach: the readings in the order of time, and their lots."""

    fallen: tuple[Fallen, ...]
    lots: tuple[str, ...]


def spans(checks: Iterable[Check]) -> list[tuple[datetime | None, Check]]:
    """Each failed check with the instant of the last good one before it, None when there was none.

    A good check of the very same instant does not count: which of the two came first is not known, so the
    failure reaches past it.
    """
    known = sorted(checks, key=lambda check: check.at)
    good = [check.at for check in known if check.passed]
    return [
        (max((at for at in good if at < failed.at), default=None), failed)
        for failed in known
        if not failed.passed
    ]


def look_back(checks: Iterable[Check], readings: Iterable[Taken]) -> LookBack:
    """The readings that failed checks make not valid, each with its recomputed value as evidence.

    Validity: instants are aware. No rounding. A reading after the last check is not judged here: its
    instrument is simply not checked since. Source: common practice of calibration.
    """
    failed = spans(checks)
    fallen = []
    for taken in sorted(readings, key=lambda taken: (taken.at, taken.key)):
        check = _reaching(failed, taken.at)
        if check is not None:
            recomputed = check.as_found.corrected(taken.value) if check.as_found is not None else None
            fallen.append(Fallen(taken, check, recomputed))
    return LookBack(tuple(fallen), tuple(sorted({one.taken.lot for one in fallen if one.taken.lot})))


def _reaching(failed: Sequence[tuple[datetime | None, Check]], at: datetime) -> Check | None:
    """The first failed check that reaches an instant: after the last good check, up to and with itself."""
    return next((check for good, check in failed if at <= check.at and (good is None or at > good)), None)
