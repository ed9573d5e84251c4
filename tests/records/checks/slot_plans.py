"""Random plans, zones and days for the tests of due checks."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

from hypothesis import strategies as st

from safetyplan.calculation.limits.catalogue import load
from safetyplan.plans.parts import EACH, STARTED, Control, Event, Plan, Product, When

ZONES = ("Europe/Paris", "America/New_York", "Australia/Lord_Howe", "Atlantic/Azores", "Pacific/Apia")
PRODUCT = "P"
EXPECTED = {"starter_added": 8, "rennet_added": 12, "packed": 96}
EVENTS = tuple(EXPECTED)
WORD = load({"kind": "attribute", "part": "label", "options": ["yes", "no"], "accepted": ["yes"]})
BARE: dict[str, Any] = {
    "code": "C",
    "rank": "prp",
    "name": "Check",
    "products": (),
    "step": "",
    "limit": WORD,
    "what": "",
    "how": "",
    "who": "",
    "instrument": "",
    "corrective_actions": (),
    "measure_next_minutes": 0,
    "verification": "",
}


def lengths(least: int, most: int) -> st.SearchStrategy[timedelta]:
    """Draw a number of whole minutes."""
    return st.integers(least, most).map(lambda minutes: timedelta(minutes=minutes))


zones = st.sampled_from(ZONES)
KINDS_OF_THING = st.sampled_from(EACH)
_windows = st.integers(0, 1500)
_clock = st.tuples(st.integers(0, 23), st.integers(0, 59)).map(lambda at: f"{at[0]:02}:{at[1]:02}")
# the hours in which clocks are changed come up more often than others
_clocks = _clock | st.tuples(st.integers(0, 3), st.sampled_from((0, 15, 30, 45))).map(
    lambda at: f"{at[0]:02}:{at[1]:02}"
)
_daily = st.builds(
    When,
    kind=st.just("daily"),
    before=_windows,
    after=_windows,
    days=st.sampled_from(("every", "production")),
    times=st.lists(_clocks, min_size=1, max_size=3, unique=True).map(tuple),
    each=st.sampled_from(("", *EACH)),
)
_load = st.builds(
    When, kind=st.just("load"), after_minutes=st.integers(0, 3000), before=_windows, after=_windows
)
_after = st.builds(
    When,
    kind=st.just("after_event"),
    event=st.sampled_from((STARTED, *EVENTS)),
    after_minutes=st.integers(0, 3000),
    before=_windows,
    after=_windows,
)
_products = st.sampled_from(((PRODUCT,), (), ("Q",), (PRODUCT, "Q")))


@st.composite
def _reached(draw: st.DrawFn) -> dict[str, Any]:
    """Draw a limit reached by elapsed times, with the check that follows it."""
    hours = sorted(draw(st.sets(st.integers(1, 60), min_size=1, max_size=3)))
    points = [
        {
            "hours": str(hour),
            "limit": limit,
            "target": None,
            "window_before_minutes": draw(st.integers(1, 59)),
        }
        for hour, limit in zip(hours, ("5.8", "5.4", "5.2"), strict=False)
    ]
    document = {
        "kind": "reached_by",
        "part": "ph",
        "quantity": "ph",
        "unit": "pH",
        "direction": "at_most",
        "event": draw(st.sampled_from(EVENTS)),
        "tolerance": "0.05",
        "points": points,
    }
    return {"limit": load(document), "when": When("limit_points")}


@st.composite
def _several(draw: st.DrawFn) -> tuple[Control, ...]:
    found = []
    for number in range(draw(st.integers(1, 5))):
        kind = draw(st.sampled_from((_daily, _daily, _load, _after, None)))
        chosen: dict[str, Any] = draw(_reached()) if kind is None else {"when": draw(kind)}
        points = ("door", "middle", "wall", "top")[: draw(st.sampled_from((0, 0, 1, 2, 4)))]
        chosen["points"] = points if chosen["when"].kind == "daily" else ()
        found.append(Control(**{**BARE, "code": f"C{number}", "products": draw(_products), **chosen}))
    return tuple(found)


controls = _several()


def plan_of(found: Sequence[Control]) -> Plan:
    """Write a plan with some controls and one product."""
    events = tuple(Event(code, code, within, ()) for code, within in EXPECTED.items())
    product = Product(PRODUCT, "Cheese", "", "", 0, "", "", events, ())
    return Plan("Plan", "F", "en", 30, "responsible", (product,), (), tuple(found))


@cache
def changes(zone: str) -> tuple[date, ...]:
    """Find the days on which the clocks of a place are changed, by looking at each day of some years."""
    found = []
    for year in (2011, 2012, 2020, 2021, 2026, 2027):
        at = datetime(year, 1, 1, 12, tzinfo=UTC)
        while at.year == year:
            next_day = at + timedelta(days=1)
            if at.astimezone(ZoneInfo(zone)).utcoffset() != next_day.astimezone(ZoneInfo(zone)).utcoffset():
                found.append(next_day.astimezone(ZoneInfo(zone)).date())
            at = next_day
    return tuple(found)


def days(zone: str) -> st.SearchStrategy[date]:
    """Draw a day: mostly one at or beside a change of the clocks."""
    beside = st.tuples(st.sampled_from(changes(zone)), st.integers(-2, 1))
    changed = beside.map(lambda found: found[0] + timedelta(days=found[1]))
    return changed | st.dates(date(2020, 1, 1), date(2030, 12, 31))
