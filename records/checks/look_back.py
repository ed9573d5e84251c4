"""Look-back: what a failed check of an instrument makes not valid, judged again, in one deviation.

Nothing here is ever taken back: what a failed check reached stays not valid until a reviewer closes its
deviation as a recording error. A recomputed value is evidence for the person who evaluates.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.batches.queries import events_by_lot, versions_of
from records.checks import judging, kinds
from records.checks.again import judged_again, not_valid, state_of, with_acquittal
from records.checks.doubted import lots_of_things
from records.checks.due import facts
from records.checks.models import Reading, RejudgedByInstrument
from records.checks.places import Place, asks_for, judge_in
from records.checks.slots import LotFacts, parse_slot
from records.deviations.models import Cause, Deviation
from records.deviations.queries import open_deviations
from records.deviations.queries import state_of as deviation_state
from records.deviations.services import name_lot, open_deviation
from records.instruments.models import Instrument, InstrumentCheck
from records.instruments.queries import register_of
from records.receiving.queries import lots_of_loads
from safetyplan.calculation import look_back as pure
from safetyplan.calculation.judgement import Judgement, State
from safetyplan.calculation.rounding import amount, shown, trim
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.calculation.units import convert
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.queries import latest, zone_of
from safetyplan.integrity import canonical, ledger
from safetyplan.words import render

CRITICAL, OPERATIONAL = "ccp", "oprp"
HELD_RANKS = (CRITICAL, OPERATIONAL)


@dataclass(frozen=True)
class History:
    """An instrument with its checks as they stand, and what its failed ones reach."""

    chain: Sequence[Instrument]
    checks: dict[str, InstrumentCheck]
    known: Sequence[pure.Check]

    @cached_property
    def spans(self) -> list[pure.Span]:
        """Give what each failed check reaches."""
        return pure.spans(self.known)

    @property
    def name(self) -> str:
        """Name the instrument for people."""
        return f"{self.chain[-1].code} {self.chain[-1].name}"


def look_back(*, establishment: Establishment, by: Person | None, check: InstrumentCheck) -> list[Deviation]:
    """Judge again what the failed checks of an instrument reach; give the deviations that gather it.

    Called in the transaction that records a check or corrects one. Adds only what is new: a second failure
    without a good check between adds to the deviation of the first while that is open.
    """
    with transaction.atomic():
        ledger.lock(establishment)
        history = history_of(establishment, check.instrument_id)
        return _judge(establishment, by, history, _readings(establishment, history)) if history.spans else []


def look_back_on(establishment: Establishment, by: Person | None, reading: Reading) -> Deviation | None:
    """Judge a reading just recorded by an instrument that a failed check reaches; give its deviation."""
    if reading.instrument_id is None or not _ever_bad(establishment, reading.instrument_id):
        return None
    history = history_of(establishment, reading.instrument_id)
    if not any(span.reaches(reading.observed_at) for span in history.spans):
        return None
    return next(iter(_judge(establishment, by, history, [reading])), None)


def _ever_bad(establishment: Establishment, instrument: UUID) -> bool:
    """Tell whether any check of the instrument can have left it bad: most never did, and this is quick."""
    keys = register_of(establishment).keys(instrument)
    rows = InstrumentCheck.objects.of(establishment).filter(instrument__in=keys)
    return rows.filter(Q(passed=False) | Q(adjusted=True)).exists()


def history_of(establishment: Establishment, instrument: UUID) -> History:
    """Read an instrument and its checks that stand, in a constant number of queries.

    A failure whose deviation was closed as a recording error is none any more.
    """
    register = register_of(establishment)
    keys = register.keys(instrument)
    rows = InstrumentCheck.objects.of(establishment).filter(instrument__in=keys)
    every: dict[UUID, Any] = {row.pk: row for row in rows.annotate(at_sequence=F("entry__sequence"))}
    corrected = {row.supersedes_id for row in every.values()}
    by_check = RejudgedByInstrument.objects.of(establishment).filter(failed__in=list(every))
    errors = set(with_acquittal(by_check).filter(acquitted=True).values_list("failed", flat=True))
    standing = {
        str(row.pk): row
        for row in every.values()
        if row.pk not in corrected and row.pk not in errors and _decided(row)
    }
    known = [_known(row, every) for row in standing.values()]
    return History([register.rows[key] for key in keys], standing, known)


def _decided(check: InstrumentCheck) -> bool:
    return check.passed is not None or check.adjusted


def _known(row: Any, every: dict[UUID, Any]) -> pure.Check:
    """Give a check to the calculation; a correction that leaves it what it was keeps its place in time."""
    first = row
    while first.supersedes_id in every and _alike(every[first.supersedes_id], row):
        first = every[first.supersedes_id]
    return pure.Check(
        at=row.checked_at,
        passed=row.passed is not False,
        as_found=row.line,
        left_good=row.good_after is True,
        recorded=first.at_sequence,
        key=str(row.pk),
    )


def _alike(one: InstrumentCheck, other: InstrumentCheck) -> bool:
    told = (one.checked_at, one.passed, one.good_after)
    return told == (other.checked_at, other.passed, other.good_after)


def _readings(establishment: Establishment, history: History) -> list[Reading]:
    """Give the readings that stand by the instrument, since the earliest good check that matters."""
    rows = latest(Reading.objects.of(establishment).filter(instrument__in=history.chain, voided=False))
    begins = [span.good_before for span in history.spans]
    if None not in begins:
        rows = rows.filter(observed_at__gte=min(at for at in begins if at is not None))
    rows = rows.select_related("lot__plan_version", "plan_version")
    return list(rows.order_by("observed_at", "entry__sequence"))


def _judge(
    establishment: Establishment, by: Person | None, history: History, readings: Sequence[Reading]
) -> list[Deviation]:
    by_key = {str(reading.pk): reading for reading in readings}
    taken = [pure.Taken(key, r.observed_at, None, str(r.lot_id or "")) for key, r in by_key.items()]
    again = judged_again(establishment, [reading.pk for reading in readings])
    done = {key for key, r in by_key.items() if not_valid(again[r.pk])}
    groups: dict[str, list[pure.Fallen]] = {}
    for one in pure.look_back(history.known, taken).fallen:
        if one.taken.key not in done:
            groups.setdefault(one.failed.key, []).append(one)
    found: list[Deviation] = []
    with timezone.override(zone_of(establishment)):
        places = _Places.of(establishment, readings)
        for key, fallen in groups.items():
            chosen = [(one, by_key[one.taken.key]) for one in fallen]
            home = _home(establishment, by, history, key, chosen)
            for one, reading in chosen:
                before = state_of(reading, again[reading.pk])
                _keep(establishment, by, history, one, reading, before, home, places)
            found += [home] if home is not None and home not in found else []
    return found


Chosen = Sequence[tuple[pure.Fallen, Reading]]


def _home(
    establishment: Establishment, by: Person | None, history: History, key: str, chosen: Chosen
) -> Deviation | None:
    """Give the deviation of a failed check: the open one of its run of failures, with the lots named in it.

    Readings of prerequisites alone open none.
    """
    lots = _concerned(establishment, [reading for _one, reading in chosen if reading.rank in HELD_RANKS])
    checks = [UUID(name) for name in pure.run_of(history.spans, key)]
    rows = RejudgedByInstrument.objects.of(establishment).filter(failed__in=checks)
    home = open_deviations(establishment).filter(pk__in=rows.values("deviation")).first()
    why = _("Checked with %(instrument)s, which failed its check.") % {"instrument": history.name}
    if home is not None:
        present = {lot.pk for lot in deviation_state(establishment, home).lots}
        for lot in lots:
            if lot.pk not in present:
                name_lot(establishment, by, home, lot, why, hold_required=True)
        return home
    if not any(reading.rank in HELD_RANKS for _one, reading in chosen):
        return None
    return open_deviation(
        establishment=establishment,
        by=by,
        cause=Cause.INSTRUMENT,
        plan=None,
        control=None,
        lots=lots,
        why_lots=why,
        keeps=_("what the checks with this instrument had to show"),
        description=_description(history, key, chosen, lots),
    )


def _lots(readings: Iterable[Reading]) -> list[Lot]:
    """Give the lots of readings; a reading of a load of milk belongs to every lot with that milk."""
    listed = list(readings)
    found = {reading.lot.pk: reading.lot for reading in listed if reading.lot is not None}
    loads = {load for r in listed if r.lot_id is None and (load := parse_slot(r.slot).load) is not None}
    if loads:
        for rows in lots_of_loads(listed[0].establishment, loads).values():
            found |= {row.lot_id: row.lot for row in rows}
    return sorted(found.values(), key=lambda lot: (lot.started_at, lot.code))


def _concerned(establishment: Establishment, readings: Sequence[Reading]) -> list[Lot]:
    """Give the lots of readings and those that used the shared things of others."""
    found = {lot.pk: lot for lot in _lots(readings)} | lots_of_things(establishment, readings)
    return sorted(found.values(), key=lambda lot: (lot.started_at, lot.code))


def _description(history: History, key: str, chosen: Chosen, lots: Sequence[Lot]) -> str:
    check, fallen = history.checks[key], chosen[0][0]
    ranks = [reading.rank for _one, reading in chosen]
    told = {
        "critical": ranks.count(CRITICAL),
        "operational": ranks.count(OPERATIONAL),
        "others": len(ranks) - ranks.count(CRITICAL) - ranks.count(OPERATIONAL),
        "lots": len(lots),
    }
    counted = _(
        "Not valid: %(critical)d readings of critical control points, %(operational)d of operational "
        "prerequisites, %(others)d of other prerequisites; %(lots)d lots."
    )
    since = [str(render(fallen.sentence(history.name))), check.sentence_text]
    if fallen.since is None and not fallen.known:
        registered = {"day": f"{timezone.localtime(history.chain[0].recorded_at):%Y-%m-%d}"}
        since.append(_("It was registered on %(day)s.") % registered)
    return " ".join([*since, counted % told])


@dataclass(frozen=True)
class _Places:
    """Where readings belong, read at once: plan versions and events of their lots."""

    versions: dict[UUID, Any]
    events: dict[Any, Any]

    @classmethod
    def of(cls, establishment: Establishment, readings: Iterable[Reading]) -> "_Places":
        lots = _lots(readings)
        return cls(versions_of(establishment, lots), events_by_lot(establishment, [lot.pk for lot in lots]))

    def place(self, reading: Reading) -> tuple[Place, LotFacts | None]:
        """Give a reading's place by the version its lot follows, else by the one it was recorded under."""
        name, lot = parse_slot(reading.slot), reading.lot
        followed = self.versions[lot.pk] if lot is not None else reading.plan_version
        control = asks_for(followed, name, lot)
        if control is None:
            followed = reading.plan_version
            control = followed.plan().control(reading.control)
        assert control is not None
        known = facts(lot, self.events[lot.pk]) if lot is not None else None
        return Place(name, lot, followed, control), known


