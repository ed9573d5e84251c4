"""A brine outside its limit: one deviation over every lot that used it since the last reading within it."""

from datetime import datetime, timedelta

import pytest

from records.batches.models import Lot
from records.batches.services import EventContent
from records.checks.events import record_lot_event
from records.checks.services import ReadingContent, correct_reading, void_reading
from records.checks.slots import thing_slot_id
from records.checks.thing_records import change_use, correct_birth, use_thing
from records.deviations.closing import close_deviation
from records.deviations.files import attach_file
from records.deviations.models import Deviation
from records.deviations.queries import states
from records.things.queries import Life
from records.things.services import Birth
from records.things.using import UseContent, end_use
from tests.builders import T0, a_lot, a_reading, at, hours
from tests.cast import Cast, make_cast
from tests.records.rules.limits import approve
from tests.records.things.plan import with_things
from tests.records.things.stage import a_thing


@pytest.fixture
def cellar(db: None) -> Cast:
    """Open a dairy whose plan asks for the strength of each brine, morning and afternoon."""
    cast = make_cast()
    approve(cast, with_things(), T0.replace(day=10))
    return cast


def slot(life: Life, day: int, ordinal: int | str = 0, control: str = "BR1") -> str:
    return thing_slot_id(life.id, control, (T0 + timedelta(days=day)).date(), ordinal)


def measure(cast: Cast, life: Life, day: int, salt: str, ordinal: int = 0):
    moment = hours(24 * day + 8 * ordinal)
    with at(cast.dairy, moment):
        return a_reading(cast, slot(life, day, ordinal), moment, salt=salt)


def salted(cast: Cast, life: Life, lot: Lot, start: datetime, end: datetime | None = None, recorded=None):
    with at(cast.dairy, recorded or end or start):
        content = UseContent(start, end, late_reason="Entered in the evening")
        return use_thing(establishment=cast.dairy, by=cast.maker, life=life, lots=[lot], content=content)


def lot_at(cast: Cast, code: str, moment: datetime) -> Lot:
    with at(cast.dairy, moment):
        return a_lot(cast, code, started=moment)


def concerned(cast: Cast, found: list[Deviation] | None = None) -> set[str]:
    """Give the codes of the lots that deviations of the brine concern."""
    rows = found if found is not None else Deviation.objects.of(cast.dairy).filter(control="BR1")
    codes: set[str] = set()
    for state in states(cast.dairy, rows):
        codes |= {one.lot.code for one in state.affected if one.lot}
    return codes


@pytest.fixture
def week(cellar: Cast) -> tuple[Cast, Life]:
    """Tell of a brine with four lots: gone before the last good reading, across it, after it, and later."""
    with at(cellar.dairy, hours(-1)):
        life = a_thing(cellar, begun=hours(-1))
        lots = {code: a_lot(cellar, code, started=hours(-1)) for code in ("L-1", "L-2", "L-3", "L-4")}
    measure(cellar, life, 0, "20.1")
    salted(cellar, life, lots["L-1"], hours(1), hours(20))
    salted(cellar, life, lots["L-2"], hours(2), hours(30))
    measure(cellar, life, 1, "19.2")
    salted(cellar, life, lots["L-3"], hours(40))
    return cellar, life


def test_a_reading_outside_names_every_lot_since_the_last_one_within(week: tuple[Cast, Life]) -> None:
    cast, life = week
    found = measure(cast, life, 3, "16.1")
    assert found.deviation is not None
    assert concerned(cast) == {"L-2", "L-3"}
    assert Deviation.objects.of(cast.dairy).filter(control="BR1").count() == 1
    (state,) = states(cast.dairy, [found.deviation])
    assert all(one.hold_required for one in state.affected)


def test_a_reading_within_its_limit_opens_nothing(week: tuple[Cast, Life]) -> None:
    cast, life = week
    assert measure(cast, life, 3, "18.0").deviation is None
    assert concerned(cast) == set()


def test_a_prerequisite_of_the_brine_names_no_lots(week: tuple[Cast, Life]) -> None:
    cast, life = week
    with at(cast.dairy, hours(72)):
        a_reading(cast, slot(life, 3, control="BR2"), hours(72), temperature="17")
    found = states(cast.dairy, Deviation.objects.of(cast.dairy))
    assert not any(one.hold_required for state in found for one in state.affected)


