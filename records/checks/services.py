"""Changes to checks: record, correct, void, explain; correct an event and judge again what hangs on it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from records.batches.models import LotEvent
from records.batches.services import EventContent, record_event
from records.checks import judging, kinds
from records.checks.corrections import settle as settle_corrections
from records.checks.doubted import reach_of_event
from records.checks.due import GOOD, Status
from records.checks.gate import hindrances, open_at_gate
from records.checks.instruments_used import instrument_named, refuse_overdue
from records.checks.look_back import look_back_on
from records.checks.missed import load_of_slot, open_missed, open_missed_loads, open_not_made
from records.checks.models import CheckExplained, Reading
from records.checks.opening import deviation_for
from records.checks.places import Place, find_place, judge_at, place_of, slot_state
from records.checks.reach import HOLDING, name_lots
from records.checks.rejudging import judge_again_after
from records.checks.rounds_seen import rounds_by_slot
from records.checks.slots import parse_slot, slot_id
from records.checks.voiding import refuse_voided
from records.deviations.models import Cause, Deviation
from records.deviations.queries import open_for_slot
from records.things.queries import life_of
from safetyplan.calculation.judgement import Judgement, State
from safetyplan.calculation.rounding import trim
from safetyplan.establishments.access import WRITERS, require_role
from safetyplan.establishments.localtime import ZoneTime, day_bounds
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.queries import latest, replaced, zone_of
from safetyplan.integrity import canonical, clock, ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import check_observed, clean, reason
from safetyplan.plans.models import PlanApproved
from safetyplan.plans.queries import in_force
from safetyplan.words import render


@dataclass(frozen=True)
class ReadingContent:
    """What a person says of a check."""

    slot: str
    observed_at: datetime
    parts: Sequence[Mapping[str, Any]]
    late_reason: str = ""
    instrument: UUID | None = None
    captured_at: datetime | None = None
    device_state: str = ""
    photos: Sequence[str] = ()
    plan_version: UUID | None = None


@dataclass(frozen=True)
class Recorded:
    """A reading that was recorded, and the deviation that it opened or belongs to."""

    reading: Reading
    deviation: Deviation | None


def record_reading(
    *, establishment: Establishment, by: Person, content: ReadingContent, claim: Claim | None = None
) -> Recorded:
    """Record a check: read, judge, store; open a deviation where the rules say so."""
    require_role(establishment, by, Role.MAKER)
    with transaction.atomic():
        ledger.lock(establishment)
        content = _at_its_point(establishment, content)
        place = find_place(establishment, content.slot, content.observed_at)
        _refuse_without_photo(place, content)
        missed = _open_missed(establishment, place, content)
        reading = _write(establishment, by, place, content, claim=claim)
        fallen = look_back_on(establishment, by, reading)
        deviation = deviation_for(establishment, by, place, reading) or missed or fallen
        settle_corrections(establishment, reading)
    return Recorded(reading, deviation)


def _refuse_without_photo(place: Place, content: ReadingContent) -> None:
    """Refuse a reading that names no photo where the plan requires one."""
    if place.control.photo == "required" and not content.photos:
        raise BadInput(_("The plan asks for a photo of this."), part="photos")


def _at_its_point(establishment: Establishment, content: ReadingContent) -> ReadingContent:
    """Name a further reading's point as the plan of its time counts it.

    Its page counted the points as the plan that the claim names, which may have come into force since then.
    """
    try:
        name = parse_slot(content.slot)
    except ValueError:
        return content  # said by find_place
    if name.point is None:
        return content
    shown = PlanApproved.objects.of(establishment).filter(pk=content.plan_version).first()
    shown = shown or in_force(establishment, clock.now(establishment))
    points, asked = (
        control.points if version and (control := version.plan().control(name.control)) else ()
        for version in (shown, in_force(establishment, content.observed_at))
    )
    if name.point >= len(points) or points[name.point] not in asked:
        raise BadInput(_("The plan in force at that time did not have this point of the check."), part="slot")
    return replace(content, slot=slot_id(replace(name, point=asked.index(points[name.point]))))


def _open_missed(establishment: Establishment, place: Place, content: ReadingContent) -> Deviation | None:
    """Open the deviation of a critical check that is observed, or was written down, after its window."""
    nothing = place.lot is None and place.load is None
    if nothing or not place.control.is_ccp or place.name.ordinal is None:
        return None
    captured = content.captured_at or clock.now(establishment)
    state = slot_state(establishment, place, content.slot, captured)
    closes = state.slot.closes_at if state else None
    if state is None or closes is None or state.status == Status.RECORDED:
        return None
    late = content.observed_at > closes
    return open_not_made(establishment, state) if late or state.settled_missing else None


def _write(
    establishment: Establishment,
    by: Person,
    place: Place,
    content: ReadingContent,
    *,
    claim: Claim | None,
    supersedes: Reading | None = None,
    why: str = "",
) -> Reading:
    limit = place.control.limit
    zone = zone_of(establishment)
    parts = judging.read_parts(limit, content.parts, observed_at=content.observed_at, zone=zone)
    if place.lot is not None and content.observed_at < place.lot.started_at:
        raise BadInput(_("This is before the lot was started."), part="observed_at")
    if place.load is not None and content.observed_at < place.load.milked_at:
        raise BadInput(_("This is before the milk was milked."), part="observed_at")
    _refuse_other_day(place, content.observed_at, zone)
    late = _is_late(establishment, place, content, supersedes, why)
    with timezone.override(zone):
        judgement = judge_at(
            establishment, place, content.observed_at, [p.document() for p in parts], supersedes
        )
        reading = _row(place, content.slot, content.observed_at, judgement)
    value, unit = judging.primary(parts)
    reading.parts = canonical.dumps([part.document() for part in parts]).decode()
    reading.value_text, reading.unit = value, unit
    reading.value_scaled = kinds.scaled_value(reading)
    reading.instrument = instrument_named(establishment, content.instrument, content.observed_at)
    if supersedes is None or supersedes.instrument_id != content.instrument:
        refuse_overdue(establishment, place.control, reading.instrument, content.observed_at)
    reading.device_state = content.device_state if content.device_state in [*State, "on_receipt"] else ""
    reading.late = late
    reading.late_reason = clean(content.late_reason, part="late_reason")
    reading.supersedes = supersedes
    reading.reason = why
    ledger.append(kind=kinds.READING, row=reading, establishment=establishment, author=by, claim=claim)
    return reading


def _refuse_other_day(place: Place, observed_at: datetime, zone: ZoneInfo) -> None:
    """Refuse to fill a day's check with what was observed on another day; windows may cross midnight."""
    if place.name.day is None:
        return
    start, end = day_bounds(ZoneTime(zone), place.name.day)
    when = place.control.when
    if not start - timedelta(minutes=when.before) <= observed_at < end + timedelta(minutes=when.after):
        raise BadInput(
            _("This check belongs to %(day)s: what was observed at another time cannot stand for it.")
            % {"day": place.name.day.isoformat()},
            part="observed_at",
        )


