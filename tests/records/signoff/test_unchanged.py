"""The answer kept of a signed day is always the one that its sheet gives, and mostly costs no sheet."""

from collections.abc import Callable, Iterator
from datetime import datetime

import pytest

from records.batches.models import Lot, LotEvent
from records.checks.models import Reading
from records.checks.services import void_reading
from records.checks.tick import tick
from records.checks.voiding import void_event
from records.signoff import unchanged
from records.signoff.models import DaySigned
from records.signoff.queries import day_sheet
from records.signoff.services import sign_day
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.queries import zone_of
from tests.builders import T0, a_lot, a_reading, an_event, an_unforeseen_one, at, day_slot, hours, lot_slot
from tests.cast import Cast
from tests.records.rules.limits import extra_of
from tests.records.rules.test_signatures import sign, whole_day

DAY = T0.date()
TOMORROW = T0.replace(day=15)
Act = Callable[[Cast, Lot, datetime], object]


@pytest.fixture
def signed(working: Cast) -> Iterator[tuple[Cast, Lot]]:
    """Record a whole day and sign it; nothing of an earlier test is kept."""
    unchanged._answers.clear()
    with at(working.dairy, hours(0.1)):
        lot = a_lot(working)
    whole_day(working, lot, working.maker, working.helper)
    sign(working, working.reviewer)
    yield working, lot
    unchanged._answers.clear()


def kept(cast: Cast, now: datetime) -> bool:
    """Ask whether the day has changed, as the page of today does."""
    signature = DaySigned.objects.of(cast.dairy).filter(day=DAY).order_by("entry__sequence").last()
    assert signature is not None
    with at(cast.dairy, now):
        local = ZoneTime(zone_of(cast.dairy))
        return unchanged.changed_days(cast.dairy, {DAY: signature}, local, now) == {DAY}


def fresh(cast: Cast, now: datetime) -> bool:
    """Compose the sheet of the day and look."""
    with at(cast.dairy, now):
        return day_sheet(cast.dairy, DAY, ZoneTime(zone_of(cast.dairy)), now).needs_signing_again


def store(cast: Cast, _lot: Lot, now: datetime) -> object:
    return a_reading(cast, day_slot(TOMORROW, "PRP1"), now, temperature="3.5")


def store_too_warm(cast: Cast, _lot: Lot, now: datetime) -> object:
    return a_reading(cast, day_slot(TOMORROW, "PRP1"), now, temperature="9.5")


def another_lot(cast: Cast, _lot: Lot, now: datetime) -> object:
    return an_event(cast, a_lot(cast, "TF-0515", started=now), "starter_added", now)


def late_for_the_day(cast: Cast, _lot: Lot, now: datetime) -> object:
    return a_reading(cast, extra_of(T0, "PRP1"), hours(15), late_reason="On paper", temperature="3.9")


def acid_of_the_lot(cast: Cast, lot: Lot, now: datetime) -> object:
    return a_reading(cast, lot_slot(lot, "CCP2"), now, ph="4.5")


def event_of_the_lot(cast: Cast, lot: Lot, now: datetime) -> object:
    return an_event(cast, lot, "packed", now)


def void_of_the_day(cast: Cast, _lot: Lot, now: datetime) -> object:
    (row,) = Reading.objects.of(cast.dairy).filter(slot=day_slot(T0, "PRP1"))
    return void_reading(establishment=cast.dairy, by=cast.helper, original=row, why="Another store")


def void_of_the_starter(cast: Cast, lot: Lot, now: datetime) -> object:
    event = LotEvent.objects.of(cast.dairy).get(lot=lot, event="starter_added")
    return void_event(establishment=cast.dairy, by=cast.maker, original=event, why="Not yet")


def clock_passes(cast: Cast, _lot: Lot, now: datetime) -> object:
    return tick(cast.dairy)


def unforeseen(cast: Cast, _lot: Lot, now: datetime) -> object:
    return an_unforeseen_one(cast, "A window was broken")


ACTS: list[Act] = [
    store,
    store_too_warm,
    another_lot,
    late_for_the_day,
    acid_of_the_lot,
    event_of_the_lot,
    void_of_the_day,
    void_of_the_starter,
    clock_passes,
    unforeseen,
]


@pytest.mark.parametrize("act", ACTS, ids=lambda act: act.__name__)
def test_after_any_act_the_kept_answer_is_the_one_of_the_sheet(signed: tuple[Cast, Lot], act: Act) -> None:
    cast, lot = signed
    assert kept(cast, hours(24.4)) == fresh(cast, hours(24.4))
    with at(cast.dairy, hours(24.5)):
        act(cast, lot, hours(24.5))
    for hour in (24.5, 25, 30, 60):
        assert kept(cast, hours(hour)) == fresh(cast, hours(hour))


def test_some_of_the_acts_change_the_day_and_some_do_not(signed: tuple[Cast, Lot]) -> None:
    cast, lot = signed
    assert not kept(cast, hours(24.4))
    with at(cast.dairy, hours(24.5)):
        store(cast, lot, hours(24.5))
    assert not kept(cast, hours(24.5))
    with at(cast.dairy, hours(24.6)):
        late_for_the_day(cast, lot, hours(24.6))
    assert kept(cast, hours(24.6))
    with at(cast.dairy, hours(24.7)):
        sign_day(establishment=cast.dairy, proof=cast.proof(cast.reviewer), day=DAY, note="Read the late one")
    assert not kept(cast, hours(24.8))


@pytest.mark.parametrize(("act", "sheets"), [(store, 0), (another_lot, 0), (late_for_the_day, 1)])
def test_what_cannot_touch_the_day_composes_no_sheet(
    signed: tuple[Cast, Lot], monkeypatch: pytest.MonkeyPatch, act: Act, sheets: int
) -> None:
    cast, lot = signed
    with at(cast.dairy, hours(24.4)):
        tick(cast.dairy)
    kept(cast, hours(24.4))
    composed = []
    whole = unchanged._compose

    def counted(*about):
        composed.append(about[1])
        return whole(*about)

    monkeypatch.setattr(unchanged, "_compose", counted)
    with at(cast.dairy, hours(24.45)):
        act(cast, lot, hours(24.45))
    kept(cast, hours(24.45))
    kept(cast, hours(24.46))
    assert composed == [DAY] * sheets


def test_the_answer_of_another_ledger_counts_for_nothing(signed: tuple[Cast, Lot]) -> None:
    cast, _lot = signed
    kept(cast, hours(24.4))
    (key,) = unchanged._answers
    unchanged._answers[key] = unchanged.replace(unchanged._answers[key], hash="0" * 64, again=True)
    assert not kept(cast, hours(24.4))
