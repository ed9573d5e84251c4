"""What every kind of limit must answer at its edges, as a table: kind, what is tried, evidence, state.

A pair of kind and edge without a row stands in NOT_OF_THE_KIND with the reason.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from safetyplan.calculation.judgement import Evidence, Measured, State
from safetyplan.calculation.series import Series
from tests.calculation.evidence import EVENTS, START, after, chosen, number, ph, time
from tests.calculation.test_any_of import FRESH
from tests.calculation.test_attribute import TEST
from tests.calculation.test_difference import NEEDLES, THERMOMETERS
from tests.calculation.test_exposure_limit import ENDED, series
from tests.calculation.test_exposure_limit import MILK as WARM_MILK
from tests.calculation.test_held_for import VAT, good
from tests.calculation.test_held_for_log import QUICK, SLOW, beside
from tests.calculation.test_held_for_log import log as heat_log
from tests.calculation.test_in_order import MADE, WASHING, washed
from tests.calculation.test_not_after import CULTURE, FROM_EVENT, LAST_INSTANT, WASH
from tests.calculation.test_not_before import MADE as MADE_AT
from tests.calculation.test_not_before import RAW, daily, read
from tests.calculation.test_not_before import log as room_log
from tests.calculation.test_reached_by import one_point

ON, BEYOND, MISSING = "exactly on the limit", "one step beyond", "nothing entered"
WAITING, DIP, GAP = "time not up", "a dip", "a gap"
WRONG, CORRECTED = "before its correction", "after its correction"
UNIT, SOURCE_OUT, SOURCE_IN = (
    "another quantity",
    "just outside in another unit",
    "just inside in another unit",
)
EDGES = (ON, BEYOND, MISSING, WAITING, DIP, GAP, WRONG, CORRECTED, UNIT, SOURCE_OUT, SOURCE_IN)


@dataclass(frozen=True)
class Case:
    """One limit with one evidence and the state it must give."""

    what: str
    document: Mapping[str, Any]
    evidence: Evidence
    state: State

    @property
    def kind(self) -> str:
        """The kind of the limit."""
        return str(self.document["kind"])

    @property
    def name(self) -> str:
        """The kind and what is tried."""
        return f"{self.kind}: {self.what}"


Row = tuple[str, Mapping[str, Any], Evidence, State]


def given(
    *measured: Measured,
    now: datetime | None = None,
    events: Mapping[str, datetime] = EVENTS,
    series: Mapping[str, Series] | None = None,
) -> Evidence:
    """Evidence two days after the starter, unless said otherwise."""
    return Evidence(measured, events, now or after("48"), series=series or {})


def band(part: str, quantity: str, unit: str, **bounds: str) -> dict[str, Any]:
    """A bound without targets."""
    none = dict.fromkeys(("at_least", "at_most", "target_at_least", "target_at_most"))
    kept = {**none, **bounds, "tolerance": "0"}
    return {"kind": "bound", "part": part, "quantity": quantity, "unit": unit, **kept}


def warm(value: str, unit: str = "degC", at: datetime | None = START) -> Measured:
    """A temperature."""
    return number("temperature", value, unit, at)


MILK = band("temperature", "temperature", "degC", at_most="7")
LEGAL = band("temperature", "temperature", "degF", at_least="35")
ACID = one_point("24", "4.60", minutes=120)
COOLED = {
    **ACID,
    "part": "temperature",
    "quantity": "temperature",
    "unit": "degF",
    "direction": "at_least",
    "points": [{"hours": "24", "limit": "35", "target": None, "window_before_minutes": 120}],
}
BOTH = {"kind": "all_of", "members": [LEGAL, TEST]}
NOT_HIGHER = {**THERMOMETERS, "target_at_least": None, "unit": "degF", "at_most": "0.5", "tolerance": "0"}
LAST = {"kind": "last_of", "most": 0, "of": 3, "member": LEGAL}
STAPH = {
    "kind": "sampling_plan",
    "part": "sample",
    "quantity": "colony_count",
    "unit": "cfu_per_g",
    "n": 5,
    "c": 2,
    "m": "100",
    "M": "1000",
    "grams": None,
}
PLATE = {
    "kind": "rolling_geometric_mean",
    "part": "plate_count",
    "unit": "cfu_per_ml",
    "months": 2,
    "least_per_month": 2,
    "at_most": "100000",
    "method": "pooled_samples",
    "censored_as": "full_limit",
}


def pair(recorder: str, indicating: str, unit: str = "degC") -> Evidence:
    """Two thermometers."""
    return given(number("recorder", recorder, unit), number("indicating", indicating, unit))


def needles(out: str) -> Evidence:
    """Needles counted against 12 that went in."""
    return given(number("needles_out", out, "count"), number("needles_in", "12", "count"))


def heated(minutes: float, value: str = "65", **changes: Any) -> Evidence:
    """A hold of which the product's log changes and that of the air does not."""
    logs = {"product": heat_log(minutes, value, **changes), "air_space": heat_log(minutes, "67")}
    return given(*beside(), series=logs)


