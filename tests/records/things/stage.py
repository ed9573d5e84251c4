"""Shared things of the tests: a brine, a wash, what happens to them, the lots that use them."""

from datetime import datetime, timedelta

from records.batches.models import Lot
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
from tests.builders import T0, at, hours
from tests.cast import Cast

BRINE_RECIPE = (RecipeLine("Salt", "40", "kg", "S-2211"), RecipeLine("Water", "160", "L"))


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


def minutes(count: float) -> timedelta:
    """Give a length of time."""
    return timedelta(minutes=count)
