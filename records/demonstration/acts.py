"""Acts of a story written as data: who does what at which hour, told through the services."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from records.batches.models import Lot
from records.batches.services import EventContent, start_lot
from records.checks.events import record_lot_event
from records.checks.instrument_checks import record_check
from records.checks.receipts import fill_lot, take_load
from records.checks.rounds import RoundContent, confirm_round, waiting
from records.checks.services import explain_check
from records.checks.slots import load_slot_id, thing_slot_id
from records.checks.thing_records import use_thing
from records.demonstration.teller import WRITING, Teller
from records.instruments.checking import CheckContent
from records.instruments.measured import Readings
from records.instruments.models import Instrument
from records.receiving.models import Herd, MilkLoad, Supplier
from records.receiving.services import LoadContent
from records.things.queries import life_of
from records.things.services import Birth, EndContent, RecipeLine, end_thing, make_thing
from records.things.using import UseContent
from safetyplan.establishments.models import Establishment, Person

WASH_FROM = timedelta(days=3)
WASHED_UNTIL = timedelta(days=45)


@dataclass(frozen=True)
class Act:
    """One act: on which day (0 is the one left to be lived), when, by whom, what, with which words."""

    day: int
    at: datetime
    by: str
    what: str
    told: tuple[Any, ...]
    make: Mapping[str, Any] | None = None
    late: timedelta = timedelta()


@dataclass
class Stage:
    """The dairy of a story with what stands in it so far."""

    teller: Teller
    people: dict[str, Person]
    story: dict[str, Any]
    farms: dict[str, tuple[Supplier, Herd]] = field(default_factory=dict)
    instruments: dict[str, Instrument] = field(default_factory=dict)
    things: dict[str, UUID] = field(default_factory=dict)
    lots: dict[str, Lot] = field(default_factory=dict)
    loads: dict[str, MilkLoad] = field(default_factory=dict)
    kit: UUID | None = None

    @property
    def dairy(self) -> Establishment:
        """Give the dairy."""
        return self.teller.dairy

    def by(self, name: str) -> Teller:
        """Give the teller whose records are somebody's."""
        return replace(self.teller, maker=self.people[name])

    def play(self, act: Act) -> None:
        """Tell one act."""
        PLAYED[act.what](self, act)

    def check_instrument(self, code: str, at: datetime, by: str) -> None:
        """Tell a check of an instrument by its schedule."""
        instrument, found = self.instruments[code], self.story["found"][code]
        read = Readings([{"shown": found}])
        if not isinstance(found, str):
            read = Readings([{"name": name, "shown": shown} for name, shown in found])
        given = {} if isinstance(found, str) else {"temperature": "20", "temperature_unit": "degC"}
        content = CheckContent(instrument.check_method or "", at, read, given=given)
        with self.teller.at(at + WRITING):
            record_check(establishment=self.dairy, by=self.people[by], instrument=instrument, content=content)

    def make_thing(self, birth: Birth, by: str) -> None:
        """Tell that a thing was made or taken into use."""
        with self.teller.at(birth.begun_at + WRITING):
            row = make_thing(establishment=self.dairy, by=self.people[by], birth=birth)
            self.things[birth.code] = row.pk


# The acts of a story, in no order -------------------------------------------------------------------


def makes(stage: Stage, late: timedelta) -> Iterator[Act]:
    """Give the acts of every make; `late` moves the last one towards midnight."""
    last = max(make["day"] for make in stage.story["lots"])
    for make in stage.story["lots"]:
        moved = late if make["day"] == last else timedelta()
        for day, at, by, what, *told in stage.story["courses"][make["product"]]:
            moment = stage.teller.moment(make["day"] + day, at) + moved
            on = (stage.teller.local.local(moment).date() - stage.teller.today).days
            yield Act(on, moment, by, what, tuple(told), make, moved)


def rounds(stage: Stage) -> Iterator[Act]:
    """Give the acts of the daily rounds; those of production on the days of a make only."""
    days = stage.story["days"]
    of_makes = {make["day"] for make in stage.story["lots"]}
    for day in range(days["from"], 0):
        for at, by, what, *told in [*days["every"], *(days["production"] if day in of_makes else [])]:
            yield Act(day, stage.teller.moment(day, at), by, what, tuple(told))