def _is_late(
    establishment: Establishment, place: Place, content: ReadingContent, original: Reading | None, why: str
) -> bool:
    """A correction that keeps the time is as late as what it corrects; else the claimed time decides."""
    if original is not None and original.observed_at == content.observed_at:
        return original.late
    tolerance = place.version.plan().late_after_minutes
    late_reason = content.late_reason or why
    return check_observed(establishment, content.observed_at, content.captured_at, tolerance, late_reason)


def _row(place: Place, slot: str, observed_at: datetime, judgement: Judgement | None) -> Reading:
    said = judgement.sentence if judgement else None
    warnings = judgement.warnings if judgement else ()
    margin = judgement.margin if judgement else None
    return Reading(
        slot=slot,
        control=place.control.code,
        control_name=place.control.name,
        rank=place.control.rank,
        lot=place.lot,
        plan_version=place.version,
        observed_at=observed_at,
        parts="[]",
        limit=canonical.dumps(place.control.limit.to_document()).decode(),
        limit_words=judging.words(place.control),
        state=str(judgement.state) if judgement else "",
        margin_text=trim(margin) if margin is not None else "",
        margin_unit=judgement.margin_unit if judgement else "",
        sentence=canonical.dumps([s.to_document() for s in ((said, *warnings) if said else ())]).decode(),
        sentence_text=" ".join(str(render(s)) for s in ((said, *warnings) if said else ())),
        late=False,
        voided=False,
    )


def correct_reading(
    *,
    establishment: Establishment,
    by: Person,
    original: Reading,
    content: ReadingContent,
    why: str,
    claim: Claim | None = None,
) -> Recorded:
    """Record a corrected reading. The first value stays; a correction never closes or prevents deviations."""
    require_role(establishment, by, Role.MAKER)
    with transaction.atomic():
        ledger.lock(establishment)
        _refuse_superseded(establishment, original)
        if content.slot != original.slot:
            raise BadInput(_("A correction belongs to the same check."), part="slot")
        place = place_of(establishment, original)
        reading = _write(establishment, by, place, content, claim=claim, supersedes=original, why=reason(why))
        fallen = look_back_on(establishment, by, reading)
        was_good = State(original.state) in GOOD
        cause = Cause.CORRECTED if was_good else None
        deviation = deviation_for(establishment, by, place, reading, cause)
        deviation = _missed_since(establishment, original) or deviation or fallen
        settle_corrections(establishment, reading)
        _reach_again(establishment, by, place, [original.observed_at, reading.observed_at])
    return Recorded(reading, deviation)


def _reach_again(establishment: Establishment, by: Person, place: Place, times: Sequence[datetime]) -> None:
    """Name what a reading of a shared thing reaches now that it no longer stands as it did."""
    if place.thing is not None and place.control.rank in HOLDING:
        code = place.control.code
        name_lots(establishment, by, place.thing, [code], min(times), max(times))


