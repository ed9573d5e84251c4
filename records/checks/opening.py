"""The deviation that a reading calls for."""

from records.batches.models import LotEvent
from records.checks.corrections import corrects
from records.checks.models import Reading
from records.checks.of_load import open_for
from records.checks.places import Place
from records.checks.reach import HOLDING, open_run, runs_about
from records.checks.slots import load_slot_id
from records.deviations.models import Cause, Deviation
from records.deviations.queries import open_deviations, open_for_control, open_for_slot
from safetyplan.calculation.judgement import State
from safetyplan.establishments.models import Establishment, Person


def opens(place: Place, state: State) -> bool:
    """Tell whether a result calls for a deviation."""
    if state == State.OUTSIDE_LIMIT:
        return not corrects(place.control.rank, place.lot)
    extra = place.name.ordinal is None
    return place.control.is_ccp and not extra and state in (State.NOT_SHOWN, State.INSTRUMENT_NOT_VALID)


def deviation_for(
    establishment: Establishment,
    by: Person,
    place: Place,
    reading: Reading,
    cause: Cause | None = None,
    event: LotEvent | None = None,
    state: State | None = None,
    said: str = "",
    limit_words: str = "",
) -> Deviation | None:
    """Open the deviation a reading calls for, or give the open one it belongs to."""
    judged = state or State(reading.state)
    holding = place.thing is not None and place.control.rank in HOLDING and opens(place, judged)
    present = None if holding else open_for_slot(establishment, reading.slot)
    if place.lot is not None and place.name.ordinal is None:
        present = present or open_for_control(establishment, place.lot, place.control.code)
    if place.load is not None and place.name.ordinal is None:
        of_check = load_slot_id(place.load.identity, place.control.code, 0)
        present = present or open_for_slot(establishment, of_check)
    if present is not None and cause is None:
        return present
    if not opens(place, judged):
        return None
    if place.thing is not None and place.control.rank in HOLDING and judged == State.OUTSIDE_LIMIT:
        return _of_thing(establishment, by, place, reading, cause)
    fallback = Cause.OUTSIDE_LIMIT if judged == State.OUTSIDE_LIMIT else Cause.NOT_SHOWN
    return open_for(
        establishment,
        place.load,
        by=by,
        cause=cause or fallback,
        plan=place.version.plan(),
        control=place.control,
        slot=reading.slot,
        lot=place.lot,
        reading_id=reading.pk,
        event=event,
        description=said or reading.sentence_text,
        limit_words=limit_words or reading.limit_words,
    )


def _of_thing(
    establishment: Establishment, by: Person, place: Place, reading: Reading, cause: Cause | None
) -> Deviation | None:
    """Open the deviation over every lot that used the thing, or give the one that names them already.

    A reading may speak for several points of the thing: one deviation names the lots of each run it is in.
    """
    assert place.thing is not None
    at, found = reading.observed_at, list[Deviation]()
    for run in runs_about(establishment, place.thing, place.control.code, at, at):
        if reading.slot in run.slots:
            opened = open_run(establishment, by, place.thing, run, None if found else cause)
            present = None if opened or found else open_of_slots(establishment, run.slots)
            found += [present] if present is not None else opened
    return found[0] if found else None


def open_of_slots(establishment: Establishment, slots: list[str]) -> Deviation | None:
    """Find the first open deviation of some slots."""
    return open_deviations(establishment).filter(slot__in=slots).order_by("number").first()
