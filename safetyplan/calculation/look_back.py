"""Look-back: which readings an instrument's failed check makes not valid, and what they would have been.

Rule: a failed check reaches back to the last good one, and on to the next good one: an instrument known to be
off gives no valid reading until it is found good again. Checks count by their minute. A reading in the minute
of a good check was taken with the instrument as it was found good and stays valid, unless a check of the same
minute failed; one in the minute of the failed check falls. Before the first check of all nothing is known to
be good, so a first check that fails reaches back to the beginning. A failed check that leaves the instrument
good again (it was adjusted) reaches back only; one that finds it good and leaves it bad reaches on only. A
good check that was entered after a failed one, for a time before it, shortens nothing: it is evidence. What a
corrected reading would have been is evidence for the person who evaluates; it acquits nothing.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from safetyplan.calculation.instruments import AsFound
from safetyplan.calculation.sentences import Sentence, say


@dataclass(frozen=True)
class Check:
    """A check of an instrument: when, whether it passed, and its error as found where that is known.

    left_good: whether the instrument was good when the check was over; None: as it was found. recorded: its
    place in the order in which checks were entered; 0 where that is not told. key: its name.
    """

    at: datetime
    passed: bool
    as_found: AsFound | None = None
    left_good: bool | None = None
    recorded: int = 0
    key: str = ""

    @property
    def good_after(self) -> bool:
        """Whether the instrument was good when the check was over."""
        return self.passed if self.left_good is None else self.left_good


@dataclass(frozen=True)
class Taken:
    """A reading taken with the instrument: when, its value in the instrument's unit, and its lot.

    value: None where the reading has no single value in that unit.
    """

    key: str
    at: datetime
    value: Decimal | None
    lot: str = ""


@dataclass(frozen=True)
class Fallen:
    """A reading that a failed check makes not valid, with that check and the value put right by it.

    known: it was taken after the check had failed, before the instrument was found good again. since: the
    minute of the last good check before the failed one; None where there is none.
    """

    taken: Taken
    failed: Check
    recomputed: Decimal | None
    known: bool = False
    since: datetime | None = None

    def sentence(self, instrument: str) -> Sentence:
        """Why the reading is not valid, in words; instrument: how people call it."""
        failed_at = _instant(self.failed.at)
        if self.known:
            return say("look_back_known", instrument=instrument, failed_at=failed_at)
        if self.since is None:
            return say("look_back_never", instrument=instrument, failed_at=failed_at)
        good_at = _instant(self.since)
        return say("look_back_since", instrument=instrument, failed_at=failed_at, good_at=good_at)


@dataclass(frozen=True)
class LookBack:
    """Everything that failed checks reach: the readings in the order of time, and their lots."""

    fallen: tuple[Fallen, ...]
    lots: tuple[str, ...]


@dataclass(frozen=True)
class Span:
    """What one failed check reaches: the minutes of the good checks around it, None where there is none.

    good_after is the minute of the check itself where that left the instrument good.
    """

    failed: Check
    good_before: datetime | None
    good_after: datetime | None

    def reaches(self, at: datetime) -> bool:
        """Whether a reading of this instant falls: outside the minutes of both good checks, between them."""
        minute, own = _minute(at), _minute(self.failed.at)
        if minute <= own:
            return not self.failed.passed and (self.good_before is None or minute > self.good_before)
        return not self.failed.good_after and (self.good_after is None or minute < self.good_after)


def _instant(at: datetime) -> str:
    """The instant as a parameter of a sentence: RFC 3339 UTC."""
    return at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.000Z")


def _minute(at: datetime) -> datetime:
    return at - timedelta(seconds=at.second, microseconds=at.microsecond)


def spans(checks: Iterable[Check]) -> list[Span]:
    """Each failed check in the order of time with the last good one before and the first good one after it.

    A good check of the very same minute counts for neither: which of the two came first is not known, so the
    failure reaches past it. Before it only counts what was entered before it, and left the instrument good.
    """
    known = sorted(checks, key=lambda check: (check.at, check.recorded))
    left = [(_minute(check.at), check.recorded) for check in known if check.good_after]
    good = [_minute(check.at) for check in known if check.passed or check.good_after]
    found = []
    for failed in known:
        if not (failed.passed and failed.good_after):
            minute = _minute(failed.at)
            earlier = (at for at, recorded in left if at < minute and recorded <= failed.recorded)
            later = min((at for at in good if at > minute), default=None)
            found.append(Span(failed, max(earlier, default=None), minute if failed.good_after else later))
    return found


def look_back(checks: Iterable[Check], readings: Iterable[Taken]) -> LookBack:
    """The readings that failed checks make not valid, each with its recomputed value as evidence.

    Of several failed checks the first at or after the reading names it, else the last one before it.
    Validity: instants are aware. No rounding. Source: common practice of calibration.
    """
    failed = spans(checks)
    fallen = []
    for taken in sorted(readings, key=lambda taken: (taken.at, taken.key)):
        span = _reaching(failed, taken.at)
        if span is not None:
            check, line, value = span.failed, span.failed.as_found, taken.value
            recomputed = line.corrected(value) if line is not None and value is not None else None
            known = _minute(check.at) < _minute(taken.at)
            fallen.append(Fallen(taken, check, recomputed, known, span.good_before))
    return LookBack(tuple(fallen), tuple(sorted({one.taken.lot for one in fallen if one.taken.lot})))


def run_of(failed: Sequence[Span], key: str) -> set[str]:
    """The keys of the failed checks with no good one between them and the one that is named, itself too."""
    runs: list[list[Span]] = []
    for span in failed:
        joins = runs and (span.good_before is None or span.good_before < _minute(runs[-1][-1].failed.at))
        runs = [*runs[:-1], [*runs[-1], span]] if joins else [*runs, [span]]
    return {span.failed.key for run in runs if any(s.failed.key == key for s in run) for span in run}


def _reaching(failed: Sequence[Span], at: datetime) -> Span | None:
    """The span of the failed check that a reading falls by."""
    reaching = [span for span in failed if span.reaches(at)]
    later = (span for span in reaching if _minute(span.failed.at) >= _minute(at))
    return next(later, reaching[-1] if reaching else None)
