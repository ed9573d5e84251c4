"""Answers for the calculators under test: plain ones, and every kind of answer a form can send."""

from contextlib import suppress
from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.unit_tables import QUANTITIES
from safetyplan.calculation.worked.shape import Answers, Ask, Log, LogLine, Number, Task, Worked


def number(value: str, unit: str) -> Number:
    """A value with its unit."""
    return Number(Decimal(value), unit)


def answers(**given: Any) -> Answers:
    """Answers by name."""
    return Answers(given)


def _number(ask: Ask) -> st.SearchStrategy[Number]:
    def of_unit(unit: str) -> st.SearchStrategy[Number]:
        low, high = QUANTITIES[ask.quantity].physical[unit]
        places = 0 if QUANTITIES[ask.quantity].whole else 3
        return st.builds(Number, st.decimals(low, high, places=places), st.just(unit))

    return st.sampled_from(ask.units).flatmap(of_unit)


def _log(ask: Ask) -> st.SearchStrategy[Log]:
    def of_unit(unit: str) -> st.SearchStrategy[Log]:
        low, high = QUANTITIES[ask.quantity].physical[unit]
        value = st.none() | st.decimals(low, high, places=2)
        line = st.tuples(st.decimals(0, 200_000, places=0), st.tuples(*[value] * len(ask.columns)))
        lines = st.lists(line, min_size=1, max_size=8, unique_by=lambda pair: pair[0])
        return lines.map(lambda found: _made(found, unit, ask))

    return st.sampled_from(ask.units).flatmap(of_unit)


def _made(found: list[Any], unit: str, ask: Ask) -> Log:
    ordered = sorted(found)
    first = ordered[0][0]
    lines = tuple(LogLine(at - first, f"{at / 60} {ask.clock}", values) for at, values in ordered)
    return Log(unit, ask.columns, lines)


def anything(task: Task) -> st.SearchStrategy[Answers]:
    """Every combination of answers that the form of a task can send."""
    fields: dict[str, st.SearchStrategy[Any]] = {}
    for ask in task.asks:
        if ask.entry == "choice":
            made: st.SearchStrategy[Any] = st.sampled_from(ask.options)
        elif ask.entry == "log":
            made = _log(ask)
        elif ask.entry == "numbers":
            made = st.lists(_number(ask), min_size=1, max_size=8).map(tuple)
        else:
            made = _number(ask)
        fields[ask.name] = made if ask.required else st.none() | made
    return st.fixed_dictionaries(fields).map(
        lambda given: Answers({name: value for name, value in given.items() if value is not None})
    )


def worked_or_refused(task: Task, given: Answers) -> None:
    """A calculator answers with its working, or refuses in a sentence; it never breaks."""
    with suppress(Refusal):
        found = task.work(given)
        assert isinstance(found, Worked)
        assert found.steps
        assert found.sources
        assert found.cautions
        found.to_document()