def test_a_second_reading_outside_belongs_to_the_same_deviation(week: tuple[Cast, Life]) -> None:
    cast, life = week
    first, second = measure(cast, life, 3, "16.1"), measure(cast, life, 3, "16.4", ordinal=1)
    assert first.deviation is not None
    assert second.deviation == first.deviation


def test_a_lot_put_in_before_the_brine_is_right_again_is_named_too(week: tuple[Cast, Life]) -> None:
    cast, life = week
    measure(cast, life, 3, "16.1")
    salted(cast, life, lot_at(cast, "L-5", hours(72)), hours(73), hours(74))
    assert "L-5" in concerned(cast)
    measure(cast, life, 3, "20.0", ordinal=1)
    salted(cast, life, lot_at(cast, "L-6", hours(80)), hours(81), hours(82))
    assert "L-6" not in concerned(cast)


def test_a_use_entered_later_is_named_when_it_is_entered(week: tuple[Cast, Life]) -> None:
    cast, life = week
    forgotten = lot_at(cast, "L-7", hours(41))
    measure(cast, life, 3, "16.1")
    assert "L-7" not in concerned(cast)
    salted(cast, life, forgotten, hours(42), hours(50), recorded=hours(75))
    assert "L-7" in concerned(cast)


def test_a_corrected_time_brings_a_lot_in(week: tuple[Cast, Life]) -> None:
    cast, life = week
    lot = lot_at(cast, "L-8", hours(3))
    (use,) = salted(cast, life, lot, hours(3), hours(5)).rows
    measure(cast, life, 3, "16.1")
    assert "L-8" not in concerned(cast)
    with at(cast.dairy, hours(73)):
        change_use(
            establishment=cast.dairy,
            by=cast.maker,
            life=life,
            use=use,
            from_at=hours(3),
            until_at=hours(45),
            why="Taken out a day later",
        )
    assert "L-8" in concerned(cast)


def test_a_corrected_reading_launders_nothing(week: tuple[Cast, Life]) -> None:
    cast, life = week
    found = measure(cast, life, 3, "16.1")
    late = lot_at(cast, "L-9", hours(41))
    with at(cast.dairy, hours(72.1)):
        content = ReadingContent(
            found.reading.slot, hours(72), [{"name": "salt", "raw": "19.1", "unit": "", "confirmed": False}]
        )
        done = correct_reading(
            establishment=cast.dairy, by=cast.maker, original=found.reading, content=content, why="Misread"
        )
    assert done.deviation == found.deviation
    salted(cast, life, late, hours(42), hours(50), recorded=hours(75))
    assert "L-9" in concerned(cast)


def test_closed_as_a_recording_error_it_reaches_no_further_lot(week: tuple[Cast, Life]) -> None:
    cast, life = week
    late = lot_at(cast, "L-9", hours(41))
    found = measure(cast, life, 3, "16.1")
    with at(cast.dairy, hours(72.1)):
        content = ReadingContent(
            found.reading.slot, hours(72), [{"name": "salt", "raw": "19.1", "unit": "", "confirmed": False}]
        )
        correct_reading(
            establishment=cast.dairy, by=cast.maker, original=found.reading, content=content, why="Misread"
        )
        for deviation in Deviation.objects.of(cast.dairy).filter(control="BR1"):
            attach_file(
                establishment=cast.dairy,
                by=cast.helper,
                name="scale.txt",
                content=b"19.1",
                deviation=deviation,
            )
            close_deviation(
                establishment=cast.dairy,
                proof=cast.proof(cast.reviewer),
                deviation=deviation,
                recording_error=True,
                why="The photo of the scale shows 19.1",
            )
    salted(cast, life, late, hours(42), hours(50), recorded=hours(75))
    assert "L-9" not in concerned(cast)


def test_voiding_the_last_reading_within_reaches_further_back(week: tuple[Cast, Life]) -> None:
    cast, life = week
    with at(cast.dairy, hours(24)):
        extra = a_reading(cast, slot(life, 1, "extra"), hours(24), salt="19.3")
    with at(cast.dairy, hours(24.1)):
        void_reading(establishment=cast.dairy, by=cast.maker, original=extra.reading, why="Another tank")
    measure(cast, life, 3, "16.1")
    assert concerned(cast) == {"L-2", "L-3"}
    good = first_good(cast, life)
    with at(cast.dairy, hours(73)):
        void_reading(establishment=cast.dairy, by=cast.maker, original=good, why="Another tank")
    assert concerned(cast) == {"L-1", "L-2", "L-3"}


def first_good(cast: Cast, life: Life):
    from records.checks.models import Reading

    return Reading.objects.of(cast.dairy).get(slot=slot(life, 1))


