"""What the heat calculators share: their inputs, and a typed log as series with its probe put right."""

from datetime import timedelta
from decimal import Decimal

from safetyplan.calculation import rounding
from safetyplan.calculation.heat import corrected_for_error
from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.series import Series, milliseconds
from safetyplan.calculation.units import convert_difference
from safetyplan.calculation.worked.shape import LOG_BEGINS, Answers, Ask, Log, Number, at_second

TEMPERATURES, DURATIONS = ("degC", "degF"), ("min", "s")
_PRACTICE = "common practice, no source"


def ask_log(*columns: str) -> Ask:
    """Ask for a log of the given columns."""
    return Ask("heat_log", "log", "temperature", TEMPERATURES, columns=columns)


def ask_pause(name: str, help_text: Sentence) -> Ask:
    """Ask for the longest pause between readings; `help_text` says what is taken when it is left empty."""
    return Ask(name, "number", "duration", DURATIONS, required=False, help=help_text)


def ask_error(name: str) -> Ask:
    """Ask for the as-found error of a probe."""
    return Ask(name, "number", "temperature", TEMPERATURES, required=False, help=say("heat_ask_error"))


def series_of(log: Log, column: int, pause_seconds: Decimal) -> Series:
    """One column of a log as a series with a longest pause in seconds."""
    return log.series(column=column, longest_gap=timedelta(milliseconds=int(pause_seconds * 1000)))


def minutes(ms: int) -> Decimal:
    """An instant of a series, in minutes since the first line."""
    return Decimal(ms - milliseconds(LOG_BEGINS)) / 60000


def times_of(log: Log) -> dict[int, str]:
    """The time of each line as typed, by its instant in milliseconds."""
    return {milliseconds(at_second(line.seconds)): line.time_text for line in log.lines}


def pause_of(answers: Answers, name: str, *, otherwise: Decimal, most: Decimal) -> Decimal:
    """The longest pause in whole milliseconds, given in seconds; `otherwise` when it was left empty.

    Raises Refusal outside 0.001 s to `most`.
    """
    given, least = answers.optional(name), Decimal("0.001")
    if given is None:
        return max(least, Decimal(int(otherwise * 1000)) / 1000)
    seconds = given.in_unit("s")
    require_within(seconds, least, most, quantity=name, unit="s", source=_PRACTICE, field=name)
    return Decimal(int(seconds * 1000)) / 1000


def put_right(series: Series, error: Number | None, field: str) -> Series:
    """The series with a constant error of its probe taken off; as it is when none was given."""
    if error is None:
        return series
    try:
        return corrected_for_error(series, error=error.value, unit=error.unit)
    except Refusal as refusal:
        raise Refusal(refusal.sentence, field) from None


def error_text(error: Number, unit: str) -> str:
    """An error of a probe in the unit of the log."""
    own = convert_difference(error.value, error.unit, unit)
    return rounding.amount(degrees_text(own), unit)


def degrees_text(value: Decimal) -> str:
    """A temperature without its unit: as it is up to thousandths, a finer one to thousandths."""
    finer = value.as_tuple().exponent
    if isinstance(finer, int) and finer < -rounding.TYPED_DECIMALS:
        return rounding.decimal_text(value, rounding.TYPED_DECIMALS)
    return rounding.trim(value)


def reading_text(thousandths: int, unit: str) -> str:
    """A reading of a series with its unit, without needless zeros."""
    value = Decimal(thousandths).scaleb(-3)
    return rounding.amount(rounding.shown_against(value, value, "temperature", unit), unit)


def span_text(seconds: Decimal, against: Decimal, unit: str) -> str:
    """A duration in minutes or seconds, written so that it stands on its true side of another."""
    per = Decimal(60 if unit == "min" else 1)
    return rounding.amount(rounding.shown_against(seconds / per, against / per, "duration", unit), unit)


def unit_of_hold(seconds: Decimal) -> str:
    """The unit in which a hold is spoken of: minutes from one minute on."""
    return "min" if seconds >= 60 else "s"