def quick(value: str) -> Evidence:
    """Fifteen seconds by the log of the product."""
    return given(*beside(), series={"product": heat_log(0.25, value, step=1 / 60)})


def aged(*readings: Measured, day: float = 60, series: Series | None = None) -> Evidence:
    """A cheese so many days after its make."""
    logs = {} if series is None else {"room_temperature": series}
    return given(*readings, now=MADE_AT + timedelta(days=day), events={"made": MADE_AT}, series=logs)


def kept(log: Series | None, *readings: Measured, hours: str = "48", **changes: Any) -> Evidence:
    """Milk from the end of milking to the starter, six hours later."""
    logs = {} if log is None else {"temperature": log}
    return given(*readings, now=after(hours), series=logs, **{"events": ENDED, **changes})


def hourly(*values: str, unit: str = "degC") -> list[Measured]:
    """Hand readings, one an hour from the end of milking."""
    return [number("temperature", value, unit, after(str(hour))) for hour, value in enumerate(values)]


def order(*entries: Measured) -> Evidence:
    """Lots washed."""
    return given(*entries, events=MADE)


def samples(*values: str, unit: str = "cfu_per_g") -> Evidence:
    """Results of one lot's samples."""
    return given(*(number(f"sample_{n}", value, unit) for n, value in enumerate(values, 1)))


def plates(*days: tuple[int, str], unit: str = "cfu_per_ml") -> Evidence:
    """Plate counts by the days since the first of April, seen on the last of May."""
    first = START.replace(month=4, day=1)
    found = [number("plate_count", value, unit, first + timedelta(days=day)) for day, value in days]
    return given(*found, now=START.replace(day=31))


def three(*values: str, unit: str = "degF") -> Evidence:
    """The last temperatures, an hour apart."""
    return given(*(warm(value, unit, after(str(n))) for n, value in enumerate(values)))


def with_test(temperature: str, unit: str, result: str) -> Evidence:
    """A temperature and a test."""
    return given(warm(temperature, unit), chosen("result", result))


def fresh(*entries: Measured) -> Evidence:
    """Milk judged at the start."""
    return given(*entries, now=START)


def milked(seconds_ago: int) -> Measured:
    """Milk that was milked so many seconds before the start."""
    return time("milked", START - timedelta(seconds=seconds_ago))


IN, TARGET, OUT = State.WITHIN, State.OUTSIDE_TARGET, State.OUTSIDE_LIMIT
NO, LATER = State.NOT_SHOWN, State.NOT_YET_DUE
WITHOUT_A_DAY = {f"h{hour}": "none" for hour in range(100, 124)}
MONTHS = ((3, "100000"), (20, "100000"), (33, "100000"), (50, "100000"))

