"""Published check values through the service, end to end: the source of each stands in the test's name.

The acidification rows are makes or limits from the literature; what follows from them here is reasoned from
the rule that only a value measured in the window passes. The unit rows are judged against a limit kept in the
unit of the published result.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from pytest_django.plugin import DjangoDbBlocker

from records.batches.models import Lot
from records.checks.due import SlotState, lot_states
from records.checks.services import ReadingContent, Recorded, record_reading
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.integrity import clock
from tests.builders import T0, a_lot, a_reading, an_event, at, hours, lot_slot
from tests.calculation.published import check_value, published
from tests.calculation.test_units import CODES, PAIRS
from tests.cast import Cast, make_cast
from tests.records.rules.limits import approve, bound, document, extra_of, prerequisite
from tests.records.rules.sharing import undone

pytestmark = pytest.mark.django_db
NOON = hours(4)
Row = dict[str, Any]


@dataclass(frozen=True)
class Make:
    """A published make against a limit: the deadline in hours after the starter, the window, the result."""

    identity: str
    deadline: str
    window: int
    result: str
    deviation: str = ""
    why: str = ""

    @property
    def row(self) -> Row:
        """Give the published row."""
        return check_value("acidification", self.identity)

    def readings(self) -> list[tuple[float, str]]:
        """Give the readings of the make: hours after the starter, and the pH."""
        inputs = self.row["inputs"]
        times = inputs["t_h"] if "t_h" in inputs else [minutes / 60 for minutes in inputs["t_min"]]
        return [(float(time), str(value)) for time, value in zip(times, inputs["pH"], strict=True)]

    def answer(self) -> float:
        """Give the hour of the reading that answers the check: the first since its window opened."""
        opens = float(self.deadline) - self.window / 60
        return next(hour for hour, _ in self.readings() if hour >= opens)


@dataclass(frozen=True)
class Point:
    """A published limit, and one value against it."""

    identity: str
    value: str
    result: str


MAKES = (
    Make("AC-T-5.3", "4.5", 20, "not_shown", "not_made", "crossed by interpolation, measured too late"),
    Make("AC-T-5.3", "5", 20, "within", why="measured at the deadline"),
    Make("AC-CHED-HI58", "2.75", 30, "not_shown", "not_made", "crossed by interpolation, measured too late"),
    Make("AC-CHED-HI58", "3.2", 30, "within", why="measured in the window"),
    Make("AC-CHED-LO53", "3.97", 4, "not_shown", "not_made", "crossed by interpolation, measured too late"),
    Make("AC-CHED-LO53", "4.14", 10, "within", why="measured in the window"),
    Make("AC-T-NOISE", "3", 30, "within", why="measured at the deadline"),
    Make("AC-T-NOISE", "2.97", 10, "not_shown", "not_made", "crossed by interpolation, measured too late"),
    Make("AC-NOTREACHED", "8", 60, "outside_limit", "outside_limit", "never reached, nothing extrapolated"),
)
POINTS = (
    Point("AC-SA-STN", "5.80", "within"),
    Point("AC-SA-STN", "5.81", "outside_limit"),
    Point("AC-LAC-24", "4.40", "within"),
    Point("AC-LAC-24", "4.41", "outside_target"),
)
BOUNDS = {
    "AC-SA-MILK": ("colony_count", "cfu_per_ml"),
    "AC-LAC-D24": ("acidity", "dornic"),
    "AC-LAC-10": ("ph", "pH"),
}
EDGES = (
    Point("AC-SA-MILK", "100", "within"),
    Point("AC-SA-MILK", "<40", "within"),
    Point("AC-SA-MILK", "101", "outside_limit"),
    Point("AC-SA-MILK", ">1500", "outside_limit"),
    Point("AC-LAC-D24", "50", "within"),
    Point("AC-LAC-D24", "65", "within"),
    Point("AC-LAC-D24", "49.9", "outside_limit"),
    Point("AC-LAC-D24", "65.1", "outside_limit"),
    Point("AC-LAC-10", "5.0", "within"),
    Point("AC-LAC-10", "6.1", "within"),
    Point("AC-LAC-10", "4.99", "outside_limit"),
    Point("AC-LAC-10", "6.11", "outside_limit"),
)
UNIT_ROWS = [
    row for row in published("units") if "quantity" in row["inputs"] or (*row["inputs"], row["unit"]) in PAIRS
]


def sourced(case: Any) -> str:
    """Name a case by its row, what is tried, and the row's source."""
    row = case if isinstance(case, dict) else check_value("acidification", case.identity)
    tried = {Make: lambda: f"by {case.deadline} h, {case.why}", Point: lambda: f"{case.value}"}
    words = tried.get(type(case), lambda: str(row["inputs"]))()
    return f"{row['id']}: {words} | {row['source'][:90]}"


def reached_by(hour: str, limit: str | None, target: str | None, window: int) -> dict[str, Any]:
    """Write the limit of a pH reached by some hours after the starter."""
    point = {"hours": hour, "limit": limit, "target": target, "window_before_minutes": window}
    return {
        "kind": "reached_by",
        "part": "ph",
        "quantity": "ph",
        "unit": "pH",
        "direction": "at_most",
        "event": "starter_added",
        "tolerance": "0.01",
        "points": [point],
    }


def souring(cast: Cast, limit: dict[str, Any]) -> Lot:
    """Start a lot, its starter in at once, under a plan with this limit on the acid."""
    plan = document()
    for control in plan["controls"]:
        if control["code"] == "CCP2":
            control["limit"] = limit
    approve(cast, plan, T0.replace(day=13))
    with at(cast.dairy, T0):
        lot = a_lot(cast)
        an_event(cast, lot, "starter_added", T0)
    return lot


