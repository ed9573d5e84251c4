"""The shape of a calculator: what it asks, and what it answers with its working.

A calculator answers a person, on its page or attached to a deviation. It says what was computed from what,
step by step so that it can be followed by hand; it never judges a lot and never releases anything.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any, Literal

from safetyplan.calculation import rounding
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.series import Series
from safetyplan.calculation.units import convert

Entry = Literal["number", "numbers", "choice", "log"]
ClockUnit = Literal["s", "min", "h", "d"]


@dataclass(frozen=True)
class Ask:
    """One input. Its label is the word for `name`; `help` says more where it is needed.

    number: one value of `quantity` in one of `units` (the first is the default). numbers: several values, one
    per line. choice: one of `options`, the first is the default. log: lines of a time and one value per
    column of `columns`, all of them of `quantity` and in the one unit chosen from `units`; `clock` is the
    unit of a time written as a bare number.
    """

    name: str
    entry: Entry = "number"
    quantity: str = ""
    units: tuple[str, ...] = ()
    options: tuple[str, ...] = ()
    columns: tuple[str, ...] = ()
    clock: ClockUnit = "min"
    required: bool = True
    default: str = ""
    help: Sentence | None = None


@dataclass(frozen=True)
class Number:
    """A value typed with its unit; censored is "", "<" or ">"."""

    value: Decimal
    unit: str
    censored: str = ""

    @property
    def text(self) -> str:
        """The value as typed, with its unit: "4.20 °C", "<10 CFU/g"."""
        return rounding.amount(self.censored + rounding.trim(self.value), self.unit)

    def in_unit(self, unit: str) -> Decimal:
        """The value in another unit, not rounded. Raises UnitError when there is no conversion."""
        return convert(self.value, self.unit, unit)


@dataclass(frozen=True)
class LogLine:
    """One line of a log: seconds since its first line, the time as typed, one value per column or None."""

    seconds: Decimal
    time_text: str
    values: tuple[Decimal | None, ...]


# A log typed without dates has no instants of its own: its first line stands at this one.
LOG_BEGINS = datetime(2000, 1, 1, tzinfo=UTC)


def at_second(seconds: Decimal) -> datetime:
    """The instant of so many seconds since the first line of a log, to the millisecond."""
    return LOG_BEGINS + timedelta(milliseconds=int(seconds * 1000))


@dataclass(frozen=True)
class Log:
    """A log as typed: lines in the order of time, all values in `unit`."""

    unit: str
    columns: tuple[str, ...]
    lines: tuple[LogLine, ...]

    def series(self, *, column: int = 0, longest_gap: timedelta) -> Series:
        """One column as a series that begins at LOG_BEGINS; a value left out is no reading."""
        readings = [
            (at_second(line.seconds), value)
            for line in self.lines
            if (value := line.values[column]) is not None
        ]
        return Series.of(readings, unit=self.unit, longest_gap=longest_gap)


@dataclass(frozen=True)
class Answers:
    """The inputs of a calculator after reading, by name."""

    given: Mapping[str, "Number | tuple[Number, ...] | str | Log"]

    def _find(self, name: str, kind: type[Any]) -> Any:
        found = self.given.get(name)
        if not isinstance(found, kind):
            raise Refusal(say("calculator_needs", part=name), name)
        return found

    def number(self, name: str) -> Number:
        """A number that must be there. Raises Refusal naming the input when it is not."""
        found: Number = self._find(name, Number)
        return found

    def optional(self, name: str) -> Number | None:
        """A number, or None when it was left empty."""
        found = self.given.get(name)
        return found if isinstance(found, Number) else None

    def numbers(self, name: str) -> tuple[Number, ...]:
        """Several numbers; none when the field was left empty."""
        found = self.given.get(name)
        return found if isinstance(found, tuple) else ()

    def choice(self, name: str) -> str:
        """The option chosen."""
        found: str = self._find(name, str)
        return found

    def log(self, name: str) -> Log:
        """A log with at least one line. Raises Refusal naming the input when it is empty."""
        found: Log = self._find(name, Log)
        return found


Pair = tuple[Decimal, Decimal]


@dataclass(frozen=True)
class Chart:
    """What to draw: points (x, y), levels as steps (from x on the level is y), shaded stretches of x.

    more_target_steps: further lines of the same name and looks as the target, such as the lower of two.

    x, y, trace, limit, target and band are names whose words label the drawing.
    """

    x: str
    y: str
    trace: str
    points: tuple[Pair, ...]
    limit: str = ""
    limit_steps: tuple[Pair, ...] = ()
    target: str = ""
    target_steps: tuple[Pair, ...] = ()
    more_target_steps: tuple[tuple[Pair, ...], ...] = ()
    band: str = ""
    bands: tuple[Pair, ...] = ()


@dataclass(frozen=True)
class Worked:
    """A result with its working.

    result: one plain sentence, the answer. more: further results. steps: the working, in order, each with its
    formula and its numbers. validity: within what the answer holds, and what was assumed. cautions: what it
    does not show and who decides. sources: the published source of each formula and figure, as text.
    """

    result: Sentence
    steps: tuple[Sentence, ...]
    sources: tuple[str, ...]
    validity: tuple[Sentence, ...]
    cautions: tuple[Sentence, ...]
    more: tuple[Sentence, ...] = ()
    chart: Chart | None = None

    def sentences(self) -> tuple[tuple[str, tuple[Sentence, ...]], ...]:
        """Every sentence under the name of its section, in the order of reading."""
        return (
            ("result", (self.result, *self.more)),
            ("steps", self.steps),
            ("validity", self.validity),
            ("cautions", self.cautions),
        )

    def to_document(self) -> dict[str, Any]:
        """The result and its working as a JSON-able dict; the chart is drawn from the inputs again."""
        found: dict[str, Any] = {
            name: [sentence.to_document() for sentence in sentences] for name, sentences in self.sentences()
        }
        return {**found, "sources": list(self.sources)}


@dataclass(frozen=True)
class Task:
    """One thing a calculator can do: its name, what it asks, and the work. `work` raises Refusal."""

    name: str
    asks: tuple[Ask, ...]
    work: Callable[[Answers], Worked]


@dataclass(frozen=True)
class Calculator:
    """A page of its own: a name (also its address, with blanks as hyphens) and one or more tasks."""

    name: str
    tasks: tuple[Task, ...]

    @property
    def slug(self) -> str:
        """The name as it stands in an address."""
        return self.name.replace("_", "-")

    def task(self, name: str) -> Task:
        """The task of that name; the first when the name is empty. Raises KeyError for an unknown one."""
        if not name:
            return self.tasks[0]
        for task in self.tasks:
            if task.name == name:
                return task
        raise KeyError(name)