def test_a_lot_taken_out_before_stays_out(week: tuple[Cast, Life]) -> None:
    cast, life = week
    lot = lot_at(cast, "L-4B", hours(3))
    (use,) = salted(cast, life, lot, hours(3)).rows
    with at(cast.dairy, hours(6)):
        end_use(establishment=cast.dairy, by=cast.maker, use=use, life=life, until_at=hours(6))
    measure(cast, life, 3, "16.1")
    assert "L-4B" not in concerned(cast)


def test_a_wash_too_old_by_a_corrected_birth_is_judged_again(cellar: Cast) -> None:
    with at(cellar.dairy, hours(-1)):
        life = a_thing(cellar, "preparation", "W1", hours(-1))
        lot = a_lot(cellar, "V-1", started=hours(-1))
    salted(cellar, life, lot, hours(22.5))
    with at(cellar.dairy, hours(23)):
        used = a_reading(cellar, slot(life, 1, control="WA1"), hours(23), used_at="06:30")
    assert used.reading.state == "within"
    with at(cellar.dairy, hours(23.5)):
        birth = Birth("preparation", "", "The wash", hours(-2.5), late_reason="Written down wrongly")
        _row, opened = correct_birth(
            establishment=cellar.dairy, by=cellar.maker, life=life, birth=birth, why="Made the evening before"
        )
    assert concerned(cellar, opened) == {"V-1"}


def test_lots_washed_old_before_young_are_outside_the_order(cellar: Cast) -> None:
    young, old = lot_at(cellar, "V-2", hours(-1)), lot_at(cellar, "V-1", hours(-3))
    with at(cellar.dairy, hours(0)):
        life = a_thing(cellar, "preparation", "W1", hours(-0.5))
        content = UseContent(hours(0), in_order=True)
        about = {"establishment": cellar.dairy, "by": cellar.maker, "life": life, "content": content}
        kept = use_thing(lots=[young, old], **about)
        broken = use_thing(lots=[old, young], **about)
    assert kept.order is not None
    assert (kept.order.reading.state, kept.order.reading.slot) == ("within", slot(life, 0, control="WA2"))
    assert broken.order is not None
    assert broken.order.reading.state == "outside_limit"
    assert [row.place for row in broken.rows] == [1, 2]
    assert concerned(cellar, [broken.order.deviation]) == {"V-1", "V-2"}


def test_the_young_lots_of_a_broken_order_are_named_where_the_check_belongs_to_the_day(db: None) -> None:
    plan = with_things()
    for control in plan["controls"]:
        if control["code"] == "WA2":
            del control["monitoring"]["when"]["each"]
    cast = make_cast()
    approve(cast, plan, T0.replace(day=10))
    young, middle, old = (lot_at(cast, f"V-{n}", hours(-n)) for n in (1, 2, 3))
    with at(cast.dairy, hours(0)):
        life = a_thing(cast, "preparation", "W1", hours(-0.5))
        content = UseContent(hours(0), in_order=True)
        about = {"establishment": cast.dairy, "by": cast.maker, "life": life, "content": content}
        kept = use_thing(lots=[young, middle, old], **about)
        broken = use_thing(lots=[old, young, middle], **about)
    assert kept.order is not None
    assert kept.order.deviation is None
    assert broken.order is not None
    (state,) = states(cast.dairy, [broken.order.deviation])
    assert {one.lot.code: one.hold_required for one in state.affected if one.lot} == {
        "V-1": True,
        "V-2": True,
    }


def test_a_lot_whose_event_tells_of_the_brine_is_named(week: tuple[Cast, Life]) -> None:
    cast, life = week
    before, after = lot_at(cast, "L-10", hours(41)), lot_at(cast, "L-11", hours(42))
    tell_salted(cast, before, hours(43))
    measure(cast, life, 3, "16.1")
    assert "L-10" in concerned(cast)
    assert "L-11" not in concerned(cast)
    tell_salted(cast, after, hours(73))
    assert "L-11" in concerned(cast)


def tell_salted(cast: Cast, lot: Lot, moment: datetime) -> None:
    """Record the event of a lot that says in which brine it was salted."""
    said = {"name": "brine", "raw": "B1", "unit": "", "confirmed": False}
    with at(cast.dairy, moment):
        content = EventContent("salted", moment, details=(said,))
        record_lot_event(establishment=cast.dairy, by=cast.maker, lot=lot, content=content)
