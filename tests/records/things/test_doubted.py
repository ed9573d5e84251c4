"""A brine measured with a probe that then failed: its lots are in the one deviation of the probe."""

from datetime import datetime

import pytest

from records.batches.models import Lot
from records.checks.slots import thing_slot_id
from records.checks.thing_records import use_thing
from records.deviations.models import Cause, Deviation
from records.deviations.queries import state_of
from records.instruments.models import Instrument
from records.things.queries import Life
from records.things.using import UseContent
from safetyplan.integrity.verification import verify
from tests.builders import T0, a_lot, at, hours
from tests.cast import Cast
from tests.records.checks.malga import in_ice, read
from tests.records.instruments.acts import a_probe
from tests.records.rules.limits import approve
from tests.records.things.plan import with_things
from tests.records.things.stage import a_thing


def plan() -> dict:
    """Let the warmth of each brine be an operational prerequisite."""
    found = with_things()
    next(control for control in found["controls"] if control["code"] == "BR2")["class"] = "oprp"
    return found


def warmth(life: Life, day: int, ordinal: int | str = 0) -> str:
    return thing_slot_id(life.id, "BR2", (T0.replace(day=14 + day)).date(), ordinal)


def salted(cast: Cast, life: Life, code: str, start: datetime, end: datetime) -> Lot:
    """Start a lot and have it in the brine from one time to another; entered at its end."""
    with at(cast.dairy, start):
        lot = a_lot(cast, code, started=start)
    enter(cast, life, lot, start, end)
    return lot


def enter(cast: Cast, life: Life, lot: Lot, start: datetime, end: datetime, entered: datetime | None = None):
    with at(cast.dairy, entered or end):
        content = UseContent(start, end, late_reason="Entered from the salting book")
        return use_thing(establishment=cast.dairy, by=cast.maker, life=life, lots=[lot], content=content)


@pytest.fixture
def brine(cast: Cast) -> tuple[Cast, Instrument, Life]:
    """Measure a brine on three days by a probe that was good on the first, with a lot in it each day."""
    approve(cast, plan(), T0.replace(day=10))
    probe = a_probe(cast, "P2", since=T0.replace(day=11))
    in_ice(cast, probe, hours(-2), "0.1")
    with at(cast.dairy, hours(-1)):
        life = a_thing(cast, begun=hours(-1))
    read(cast, warmth(life, 0), hours(1), "12", None)
    salted(cast, life, "L-1", hours(0), hours(0.5))
    salted(cast, life, "L-2", hours(2), hours(20))
    read(cast, warmth(life, 1), hours(25), "12", probe)
    salted(cast, life, "L-3", hours(26), hours(30))
    read(cast, warmth(life, 2), hours(49), "12", None)
    salted(cast, life, "L-4", hours(50), hours(60))
    return cast, probe, life


def concerned(cast: Cast) -> set[str]:
    """Give the lots that the deviation of the instrument concerns."""
    (found,) = Deviation.objects.of(cast.dairy).filter(cause=Cause.INSTRUMENT)
    return {one.lot.code for one in state_of(cast.dairy, found).affected if one.lot}


def test_the_lots_between_the_readings_around_the_one_that_is_not_valid_are_named(
    brine: tuple[Cast, Instrument, Life],
) -> None:
    cast, probe, _life = brine
    in_ice(cast, probe, hours(70), "1.8")
    assert concerned(cast) == {"L-2", "L-3"}
    assert verify(cast.dairy) == []


def test_a_probe_that_is_still_good_names_none(brine: tuple[Cast, Instrument, Life]) -> None:
    cast, probe, _life = brine
    assert in_ice(cast, probe, hours(70), "0.2").opened == ()


def test_a_use_recorded_later_is_named_when_it_falls_into_the_time_not_shown(
    brine: tuple[Cast, Instrument, Life],
) -> None:
    cast, probe, life = brine
    with at(cast.dairy, hours(24)):
        forgotten = a_lot(cast, "L-5", started=hours(24))
        after = a_lot(cast, "L-6", started=hours(24))
    in_ice(cast, probe, hours(70), "1.8")
    used = enter(cast, life, forgotten, hours(26), hours(27), hours(71))
    assert [one.cause for one in used.deviations] == [Cause.INSTRUMENT]
    assert enter(cast, life, after, hours(62), hours(63), hours(71)).deviations == []
    assert concerned(cast) == {"L-2", "L-3", "L-5"}