# Playing them ---------------------------------------------------------------------------------------


def _name(stage: Stage, make: Mapping[str, Any], prefix: str) -> str:
    return f"{prefix}-{stage.teller.today + timedelta(days=make['day']):%m%d}"


def _lot(stage: Stage, act: Act) -> Lot:
    assert act.make is not None
    return stage.lots[_name(stage, act.make, act.make["product"])]


def _load(stage: Stage, act: Act) -> MilkLoad:
    assert act.make is not None
    return stage.loads[_name(stage, act.make, "M")]


def _values(stage: Stage, act: Act, told: Mapping[str, str]) -> dict[str, str]:
    """Fill in what a make gives, and write the hours of its day."""
    make = act.make or {}
    found = {}
    for name, text in told.items():
        if text.startswith("at:"):
            moment = stage.teller.moment(make["day"], text.removeprefix("at:")) + act.late
            found[name] = f"{stage.teller.local.local(moment):%H:%M}"
        else:
            code = f"{abs(make.get('day', 0)) + 300}"
            found[name] = text.format(**{**make, "day": abs(make.get("day", 0)) % 9 + 1, "code": code})
    return found


def _instrument(stage: Stage, told: tuple[Any, ...]) -> UUID | None:
    return stage.instruments[told[0]].pk if told else None


def _received(stage: Stage, act: Act) -> None:
    make = act.make
    assert make is not None
    supplier, herd = stage.farms[make["farm"]]
    code, earlier = _name(stage, make, "M"), act.at - timedelta(hours=12)
    content = LoadContent(
        supplier=supplier.identity,
        herd=herd.identity,
        species="cow",
        milkings=[earlier, act.at - timedelta(minutes=45)],
        received_at=act.at,
        volume=make["milk"],
        code=code,
        tank="T1",
        kit=stage.kit,
        details={"smell": "clean", "filter": "clean"},
    )
    with stage.teller.at(act.at + WRITING):
        taken = take_load(establishment=stage.dairy, by=stage.people[act.by], content=content)
    stage.loads[code] = taken.load


def _started(stage: Stage, act: Act) -> None:
    make = act.make
    assert make is not None
    code = _name(stage, make, make["product"])
    about: dict[str, Any] = {"establishment": stage.dairy, "by": stage.people[act.by]}
    with stage.teller.at(act.at + WRITING):
        lot = start_lot(
            code=code,
            product=make["product"],
            vat=act.told[0],
            milk=make["milk"],
            started_at=act.at,
            **about,
        )
        fill_lot(lot=lot, load=_load(stage, act).identity, volume=make["milk"], **about)
    stage.lots[code] = lot


def _of_lot(stage: Stage, act: Act) -> None:
    control, told, *rest = act.told
    slot = stage.teller.of_lot(_lot(stage, act), control)
    values, tool = _values(stage, act, told), _instrument(stage, tuple(rest))
    stage.by(act.by).read(slot, act.at, values, instrument=tool)


def _of_load(stage: Stage, act: Act) -> None:
    control, told, *rest = act.told
    slot = load_slot_id(_load(stage, act).identity, control, 0)
    values, tool = _values(stage, act, told), _instrument(stage, tuple(rest))
    stage.by(act.by).read(slot, act.at, values, instrument=tool)


def _of_day(stage: Stage, act: Act) -> None:
    control, ordinal, told, *rest = act.told
    slot = stage.teller.of_day(act.day, control, ordinal)
    tool = _instrument(stage, tuple(rest))
    stage.by(act.by).read(slot, act.at, _values(stage, act, told), instrument=tool)


def _of_thing(stage: Stage, act: Act) -> None:
    control, code, told = act.told
    day = stage.teller.today + timedelta(days=act.day)
    slot = thing_slot_id(stage.things[code], control, day, 0)
    stage.by(act.by).read(slot, act.at, _values(stage, act, told))


