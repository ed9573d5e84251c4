"""A day of readings, one a second, judged by the kinds of limit that read logs, against a bare loop."""

from array import array
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from safetyplan.calculation.judgement import Evidence, Measured, State
from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.series import Series, milliseconds

READINGS = 86_400
BAR = 5.0
START = datetime(2026, 5, 14, tzinfo=UTC)
HELD: Mapping[str, Any] = {
    "kind": "held_for",
    "minutes": "30",
    "unit": "degC",
    "product_at_least": "63",
    "air_space_at_least": "66",
    "product_target": "64",
    "recorder_not_above_indicating": False,
    "agitator": False,
    "tolerance": "0.25",
}
AGED: Mapping[str, Any] = {
    "kind": "not_before",
    "part": "room",
    "event": "made",
    "days": "1",
    "unit": "degF",
    "at_least": "35",
    "coverage_hours": "36",
}

WARMED: Mapping[str, Any] = {
    "kind": "exposure",
    "part": "room",
    "unit": "degF",
    "food": "finished_cheese",
    "event": "made",
    "until": None,
    "bands": [{"above": "41", "at_most_minutes": "1440"}, {"above": "50", "at_most_minutes": "300"}],
    "longest_gap_minutes": 5,
}


@dataclass(frozen=True)
class JudgingRow:
    """One kind with its logs: the judgement that is timed and the loop that it is compared with."""

    kind: str
    document: Mapping[str, Any]
    logs: Mapping[str, Series]

    def judge(self) -> State:
        """Judge the day."""
        now = START + timedelta(seconds=READINGS)
        chart = Measured("chart_number", None, "", START, text="1")
        evidence = Evidence((chart,), {"made": START}, now, series=self.logs)
        return load(self.document).judge(evidence).state

    def loop(self) -> None:
        """Touch every reading of the same arrays and do nothing."""
        for log in self.logs.values():
            for _time, _value in zip(log.times, log.values, strict=True):
                pass


def day_of(value: Callable[[int], int]) -> Series:
    """A log of a day with a gap of ten minutes in it; values in thousandths of a degree Celsius."""
    seconds = [second for second in range(READINGS + 600) if not 50_000 < second <= 50_600]
    first = milliseconds(START)
    times = array("q", (first + 1000 * second for second in seconds))
    return Series("degC", times, array("q", map(value, seconds)), longest_gap_ms=60_000)


def wavering(level: int) -> Series:
    """A log that wavers by half a degree around a level and falls three degrees for a minute each hour."""
    return day_of(lambda second: level + second * 7919 % 1000 - 500 - 3000 * (second % 3600 < 60))


def judging_rows() -> Iterator[JudgingRow]:
    """Give one row for each kind."""
    yield JudgingRow("held_for", HELD, {"product": wavering(64_800), "air_space": wavering(67_500)})
    yield JudgingRow("not_before", AGED, {"room": wavering(4_000)})
    yield JudgingRow("exposure", WARMED, {"room": wavering(4_000)})
