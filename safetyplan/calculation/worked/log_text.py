"""Reading of a log as a person types or pastes it: one line per reading, a time and its values.

    10:05 63.2 66.4        clock times, one after the other; past midnight they go on
    2026-05-14 10:05 63,2  with the date
    0 63.2                 or a number of the unit asked for, since the start

Columns are parted by blanks, tabs or semicolons; a value left out is written "-". Nothing is guessed: a line
that cannot be read is refused by its number.
"""

import re
from datetime import datetime
from decimal import Decimal

from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.sentences import say
from safetyplan.calculation.typed import TypedRefusal, parse
from safetyplan.calculation.worked.shape import Ask, Log, LogLine

MOST_LINES = 1000
NOTHING = "-"
_SECONDS = {"s": 1, "min": 60, "h": 3600, "d": 86400}
_DAY = 86400
_CLOCK = re.compile(r"([0-9]{1,2}):([0-5][0-9])(?::([0-5][0-9]))?")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_BARE = re.compile(r"[0-9]{1,7}(?:[.,][0-9]{1,3})?")
_BLANKS = re.compile(r"[ \t;\u00a0\u202f]+")


def read_log(text: str, ask: Ask, unit: str) -> Log:
    """Read a log for an input, its values in `unit`.

    Times are compared with the line before: a clock time earlier by more than half a day is the next day, one
    earlier by less is out of order and refused. Two lines of one time are refused. Values are read by the one
    parser of typed values. Raises Refusal with the number of the line.
    """
    raw_lines = [(n, line.strip()) for n, line in enumerate(text.splitlines(), 1) if line.strip()]
    if not raw_lines:
        raise Refusal(say("log_empty"), ask.name)
    if len(raw_lines) > MOST_LINES:
        raise Refusal(say("log_too_long", most=str(MOST_LINES)), ask.name)
    lines: list[LogLine] = []
    times: list[Decimal] = []
    style = ""
    for number, line in raw_lines:
        fields = _BLANKS.split(line)
        found, time_text, rest, seconds = _time(fields, number, ask, times[-1] if times else None)
        if style and found != style:
            raise Refusal(say("log_mixed_times", line=str(number)), ask.name)
        style = found
        if times and seconds <= times[-1]:
            raise Refusal(say("log_order", line=str(number), time=time_text), ask.name)
        times.append(seconds)
        lines.append(LogLine(seconds - times[0], time_text, _values(rest, number, ask, unit)))
    return Log(unit, ask.columns, tuple(lines))


def _time(
    fields: list[str], number: int, ask: Ask, before: Decimal | None
) -> tuple[str, str, list[str], Decimal]:
    """The style of the time, its text, what follows it, and its seconds on a scale of the whole log."""
    if _DATE.fullmatch(fields[0]) and len(fields) > 1:
        clock = _CLOCK.fullmatch(fields[1])
        try:
            day = datetime.strptime(fields[0], "%Y-%m-%d").toordinal()  # noqa: DTZ007 (a day has no zone here)
        except ValueError:
            clock = None
        if clock is None:
            raise Refusal(say("log_time", line=str(number), typed=" ".join(fields[:2])), ask.name)
        text = f"{fields[0]} {fields[1]}"
        return "date", text, fields[2:], _of_clock(clock, number, ask) + day * _DAY
    clock = _CLOCK.fullmatch(fields[0])
    if clock is not None:
        seconds = _of_clock(clock, number, ask)
        if before is not None:
            days = before // _DAY
            seconds += days * _DAY
            if before - seconds > _DAY // 2:
                seconds += _DAY
        return "clock", fields[0], fields[1:], seconds
    if _BARE.fullmatch(fields[0]):
        bare = Decimal(fields[0].replace(",", "."))
        return "bare", f"{fields[0]} {ask.clock}", fields[1:], bare * _SECONDS[ask.clock]
    raise Refusal(say("log_time", line=str(number), typed=fields[0][:20]), ask.name)


def _of_clock(clock: "re.Match[str]", number: int, ask: Ask) -> Decimal:
    hours, minutes, seconds = (int(part or 0) for part in clock.groups())
    if hours > 23:
        raise Refusal(say("log_time", line=str(number), typed=clock.group(0)), ask.name)
    return Decimal(hours * 3600 + minutes * 60 + seconds)


def _values(fields: list[str], number: int, ask: Ask, unit: str) -> tuple[Decimal | None, ...]:
    if len(fields) != len(ask.columns):
        expected, found = str(len(ask.columns)), str(len(fields))
        raise Refusal(say("log_columns", line=str(number), expected=expected, found=found), ask.name)
    return tuple(_value(field, number, ask, unit) for field in fields)


def _value(field: str, number: int, ask: Ask, unit: str) -> Decimal | None:
    if field == NOTHING:
        return None
    try:
        typed = parse(field, quantity=ask.quantity, unit=unit, confirmed=True)
    except TypedRefusal as refusal:
        sentence = say("log_value", line=str(number), typed=field[:20])
        raise Refusal(sentence, ask.name) from refusal
    if typed.censored:  # a mark that no calculation of a log knows must not be lost silently
        raise Refusal(say("log_value", line=str(number), typed=field[:20]), ask.name)
    return typed.value
