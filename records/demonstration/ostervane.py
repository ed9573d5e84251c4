"""The days before a day of Ostervane Creamery, an invented place: two vats, four people, bought milk.

The day itself is left to be lived: brine that was thinned, a load that arrives warm, lots to be washed in
their order. What is told here stands in fixtures/demo/ostervane_story.json.
"""

import json
from datetime import datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction

from records.demonstration.acts import Stage, makes, rounds
from records.demonstration.adopting import adopt
from records.demonstration.stocking import stock
from records.demonstration.teller import FOLDER, WRITING, Teller
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.services import Details, MemberSpec, add_person, open_establishment
from safetyplan.integrity import clock
from safetyplan.integrity.seals import seal

SLUG = "ostervane"
PASSWORD = "brine-and-blue-mould"  # the demonstration's only; printed by the command
TELLING = "Telling the invented days before today ..."
NAMES = (
    ("piet", "Piet Rusk, maker at the vats"),
    ("adaeze", "Adaeze Holm, maker in the cave"),
    ("lindiwe", "Lindiwe Marr, quality: reviewer, qualified individual"),
    ("tomas", "Tomas Quell, owner: responsible person, qualified individual, maker"),
)
DETAILS = Details(
    name="Ostervane Creamery",
    address="Ostervane, an invented place",
    registration_number="invented 002",
    time_zone="Europe/London",
)
LATEST_SHIFT = timedelta(hours=15)
"""How far the last make may move towards midnight, so that its 24 hours end after the present hour."""


def load() -> dict[str, Any]:
    """Read the story of the days before."""
    found: dict[str, Any] = json.loads((FOLDER / "ostervane_story.json").read_text())
    return found


def tell(*, now: datetime | None = None, slug: str = SLUG, suffix: str = "") -> Establishment:
    """Open the dairy and tell the days before the present one; all or nothing."""
    zone, story = ZoneInfo(DETAILS.time_zone), load()
    with transaction.atomic():
        owner = Person.objects.create_person(username=f"tomas{suffix}", password=PASSWORD)
        dairy = open_establishment(
            slug=slug,
            details=DETAILS,
            administrator=owner,
            member=_member(story["people"][0]),
            demonstration=True,
        )
        present = (now or clock.now(dairy)).astimezone(zone)
        teller = Teller(dairy, owner, owner, ZoneTime(zone), present.date())
        with teller.at(teller.moment(story["begins"], "04:00")):
            people = {"tomas": owner, **_people(dairy, owner, story["people"][1:], suffix)}
        with teller.at(teller.moment(story["begins"], "05:00")):
            adopt(teller, (FOLDER / "ostervane_plan.json").read_text(), "Walked with Piet and Adaeze")
        stage = Stage(teller, people, story)
        stock(stage)
        _days_before(stage, present)
        seal(establishment=dairy, reason="daily")
    return dairy


def _people(dairy: Establishment, owner: Person, rows: list[Any], suffix: str) -> dict[str, Person]:
    found = {}
    for row in rows:
        joined = add_person(
            establishment=dairy,
            by=owner,
            username=f"{row[0]}{suffix}",
            password=PASSWORD,
            member=_member(row),
        )
        found[row[0]] = joined.person
    return found


def _member(row: list[Any]) -> MemberSpec:
    _name, printed, initials, roles = row
    return MemberSpec(printed, initials, tuple(roles))


def _days_before(stage: Stage, present: datetime) -> None:
    """Tell the makes and the daily rounds in the order in which they happened; the week is not reviewed yet.

    The last make moves towards midnight with the hour at which it is told: its 24 hours are still to come.
    """
    opening = datetime.combine(present.date(), time(5, 30), tzinfo=present.tzinfo)
    late = min(max(present - opening, timedelta()), LATEST_SHIFT)
    acts = [*makes(stage, late), *rounds(stage)]
    for act in sorted(acts, key=lambda one: one.at):
        if act.at + WRITING < present and act.day < 0:
            stage.play(act)