ROWS: tuple[Row, ...] = (
    (ON, MILK, given(warm("7")), IN),
    (BEYOND, MILK, given(warm("7.001")), OUT),
    (MISSING, MILK, given(), NO),
    (WRONG, MILK, given(warm("71"), warm("7")), OUT),
    (CORRECTED, MILK, given(warm("7")), IN),
    (UNIT, MILK, given(warm("4", "kg")), NO),
    (SOURCE_OUT, LEGAL, given(warm("1.66")), OUT),
    (SOURCE_IN, LEGAL, given(warm("1.67")), IN),
    (ON, TEST, given(chosen("result", "negative")), IN),
    (BEYOND, TEST, given(chosen("result", "positive")), OUT),
    (MISSING, TEST, given(), NO),
    (WRONG, TEST, given(chosen("result", "positive"), chosen("result", "negative")), OUT),
    (CORRECTED, TEST, given(chosen("result", "negative")), IN),
    (ON, NOT_HIGHER, pair("64.5", "64.0", "degF"), IN),
    (BEYOND, NOT_HIGHER, pair("64.501", "64.0", "degF"), OUT),
    (MISSING, NEEDLES, given(), NO),
    (WRONG, NEEDLES, needles("11"), OUT),
    (CORRECTED, NEEDLES, needles("12"), IN),
    (UNIT, NOT_HIGHER, pair("64", "64", "kg"), NO),
    (SOURCE_OUT, NOT_HIGHER, pair("64.28", "64"), OUT),
    (SOURCE_IN, NOT_HIGHER, pair("64.27", "64"), IN),
    (ON, ACID, given(ph("4.60", "24")), IN),
    (BEYOND, ACID, given(ph("4.601", "24")), OUT),
    (MISSING, ACID, given(), NO),
    (WAITING, ACID, given(now=after("24")), LATER),
    (DIP, ACID, given(ph("4.60", "23"), ph("4.61", "23.5")), OUT),
    (GAP, ACID, given(ph("4.50", "21.9")), NO),
    (WRONG, ACID, given(ph("4.71", "23")), OUT),
    (CORRECTED, ACID, given(ph("4.17", "23")), IN),
    (UNIT, ACID, given(number("ph", "4.5", "degC", after("23"))), NO),
    (SOURCE_OUT, COOLED, given(warm("1.66", at=after("24"))), OUT),
    (SOURCE_IN, COOLED, given(warm("1.67", at=after("24"))), IN),
    (ON, SLOW, heated(30, "63"), IN),
    (BEYOND, SLOW, heated(29.5, "63"), OUT),
    (MISSING, VAT, given(), NO),
    (DIP, SLOW, heated(40, odd={20.0: "62.999"}), OUT),
    (GAP, SLOW, heated(40, without=(18, 22)), NO),
    (WRONG, VAT, given(*good(product=number("product", "62", "degC"))), OUT),
    (CORRECTED, VAT, given(*good()), IN),
    (UNIT, SLOW, heated(40, unit="kg"), NO),
    (SOURCE_OUT, QUICK, quick("71.66"), OUT),
    (SOURCE_IN, QUICK, quick("71.67"), IN),
    (ON, RAW, aged(*daily(60, "35")), IN),
    (BEYOND, RAW, aged(*daily(59, "35"), read(59, "34.999"), day=60), LATER),
    (MISSING, RAW, aged(), NO),
    (WAITING, RAW, aged(*daily(60), day=59.99), LATER),
    (DIP, RAW, aged(series=room_log(60, h700="34.9")), LATER),
    (GAP, RAW, aged(series=room_log(60, **WITHOUT_A_DAY)), NO),
    (WRONG, RAW, aged(*daily(60), read(30.5, "5")), LATER),
    (CORRECTED, RAW, aged(*daily(60), read(30.5, "50")), IN),
    (UNIT, RAW, aged(*daily(60, "50", "kg")), NO),
    (SOURCE_OUT, RAW, aged(*daily(60, "1.66", "degC")), LATER),
    (SOURCE_IN, RAW, aged(*daily(60, "1.67", "degC")), IN),
    (ON, WARM_MILK, kept(series(*["60"] * 5, "50", "50")), IN),
    (BEYOND, WARM_MILK, kept(series(*["60"] * 6, "50")), OUT),
    (MISSING, WARM_MILK, kept(None), NO),
    (WAITING, WARM_MILK, kept(series("40", "40"), hours="1.5", events={"milking_ended": START}), LATER),
    (DIP, WARM_MILK, kept(series("60", "60", "60", "40", "60", "60", "60")), OUT),
    (GAP, WARM_MILK, kept(series("40", "40", "40", "40", step=120)), NO),
    (WRONG, WARM_MILK, kept(None, *hourly("6", "30", "30", "6", "6", "6", "6")), OUT),
    (CORRECTED, WARM_MILK, kept(None, *hourly("6", "3", "3", "6", "6", "6", "6")), IN),
    (UNIT, WARM_MILK, kept(None, *hourly(*["6"] * 7, unit="kg")), NO),
    (SOURCE_OUT, WARM_MILK, kept(series(*["10.001"] * 7, unit="degC")), OUT),
    (SOURCE_IN, WARM_MILK, kept(series(*["10"] * 7, unit="degC")), IN),
    (ON, FROM_EVENT, given(time("drained", after("24"))), IN),
    (ON, CULTURE, given(time("use_by", LAST_INSTANT), now=LAST_INSTANT), IN),
    (BEYOND, FROM_EVENT, given(time("drained", after("24", seconds=1))), OUT),
    (BEYOND, CULTURE, given(time("use_by", LAST_INSTANT), now=LAST_INSTANT + timedelta.resolution), OUT),
    (MISSING, WASH, given(), NO),
    (WAITING, FROM_EVENT, given(now=after("24")), LATER),
    (WRONG, WASH, fresh(time("wash_prepared", after("-30"))), OUT),
    (CORRECTED, WASH, fresh(time("wash_prepared", after("-3"))), IN),
    (ON, WASHING, order(washed("TW-0507", 1), washed("TW-0507-2", 2)), IN),
    (BEYOND, WASHING, order(washed("TW-0507", 1), washed("TW-0512", 2)), OUT),
    (MISSING, WASHING, order(), NO),
    (WRONG, WASHING, order(washed("TW-0501", 1), washed("TW-0512", 2)), OUT),
    (CORRECTED, WASHING, order(washed("TW-0501", 3), washed("TW-0512", 2)), IN),
    (ON, STAPH, samples("100", "100", "100", "100", "100"), IN),
    (BEYOND, STAPH, samples("101", "100", "100", "100", "100"), TARGET),
    (BEYOND, STAPH, samples("1001", "100", "100", "100", "100"), OUT),
    (MISSING, STAPH, samples(), NO),
    (GAP, STAPH, samples("100", "100", "100", "100"), NO),
    (WRONG, STAPH, samples("5000", "10", "10", "10", "10"), OUT),
    (CORRECTED, STAPH, samples("50", "10", "10", "10", "10"), IN),
    (UNIT, STAPH, samples(*["10"] * 5, unit="cfu_per_ml"), NO),
    (ON, PLATE, plates(*MONTHS), IN),
    (BEYOND, PLATE, plates(*MONTHS[:3], (50, "100001")), OUT),
    (MISSING, PLATE, plates(), NO),
    (WAITING, PLATE, plates(*MONTHS[:3]), LATER),
    (GAP, PLATE, plates(*MONTHS[1:]), NO),
    (WRONG, PLATE, plates(*MONTHS[:3], (50, "900000")), OUT),
    (CORRECTED, PLATE, plates(*MONTHS[:3], (50, "90000")), IN),
    (UNIT, PLATE, plates(*MONTHS, unit="degC"), NO),
    (ON, LAST, three("35", "35", "35"), IN),
    (BEYOND, LAST, three("35", "34.999", "35"), OUT),
    (MISSING, LAST, given(), NO),
    (DIP, LAST, three("34", "35", "35"), OUT),
    (WRONG, LAST, three("35", "5", "35"), OUT),
    (CORRECTED, LAST, three("35", "50", "35"), IN),
    (UNIT, LAST, three("35", "35", "35", unit="kg"), NO),
    (SOURCE_OUT, LAST, three("1.67", "1.66", unit="degC"), OUT),
    (SOURCE_IN, LAST, three("1.67", "1.67", unit="degC"), IN),
    (ON, BOTH, with_test("35", "degF", "negative"), IN),
    (BEYOND, BOTH, with_test("34.999", "degF", "negative"), OUT),
    (MISSING, BOTH, given(warm("35", "degF")), NO),
    (
        WAITING,
        {"kind": "all_of", "members": [ACID, TEST]},
        given(chosen("result", "negative"), now=START),
        LATER,
    ),
    (DIP, {"kind": "all_of", "members": [SLOW]}, heated(40, odd={20.0: "62.999"}), OUT),
    (GAP, {"kind": "all_of", "members": [SLOW]}, heated(40, without=(18, 22)), NO),
    (WRONG, BOTH, with_test("35", "degF", "positive"), OUT),
    (CORRECTED, BOTH, with_test("35", "degF", "negative"), IN),
    (UNIT, BOTH, with_test("35", "kg", "negative"), NO),
    (SOURCE_OUT, BOTH, with_test("1.66", "degC", "negative"), OUT),
    (SOURCE_IN, BOTH, with_test("1.67", "degC", "negative"), IN),
    (ON, FRESH, fresh(milked(7200), warm("30")), IN),
    (BEYOND, FRESH, fresh(milked(7201), warm("6.1")), OUT),
    (MISSING, FRESH, fresh(), NO),
    (
        WAITING,
        {"kind": "any_of", "members": [ACID, TEST]},
        given(chosen("result", "positive"), now=START),
        LATER,
    ),
    (DIP, {"kind": "any_of", "members": [SLOW]}, heated(40, odd={20.0: "62.999"}), OUT),
    (GAP, {"kind": "any_of", "members": [SLOW]}, heated(40, without=(18, 22)), NO),
    (WRONG, FRESH, fresh(milked(9000), warm("41")), OUT),
    (CORRECTED, FRESH, fresh(milked(9000), warm("4")), IN),
    (UNIT, FRESH, fresh(warm("4", "kg")), NO),
    (SOURCE_OUT, {"kind": "any_of", "members": [LEGAL]}, given(warm("1.66")), OUT),
    (SOURCE_IN, {"kind": "any_of", "members": [LEGAL]}, given(warm("1.67")), IN),
)
CASES = tuple(Case(*row) for row in ROWS)