def measure(cast: Cast, lot: Lot, hour: float, value: str, ordinal: int | str = 0) -> Recorded:
    """Measure the acid at an hour, for the check or as a further reading."""
    with at(cast.dairy, hours(hour)):
        return a_reading(cast, lot_slot(lot, "CCP2", ordinal), hours(hour), ph=value)


def measured(cast: Cast, lot: Lot, make: Make) -> list[Recorded]:
    """Measure a whole make: one reading answers the check, the others are further ones."""
    answer = make.answer()
    return [
        measure(cast, lot, hour, value, 0 if hour == answer else "extra") for hour, value in make.readings()
    ]


def state(cast: Cast, lot: Lot) -> SlotState:
    """Give the acid check as it stands."""
    found = lot_states(cast.dairy, [lot], clock.now(cast.dairy))[lot.pk]
    return next(state for state in found if state.slot.control.code == "CCP2")


@pytest.mark.parametrize("make", MAKES, ids=sourced)
def test_a_published_make_ends_as_its_measured_values_say(cast: Cast, make: Make) -> None:
    target = str(make.row["inputs"]["target_pH"])
    lot = souring(cast, reached_by(make.deadline, target, None, make.window))
    measured(cast, lot, make)
    with at(cast.dairy, hours(12)):
        check = state(cast, lot)
    assert (str(check.result), [str(d.cause) for d in check.deviations]) == (
        make.result,
        [make.deviation] if make.deviation else [],
    )


def test_a_published_make_that_rises_again_after_its_limit_is_a_contradiction_for_a_person(
    cast: Cast,
) -> None:
    make = next(make for make in MAKES if make.identity == "AC-T-NOISE")
    lot = souring(cast, reached_by(make.deadline, str(make.row["inputs"]["target_pH"]), None, make.window))
    risen = next(done.reading for done in measured(cast, lot, make) if done.reading.value_text == "5.33")
    assert risen.state != "within"
    assert "reached_then_left" in risen.sentence


@pytest.mark.parametrize("point", POINTS, ids=sourced)
def test_a_published_limit_is_kept_on_its_value_and_missed_a_hundredth_beyond(
    cast: Cast, point: Point
) -> None:
    row = check_value("acidification", point.identity)
    hour = row["inputs"].get("hour") or row["inputs"]["hours_after_renneting"]
    published_value = str(row["expected"])
    limits = (published_value, None) if "hour" in row["inputs"] else ("4.60", published_value)
    lot = souring(cast, reached_by(str(hour), *limits, 60))
    assert measure(cast, lot, float(hour), point.value).reading.state == point.result


def edges(row: Row) -> dict[str, str]:
    """Give a published range or upper end as the ends of a bound."""
    if isinstance(row["expected"], list):
        low, high = row["expected"]
        return {"at_least": str(low), "at_most": str(high)}
    return {"at_most": str(row["expected"])}


def conversion(row: Row) -> tuple[str, str, str]:
    """Give a unit row's number, its unit, and the unit of the result."""
    if "quantity" in row["inputs"]:
        number, unit = row["inputs"]["quantity"].split(" ")
        return number, CODES[unit], CODES[row["unit"]]
    ((name, value),) = row["inputs"].items()
    return str(value), *PAIRS[name, row["unit"]]


def plan_of_bounds() -> dict[str, Any]:
    """Write a plan with one daily check for each published bound, and two for each published conversion."""
    plan = document()
    checks = []
    for identity, field in BOUNDS.items():
        row = check_value("acidification", identity)
        checks.append(prerequisite(identity, bound("amount", *field, **edges(row))))
    for row in UNIT_ROWS:
        unit = conversion(row)[2]
        low, high = (format(row["expected"] + sign * row["tolerance"], "f") for sign in (-1, 1))
        near = bound("amount", UNITS[unit].quantity, unit, at_least=low, at_most=high)
        below = bound("amount", UNITS[unit].quantity, unit, at_most=low)
        checks += [prerequisite(row["id"], near), prerequisite(f"{row['id']}-B", below)]
    return {**plan, "controls": [*plan["controls"], *checks]}


@pytest.fixture(scope="module")
def dairy(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Cast]:
    """Open a dairy with every published bound and conversion in its plan."""
    with undone(django_db_blocker):
        cast = make_cast()
        approve(cast, plan_of_bounds(), T0.replace(day=13))
        yield cast


def judged(cast: Cast, code: str, value: str, unit: str) -> str:
    """Record a value against a daily check, confirmed where it looks unlikely; give the result."""
    part = {"name": "amount", "raw": value, "unit": unit, "confirmed": True}
    content = ReadingContent(extra_of(NOON, code), NOON, [part])
    with at(cast.dairy, NOON):
        return record_reading(establishment=cast.dairy, by=cast.maker, content=content).reading.state


@pytest.mark.parametrize("point", EDGES, ids=sourced)
def test_a_published_range_holds_on_its_ends_and_not_beyond(dairy: Cast, point: Point) -> None:
    assert judged(dairy, point.identity, point.value, BOUNDS[point.identity][1]) == point.result


@pytest.mark.parametrize("row", UNIT_ROWS, ids=sourced)
def test_a_value_in_one_unit_is_within_a_limit_at_its_published_value_in_another(
    dairy: Cast, row: Row
) -> None:
    number, unit, _ = conversion(row)
    assert judged(dairy, row["id"], number, unit) == "within"


@pytest.mark.parametrize("row", UNIT_ROWS, ids=sourced)
def test_a_value_in_one_unit_is_outside_a_limit_below_its_published_value_in_another(
    dairy: Cast, row: Row
) -> None:
    number, unit, _ = conversion(row)
    assert judged(dairy, f"{row['id']}-B", number, unit) == "outside_limit"
