"""Readings judged again: after a corrected event, or by a plan version applied to their lot.

Both results stay on record. A result that was good and is not any more opens a deviation; one that was bad
and is good now closes nothing.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _

from records.batches.models import Lot, LotEvent, PlanApplied
from records.batches.queries import events_by_lot, version_of
from records.checks import judging, kinds
from records.checks.again import Again, judged_again, result_of
from records.checks.due import facts, load_states
from records.checks.models import Reading, Rejudged, RejudgedByPlan, RejudgedByReceipt
from records.checks.opening import deviation_for, opens
from records.checks.places import Place, asks_for, judge_in
from records.checks.slots import LotFacts, parse_slot
from records.deviations.models import Cause, Deviation
from records.receiving.models import MilkLoad
from safetyplan.calculation.judgement import Judgement, State
from safetyplan.calculation.limits.shape import events_of
from safetyplan.calculation.rounding import trim
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.queries import latest, zone_of
from safetyplan.integrity import canonical, clock, ledger
from safetyplan.plans.document import Control, Plan
from safetyplan.plans.models import PlanApproved
from safetyplan.words import render


@dataclass(frozen=True)
class Second:
    """A second judgement of a reading: where it belongs now, its result until now, the new one in words.

    before: apart from its instrument, whose failed check no event and no plan makes undone.
    """

    reading: Reading
    place: Place
    before: State
    judgement: Judgement
    said: str

    @property
    def newly_missed(self) -> bool:
        """Tell whether a deviation is called for that was not before."""
        return opens(self.place, self.judgement.state) and not opens(self.place, self.before)

    @property
    def sentence(self) -> str:
        """Give the sentences of the new judgement as canonical text."""
        sentences = (self.judgement.sentence, *self.judgement.warnings)
        return canonical.dumps([s.to_document() for s in sentences]).decode()


def second_judgements(
    establishment: Establishment, lots: Sequence[tuple[Lot, PlanApproved]], event: str = "", *, kept: bool
) -> list[Second]:
    """Judge the standing readings of lots, each by a plan version; records nothing.

    event: only those whose check hangs on it. kept: what a limit would refuse shows nothing (see `judge`).
    The number of queries does not grow with lots or readings.
    """
    keys = [lot.pk for lot, _version in lots]
    rows = latest(Reading.objects.of(establishment).filter(lot__in=keys, voided=False))
    by_lot: dict[Any, list[Reading]] = defaultdict(list)
    for reading in rows.select_related("lot", "author").order_by("entry__sequence"):
        by_lot[reading.lot_id].append(reading)
    again = judged_again(establishment, [reading.pk for found in by_lot.values() for reading in found])
    events = events_by_lot(establishment, keys)
    seconds = []
    with timezone.override(zone_of(establishment)):
        for lot, version in lots:
            known, standing = facts(lot, events[lot.pk]), by_lot[lot.pk]
            placed = [(reading, _place(reading, lot, version, event)) for reading in standing]
            seconds += [
                _second(place, reading, standing, known, again[reading.pk], kept=kept)
                for reading, place in placed
                if place is not None
            ]
    return seconds


def _place(reading: Reading, lot: Lot, version: PlanApproved, event: str) -> Place | None:
    name = parse_slot(reading.slot)
    control = asks_for(version, name, lot)
    if control is None or (event and event not in (control.when.event, *events_of(control.limit))):
        return None
    return Place(name, lot, version, control)


def _second(
    place: Place,
    reading: Reading,
    of_lot: Sequence[Reading],
    known: LotFacts,
    again: Sequence[Again],
    *,
    kept: bool,
) -> Second:
    at = reading.observed_at
    earlier = [
        r for r in of_lot if r.control == reading.control and r.observed_at < at and r.pk != reading.pk
    ]
    parts = judging.kept_parts(reading)
    judgement = judge_in(place, known, at, parts, earlier, kept=kept)
    said = " ".join(str(render(s)) for s in (judgement.sentence, *judgement.warnings))
    return Second(reading, place, State(result_of(reading, again)), judgement, said)


def judge_again_after(
    establishment: Establishment, by: Person, lot: Lot, event: LotEvent, *, voided: bool = False
) -> list[Deviation]:
    """Judge again what hangs on a corrected event, or on one voided; give the deviations that were opened."""
    opened = []
    version = version_of(establishment, lot)
    for second in second_judgements(establishment, [(lot, version)], event.event, kept=voided):
        row = Rejudged(
            reading=second.reading,
            event=event,
            state_before=str(second.before),
            state=str(second.judgement.state),
            sentence=second.sentence,
            sentence_text=second.said,
        )
        ledger.append(kind=kinds.REJUDGED, row=row, establishment=establishment, author=by)
        if not opens(second.place, second.before):
            deviation = deviation_for(
                establishment,
                by,
                second.place,
                second.reading,
                Cause.EVENT_CORRECTED,
                event,
                second.judgement.state,
                second.said,
            )
            opened += [deviation] if deviation else []
    return opened


def judges_alike(plan: Plan, control: Control) -> bool:
    """Tell whether another plan judges by the same: the same limit, at the same time, of the same class."""
    other = plan.control(control.code)
    told = (control.limit, control.when, control.rank)
    return other is not None and (other.limit, other.when, other.rank) == told


def judge_again_by(
    establishment: Establishment, by: Person, applied: PlanApplied, before: PlanApproved
) -> list[Deviation]:
    """Judge the readings of a lot by the plan version just applied; give the deviations that were opened.

    before: the version the lot followed until now; what both judge alike is not judged again.
    """
    opened = []
    for second in second_judgements(establishment, [(applied.lot, applied.plan_version)], kept=True):
        if judges_alike(before.plan(), second.place.control):
            continue
        _keep(establishment, by, applied, second)
        if not second.newly_missed:
            continue
        told = {"version": applied.plan_version.number, "said": second.said}
        deviation = deviation_for(
            establishment,
            by,
            second.place,
            second.reading,
            Cause.OUTSIDE_LIMIT if second.judgement.state == State.OUTSIDE_LIMIT else Cause.NOT_SHOWN,
            None,
            second.judgement.state,
            _("Judged again by plan version %(version)d, applied to the lot: %(said)s") % told,
            judging.words(second.place.control),
        )
        opened += [deviation] if deviation else []
    return opened


def _keep(establishment: Establishment, by: Person, applied: PlanApplied, second: Second) -> None:
    control, margin = second.place.control, second.judgement.margin
    row = RejudgedByPlan(
        reading=second.reading,
        applied=applied,
        limit=canonical.dumps(control.limit.to_document()).decode(),
        limit_words=judging.words(control),
        state_before=str(second.before),
        state=str(second.judgement.state),
        margin_text=trim(margin) if margin is not None else "",
        margin_unit=second.judgement.margin_unit,
        sentence=second.sentence,
        sentence_text=second.said,
    )
    ledger.append(kind=kinds.REJUDGED_BY_PLAN, row=row, establishment=establishment, author=by)


def judge_again_by_receipt(establishment: Establishment, by: Person, receipt: MilkLoad) -> list[Deviation]:
    """Judge the readings of a load again after its receipt was corrected; give what was opened."""
    opened = []
    with timezone.override(zone_of(establishment)):
        for state in load_states(establishment, [receipt], clock.now(establishment))[receipt.identity]:
            control = state.slot.control
            for reading in state.effective:
                place = Place(parse_slot(reading.slot), None, state.plan_version, control, receipt)
                parts = judging.kept_parts(reading)
                judgement = judge_in(place, None, reading.observed_at, parts, [], kept=True)
                said = " ".join(str(render(s)) for s in (judgement.sentence, *judgement.warnings))
                second = Second(reading, place, state.state_of(reading), judgement, said)
                opened += _by_receipt(establishment, by, receipt, second)
    return opened


def _by_receipt(
    establishment: Establishment, by: Person, receipt: MilkLoad, second: Second
) -> list[Deviation]:
    row = RejudgedByReceipt(
        reading=second.reading,
        receipt=receipt,
        state_before=str(second.before),
        state=str(second.judgement.state),
        sentence=second.sentence,
        sentence_text=second.said,
    )
    ledger.append(kind=kinds.REJUDGED_BY_RECEIPT, row=row, establishment=establishment, author=by)
    if not second.newly_missed:
        return []
    found = deviation_for(
        establishment,
        by,
        second.place,
        second.reading,
        Cause.EVENT_CORRECTED,
        None,
        second.judgement.state,
        second.said,
    )
    return [found] if found else []