_MOMENT = "one check at one moment: nothing runs and nothing lasts"
_WORD = "a word has no unit"
_TIMES = "compares times, not quantities"
NOT_OF_THE_KIND: Mapping[tuple[str, str], str] = {
    **{("bound", edge): _MOMENT for edge in (WAITING, DIP, GAP)},
    **{("difference", edge): _MOMENT for edge in (WAITING, DIP, GAP)},
    **{("attribute", edge): _MOMENT for edge in (WAITING, DIP, GAP)},
    **{("attribute", edge): _WORD for edge in (UNIT, SOURCE_OUT, SOURCE_IN)},
    ("held_for", WAITING): "judged once, by the whole chart or log",
    **{("not_after", edge): _MOMENT for edge in (DIP, GAP)},
    **{("not_after", edge): _TIMES for edge in (UNIT, SOURCE_OUT, SOURCE_IN)},
    **{("in_order", edge): "an order, not a duration" for edge in (WAITING, DIP, GAP)},
    **{("in_order", edge): _TIMES for edge in (UNIT, SOURCE_OUT, SOURCE_IN)},
    **{("sampling_plan", edge): "counts of samples, not a duration" for edge in (WAITING, DIP)},
    **{("sampling_plan", edge): "colonies have one unit each" for edge in (SOURCE_OUT, SOURCE_IN)},
    ("rolling_geometric_mean", DIP): "a mean has no dip",
    **{("rolling_geometric_mean", edge): "colonies have one unit each" for edge in (SOURCE_OUT, SOURCE_IN)},
    **{
        ("last_of", edge): "fewer results than asked for are judged, with a warning"
        for edge in (WAITING, GAP)
    },
}


def documents() -> tuple[Mapping[str, Any], ...]:
    """Every document of the table, each once."""
    found: list[Mapping[str, Any]] = []
    for case in CASES:
        if case.document not in found:
            found.append(case.document)
    return tuple(found)


def emptied(evidence: Evidence) -> Evidence:
    """The same moment and events with nothing measured."""
    return replace(evidence, measured=(), series={})


def decimal(value: int, places: int) -> Decimal:
    """A decimal of so many places."""
    return Decimal(value).scaleb(-places)
