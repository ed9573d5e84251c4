"""The log of a ripening room as the ageing calculators read it."""

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from safetyplan.calculation.ageing import DAY_MS, days_of, require_days, require_room
from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.rounding import amount, decimal_text, significant_text, trim
from safetyplan.calculation.sentences import say
from safetyplan.calculation.series import Series, milliseconds
from safetyplan.calculation.worked.shape import LOG_BEGINS, Answers, Ask, Log, Pair

LISTED = 10
_DECIMALS = 3
LONGEST_GAP_HOURS = Decimal(168)
_BARE_DAYS = re.compile(r"([0-9]+(?:[.,][0-9]+)?) d")
_DATE = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2}) ([0-9]{1,2}):([0-9]{2}).*")

ROOM_LOG = Ask(
    "room_log",
    entry="log",
    quantity="temperature",
    units=("degC", "degF"),
    columns=("room_temperature",),
    clock="d",
    help=say("ageing_help_log"),
)
LONGEST_GAP = Ask(
    "longest_gap", quantity="duration", units=("h", "d"), default="36", help=say("ageing_help_gap")
)


@dataclass(frozen=True)
class Room:
    """A room's log as a series, the days from the make to its first line and from there to its last line."""

    series: Series
    before: Decimal
    length: Decimal
    made_on: date | None

    def day(self, ms: int) -> Decimal:
        """An instant of the series as days since the make."""
        return self.before + days_of(ms - milliseconds(LOG_BEGINS))


def read_room(answers: Answers, *, from_make: bool) -> Room:
    """Read the log and its longest gap; `from_make` counts the days from the make. Raises Refusal."""
    typed = answers.log("room_log")
    gap = answers.number("longest_gap").in_unit("h")
    source = "what one hand reading may stand for; common practice, no source"
    least = Decimal("0.01")
    require_within(
        gap, least, LONGEST_GAP_HOURS, quantity="longest_gap", unit="h", source=source, field="longest_gap"
    )
    before = _before(typed, answers) if from_make else Decimal(0)
    length = typed.lines[-1].seconds / 86400 if typed.lines else Decimal(0)
    require_days(before + length, field="room_log")
    series = typed.series(longest_gap=timedelta(milliseconds=int(gap * 3_600_000)))
    if not len(series):
        raise Refusal(say("series_empty"), "room_log")
    require_room(series.decimals(), typed.unit, field="room_log")
    return Room(series, before, length, _made_on(typed, before) if from_make else None)


def _before(typed: Log, answers: Answers) -> Decimal:
    """Days from the make to the first line: as given, else as written in a log of plain days, else 0."""
    given = answers.optional("make_to_first_reading")
    bare = _BARE_DAYS.fullmatch(typed.lines[0].time_text) if typed.lines else None
    written = Decimal(bare.group(1).replace(",", ".")) if bare else Decimal(0)
    if given is None:
        return written
    days = given.in_unit("d")
    require_days(days, field="make_to_first_reading")
    if written and written != days:
        first, other = days_text(written), days_text(days)
        raise Refusal(say("ageing_two_starts", first=first, other=other), "make_to_first_reading")
    return days


def _made_on(typed: Log, before: Decimal) -> date | None:
    """The day of make, when the log is written with dates and the day lies in the calendar."""
    found = _DATE.fullmatch(typed.lines[0].time_text) if typed.lines else None
    if found is None:
        return None
    day, hour, minute = found.groups()
    try:
        first = datetime.fromisoformat(f"{day}T00:00+00:00") + timedelta(hours=int(hour), minutes=int(minute))
        return (first - timedelta(milliseconds=int(before * DAY_MS))).date()
    except (OverflowError, ValueError):
        return None


def days_text(days: Decimal) -> str:
    """Days with their unit, as they are up to thousandths, else half up to thousandths: "20 d", "0.021 d"."""
    exponent = days.as_tuple().exponent
    if not isinstance(exponent, int) or exponent >= -_DECIMALS:
        return amount(trim(days), "d")
    if abs(days) < Decimal(1).scaleb(-_DECIMALS):
        return amount(significant_text(days, 2), "d")
    return amount(decimal_text(days, _DECIMALS), "d")


def degrees_text(value: Decimal, unit: str) -> str:
    """A computed temperature, half up to hundredths."""
    return amount(decimal_text(value, 2), unit)


def reading_text(value: Decimal, unit: str) -> str:
    """A reading of a series with its unit, without the zeros that thousandths leave behind."""
    return amount(trim(Decimal(format(value.normalize(), "f"))), unit)


def points_of(room: Room) -> tuple[Pair, ...]:
    """The readings as (days, temperature) for a chart."""
    return tuple(zip(map(room.day, room.series.times), room.series.decimals(), strict=True))
