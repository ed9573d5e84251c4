"""Shared things of the tests: a brine, a wash, what happens to them, the lots that use them."""

from datetime import date, datetime, timedelta

import pytest

from records.batches.models import Lot
from records.checks.kinds import REJUDGED_BY_BIRTH, ROUND_CONFIRMED
from records.checks.models import PaperSheet, Reading, RejudgedByBirth, RoundConfirmed
from records.checks.paper import Written, enter_line, keep_sheet
from records.checks.rounds import void_round
from records.things.models import Thing, ThingUse
from records.things.queries import Life, life_of
from records.things.services import (
    Birth,
    ChangeContent,
    EndContent,
    RecipeLine,
    change_thing,
    correct_thing,
    end_thing,
    make_thing,
)
from records.things.using import UseContent, end_use, record_uses
from safetyplan.integrity import canonical, ledger
from tests.builders import T0, a_picture, at, day_slot, hours
from tests.cast import Cast, make_cast
from tests.records.rules.limits import approve
from tests.records.things.plan import with_things

MAY_14 = T0.date()
PHOTO = a_picture(form="PNG")
BRINE_RECIPE = (RecipeLine("Salt", "40", "kg", "S-2211"), RecipeLine("Water", "160", "L"))


@pytest.fixture
def cast(db: None) -> Cast:
    """Open the dairy with a plan of shared things in force."""
    made = make_cast()
    approve(made, with_things(), T0.replace(day=10))
    return made


def a_thing(
    cast: Cast, kind: str = "brine", code: str = "B1", begun: datetime = T0, late_reason: str = ""
) -> Life:
    """Make a thing."""
    birth = Birth(
        kind=kind,
        code=code,
        name=f"The {kind}",
        begun_at=begun,
        recipe=BRINE_RECIPE if kind == "brine" else (),
        late_reason=late_reason,
    )
    row: Thing = make_thing(establishment=cast.dairy, by=cast.maker, birth=birth)
    return life_again(cast, row)


def life_again(cast: Cast, thing: Life | Thing) -> Life:
    """Give a thing as it stands now."""
    key = thing.id if isinstance(thing, Life) else (thing.first_id or thing.pk)
    found = life_of(cast.dairy, key)
    assert found is not None
    return found


def put_in(
    cast: Cast,
    life: Life,
    *lots: Lot,
    start: datetime,
    end: datetime | None = None,
    in_order: bool = False,
    late_reason: str = "",
) -> list[ThingUse]:
    """Record that lots used a thing."""
    content = UseContent(from_at=start, until_at=end, in_order=in_order, late_reason=late_reason)
    return record_uses(establishment=cast.dairy, by=cast.maker, life=life, lots=lots, content=content)


def tend_a_brine(cast: Cast, lot: Lot) -> None:
    """Make a brine and correct its birth, salt a lot in it, add salt and correct that, dump it."""
    about = {"establishment": cast.dairy, "by": cast.maker}
    with at(cast.dairy, hours(26.2)):
        life = a_thing(cast, begun=hours(26.1))
        birth = Birth("brine", "", "The cheese brine", hours(26), BRINE_RECIPE, "", "Read again")
        correct_thing(life=life, birth=birth, why="Made a little earlier", **about)
        (use,) = put_in(cast, life, lot, start=hours(26.1))
        salted = ChangeContent("salt", hours(26.15), "2", "kg", "S-2211", "On top")
        added = change_thing(life=life, content=salted, **about)
        more = ChangeContent("salt", hours(26.15), "2.5", "kg", "S-2211", "On top")
        change_thing(life=life, content=more, supersedes=added, why="Weighed again", **about)
    with at(cast.dairy, hours(26.7)):
        end_use(use=use, life=life, until_at=hours(26.7), **about)
        ended = EndContent("dumped", hours(26.7), "Cloudy", "Poured away", "")
        end_thing(life=life, content=ended, **about)


def a_round(cast: Cast, moment: datetime) -> RoundConfirmed:
    """Record a round of a check that its plan lets be seen; as the ledger holds it, whatever the plan."""
    check = {"slot": day_slot(moment, "PRP9"), "control": "PRP9", "control_name": "Rooms"}
    row = RoundConfirmed(
        day=moment.date(),
        checks=canonical.dumps([{**check, "point": "", "limit_words": "clean"}]).decode(),
        observed_at=moment,
        late=False,
        late_reason="",
        voided=False,
    )
    ledger.append(kind=ROUND_CONFIRMED, row=row, establishment=cast.dairy, author=cast.maker)
    return row


def a_sheet(cast: Cast, number: str = "12-1", day: date = MAY_14) -> PaperSheet:
    """Keep the photo of a sheet."""
    return keep_sheet(
        establishment=cast.dairy,
        by=cast.maker,
        number=number,
        day=day,
        name="sheet.png",
        content=PHOTO,
    )


def minutes(count: float) -> timedelta:
    """Give a length of time."""
    return timedelta(minutes=count)


def see_and_write(cast: Cast) -> None:
    """Confirm a round and void it; judge a wash again by its corrected birth; enter a line of a sheet."""
    about = {"establishment": cast.dairy, "by": cast.maker}
    with at(cast.dairy, hours(26.8)):
        row = a_round(cast, hours(26.75))
        void_round(original=row, why="Nobody went there", **about)
        life = a_thing(cast, "preparation", "W1", hours(26.8))
        reading = Reading.objects.of(cast.dairy).order_by("entry__sequence").first()
        assert reading is not None
        again = RejudgedByBirth(
            reading=reading,
            birth=life.first,
            state_before="within",
            state="outside_limit",
            sentence="[]",
            sentence_text="Older than it was thought",
        )
        ledger.append(kind=REJUDGED_BY_BIRTH, row=again, establishment=cast.dairy, author=cast.maker)
        sheet = a_sheet(cast, day=hours(24).date())
        written = Written(
            slot=day_slot(hours(24), "PRP1"),
            on_date=hours(24).date().isoformat(),
            on_time="07:10",
            initials="mk",
            parts=[{"name": "temperature", "raw": "3.9", "unit": "", "confirmed": False}],
        )
        enter_line(sheet=sheet, written=written, **about)