def _brine(stage: Stage, act: Act) -> None:
    """Tell the reading of the brine, or why there is none."""
    days = stage.story["days"]
    strength = days["brine"].get(str(act.day))
    if strength is not None:
        values = {"strength": strength, "temperature": "12.1", "ph": "5.22"}
        _of_thing(stage, replace(act, told=("OPRP5", "B1", values)))
        return
    day = stage.teller.today + timedelta(days=act.day)
    slot = thing_slot_id(stage.things["B1"], "OPRP5", day, 0)
    with stage.teller.at(stage.teller.moment(act.day, "14:30")):
        explain_check(establishment=stage.dairy, by=stage.people[act.by], slot=slot, why=days["brine_missed"])


def _happened(stage: Stage, act: Act) -> None:
    event, told = act.told
    values = _values(stage, act, told)
    details = [{"name": n, "raw": raw, "unit": "", "confirmed": True} for n, raw in values.items()]
    content = EventContent(event=event, observed_at=act.at, details=tuple(details))
    with stage.teller.at(act.at + WRITING):
        record_lot_event(
            establishment=stage.dairy, by=stage.people[act.by], lot=_lot(stage, act), content=content
        )


def _store(stage: Stage, act: Act) -> None:
    """Tell the points of the cold store, one minute after the other."""
    values = stage.story["days"]["store"]
    for point, value in enumerate(values):
        slot = stage.teller.of_day(act.day, "OPRP9", act.told[0] * len(values) + point)
        at = act.at + timedelta(minutes=point)
        stage.by(act.by).read(slot, at, {"temperature": value}, instrument=stage.instruments["P-1"].pk)


def _seen(stage: Stage, act: Act) -> None:
    day = stage.teller.today + timedelta(days=act.day)
    with stage.teller.at(act.at + WRITING):
        found = waiting(stage.dairy, day, stage.teller.local, act.at)
        content = RoundContent([state.slot.id for state in found], act.at)
        confirm_round(establishment=stage.dairy, by=stage.people[act.by], content=content)


def _washed(stage: Stage, act: Act) -> None:
    """Tell a wash mixed, used on the rinds, the youngest first, and poured away."""
    code = f"W-{stage.teller.today + timedelta(days=act.day):%m%d}"
    recipe = [RecipeLine("Boiled water", "8", "L"), RecipeLine("Salt", "320", "g", "S-340")]
    recipe.append(RecipeLine("Smear culture", "2", "g", "BL-077"))
    stage.make_thing(Birth("preparation", code, "Wash of the day", act.at, recipe), act.by)
    chosen = [
        lot
        for lot in stage.lots.values()
        if lot.product_code == "VR" and WASH_FROM < act.at - lot.started_at < WASHED_UNTIL
    ]
    chosen.sort(key=lambda lot: lot.started_at, reverse=True)
    life, by = life_of(stage.dairy, stage.things[code]), stage.people[act.by]
    assert life is not None
    used, over = act.at + timedelta(minutes=20), act.at + timedelta(hours=6)
    with stage.teller.at(used + WRITING):
        content = UseContent(used, in_order=True)
        use_thing(establishment=stage.dairy, by=by, life=life, lots=chosen, content=content)
    hour = f"{stage.teller.local.local(used):%H:%M}"
    _of_thing(stage, replace(act, at=used, told=("OPRP6", code, {"used": hour})))
    with stage.teller.at(over + WRITING):
        ended = EndContent("dumped", over, "Made for one day", "Poured away, tub boiled")
        end_thing(establishment=stage.dairy, by=by, life=life, content=ended)


def _checked(stage: Stage, act: Act) -> None:
    stage.check_instrument(act.told[0], act.at, act.by)


PLAYED = {
    "load": _received,
    "start": _started,
    "of_lot": _of_lot,
    "of_load": _of_load,
    "event": _happened,
    "day": _of_day,
    "thing": _of_thing,
    "brine": _brine,
    "store": _store,
    "round": _seen,
    "wash": _washed,
    "check": _checked,
}