def _keep(
    establishment: Establishment,
    by: Person | None,
    history: History,
    fallen: pure.Fallen,
    reading: Reading,
    before: str,
    home: Deviation | None,
    places: _Places,
) -> None:
    check = history.checks[fallen.failed.key]
    said = fallen.sentence(history.name)
    parts, values = recomputed(reading, check)
    would = _would(places, reading, parts) if values else None
    row = RejudgedByInstrument(
        reading=reading,
        failed=check,
        deviation=home,
        state_before=before,
        state=State.INSTRUMENT_NOT_VALID,
        sentence=canonical.dumps([said.to_document()]).decode(),
        sentence_text=str(render(said)),
        recomputed=canonical.dumps(values).decode(),
        would_state=str(would.state) if would else "",
        would_sentence=canonical.dumps([s.to_document() for s in _sentences(would)]).decode(),
        would_text=" ".join(str(render(s)) for s in _sentences(would)),
    )
    ledger.append(kind=kinds.REJUDGED_BY_INSTRUMENT, row=row, establishment=establishment, author=by)


def _sentences(would: Judgement | None) -> list[Any]:
    return [would.sentence, *would.warnings] if would else []


def _would(places: _Places, reading: Reading, parts: list[dict[str, str]]) -> Judgement:
    """Judge the recomputed numbers where the reading belongs: evidence, and never more."""
    place, known = places.place(reading)
    return judge_in(place, known, reading.observed_at, parts, [], kept=True)


def recomputed(reading: Reading, check: InstrumentCheck) -> tuple[list[dict[str, str]], list[dict[str, str]]]:
    """Put the numbers of a reading right by the error as found: its parts, and what was recomputed of them.

    true = intercept + slope x shown, in the unit of the check, back in the unit of the reading; exact where
    the conversion is. What is below or above a detection limit is left as it is. Without a known error
    nothing is recomputed.
    """
    line, parts = check.line, judging.kept_parts(reading)
    values: list[dict[str, str]] = []
    if line is None or check.unit not in UNITS:
        return parts, values
    quantity = UNITS[check.unit].quantity
    for number, part in enumerate(parts):
        same = part["entry"] == "number" and UNITS[part["unit"]].quantity == quantity
        if not same or part["value"][0] in "<>":
            continue
        unit = part["unit"]
        true = convert(line.corrected(convert(Decimal(part["value"]), unit, check.unit)), check.unit, unit)
        words = amount(shown(true, quantity, unit), unit)
        values.append({"name": part["name"], "value": trim(true), "unit": unit, "shown": words})
        parts[number] = {**part, "value": trim(true)}
    return parts, values