def _missed_since(establishment: Establishment, original: Reading) -> Deviation | None:
    """Open what is missed now that a reading no longer stands as it did; give its check's open deviation."""
    if original.lot is not None:
        open_missed(establishment, [original.lot])
    load = load_of_slot(establishment, original.slot)
    if load is not None:
        open_missed_loads(establishment, [load])
    return open_for_slot(establishment, original.slot)


def _refuse_superseded(establishment: Establishment, original: Reading) -> None:
    later = Reading.objects.of(establishment).filter(supersedes=original).first()
    if later is not None:
        raise Refused(
            _("This reading was already corrected to %(value)s. Correct the newest one.")
            % {"value": later.value_text or _("void")}
        )
    if original.voided:
        raise Refused(_("This reading was voided. Record the check anew."))


def void_reading(
    *, establishment: Establishment, by: Person, original: Reading, why: str, claim: Claim | None = None
) -> Recorded:
    """Void a reading that should not be there. The check counts as not made; a deviation stays."""
    require_role(establishment, by, Role.MAKER)
    with transaction.atomic():
        ledger.lock(establishment)
        _refuse_superseded(establishment, original)
        place = _kept_place(establishment, original)
        row = _row(place, original.slot, original.observed_at, None)
        row.voided = True
        row.supersedes = original
        row.reason = reason(why)
        ledger.append(kind=kinds.READING, row=row, establishment=establishment, author=by, claim=claim)
        deviation = _missed_since(establishment, original)
        settle_corrections(establishment)
        _reach_again(establishment, by, place, [original.observed_at])
    return Recorded(row, deviation)


def _kept_place(establishment: Establishment, reading: Reading) -> Place:
    """Give the place of a reading by the version it was recorded under."""
    control = reading.plan_version.plan().control(reading.control)
    assert control is not None
    name = parse_slot(reading.slot)
    thing = life_of(establishment, name.thing) if name.thing is not None else None
    return Place(name, reading.lot, reading.plan_version, control, thing=thing)


def explain_check(
    *, establishment: Establishment, by: Person, slot: str, why: str, claim: Claim | None = None
) -> CheckExplained:
    """Say why a prerequisite check was not made. A critical control point cannot be explained away."""
    require_role(establishment, by, *WRITERS)
    with transaction.atomic():
        ledger.lock(establishment)
        place = find_place(establishment, slot, clock.now(establishment))
        if place.control.is_ccp:
            raise Refused(
                _("A check at a critical control point cannot be explained away: it has a deviation instead.")
            )
        if latest(Reading.objects.of(establishment).filter(slot=slot, voided=False)).exists():
            raise Refused(_("This check was recorded: correct or void the reading instead."))
        if slot in rounds_by_slot(establishment, [place.name.day] if place.name.day else []):
            raise Refused(_("This check was confirmed by a round: void the round instead."))
        if CheckExplained.objects.of(establishment).filter(slot=slot).exists():
            raise Refused(_("This check was explained already."))
        row = CheckExplained(
            slot=slot, control=place.control.code, control_name=place.control.name, reason=reason(why)
        )
        ledger.append(
            kind=kinds.CHECK_EXPLAINED, row=row, establishment=establishment, author=by, claim=claim
        )
    return row


def explain_checks(
    *, establishment: Establishment, by: Person, why: str, claims: Mapping[str, Claim | None]
) -> list[CheckExplained]:
    """Say why several prerequisite checks were not made, each by its own record: all are stored or none.

    claims: by slot.
    """
    about: Any = {"establishment": establishment, "by": by, "why": why}
    with transaction.atomic():
        return [explain_check(slot=slot, claim=claim, **about) for slot, claim in claims.items()]


def correct_event(
    *,
    establishment: Establishment,
    by: Person,
    original: LotEvent,
    content: EventContent,
    claim: Claim | None = None,
) -> tuple[LotEvent, list[Deviation]]:
    """Correct an event; every reading of the lot is judged again, both results stay on record."""
    require_role(establishment, by, Role.MAKER)
    reason(content.reason)
    with transaction.atomic():
        ledger.lock(establishment)
        if replaced(original):
            raise Refused(_("This event was already corrected. Correct the newest entry."))
        refuse_voided(establishment, original)
        if content.event != original.event:
            raise BadInput(_("A correction belongs to the same event."), part="event")
        event = record_event(
            establishment=establishment,
            by=by,
            lot=original.lot,
            content=content,
            supersedes=original,
            claim=claim,
        )
        opened = judge_again_after(establishment, by, original.lot, event)
        opened += open_missed(establishment, [original.lot])
        late = hindrances(establishment, original.lot, event.event, event.observed_at)
        opened += open_at_gate(establishment, by, original.lot, event, late)
        opened += reach_of_event(establishment, by, event)
    return event, opened
