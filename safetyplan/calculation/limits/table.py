"""Judging one due check by its shipped table: the twin of the judge on the device, held to the same vectors.

Parts are what was typed: {"name", "raw", "unit"}. Numbers are plain decimal strings with point or comma. What
the table cannot decide is left to the server ("on_receipt"), which judges every reading again with the full
limit.
"""

import re
from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any, Literal

from safetyplan.calculation.judgement import State, severity

OnReceipt = Literal["on_receipt"]
Result = State | OnReceipt
Parts = Sequence[Mapping[str, str]]

ON_RECEIPT: OnReceipt = "on_receipt"
_PLAIN = re.compile(r"[+-]?[0-9]{1,9}([.,][0-9]{1,9})?")


def judge_by_table(table: Mapping[str, Any], parts: Parts, observed_at: datetime) -> Result:
    """The state of one check by its table, or "on_receipt".

    Exactly on a bound is inside it, exactly at the deadline is in time. Compared exactly, nothing is rounded.
    An unknown table is "on_receipt".
    """
    kind = table.get("judge")
    if kind in ("all_of", "any_of"):
        found = [judge_by_table(member, parts, observed_at) for member in table["members"]]
        return _all_of(found) if kind == "all_of" else _any_of(found)
    if kind == "difference":
        return _difference(table, parts)
    if kind == "bound":
        return _bound(table, _part(table["part"], parts))
    if kind == "attribute":
        return _attribute(table, _part(table["part"], parts))
    if kind == "deadline":
        return _deadline(table, _part(table["part"], parts), observed_at)
    return ON_RECEIPT


def _part(name: str, parts: Parts) -> Mapping[str, str] | None:
    return next((part for part in parts if part["name"] == name and part["raw"].strip()), None)


def _number(raw: str) -> Decimal | None:
    written = raw.strip().replace("\u2212", "-")
    return Decimal(written.replace(",", ".")) if _PLAIN.fullmatch(written) else None


def _bounds(table: Mapping[str, Any], unit: str) -> Mapping[str, Any] | None:
    found: Mapping[str, Any] | None = table if unit in ("", table["unit"]) else table["also"].get(unit)
    return found


def _inside(value: Decimal, at_least: str | None, at_most: str | None) -> bool:
    return (at_least is None or value >= Decimal(at_least)) and (at_most is None or value <= Decimal(at_most))


def _bound(table: Mapping[str, Any], part: Mapping[str, str] | None) -> Result:
    if part is None:
        return State.NOT_SHOWN
    bounds, value = _bounds(table, part.get("unit", "")), _number(part["raw"])
    if bounds is None or value is None:
        return ON_RECEIPT
    return _within(value, bounds)


def _within(value: Decimal, bounds: Mapping[str, Any]) -> State:
    if not _inside(value, bounds["at_least"], bounds["at_most"]):
        return State.OUTSIDE_LIMIT
    if not _inside(value, bounds["target_at_least"], bounds["target_at_most"]):
        return State.OUTSIDE_TARGET
    return State.WITHIN


def _difference(table: Mapping[str, Any], parts: Parts) -> Result:
    """Two values in the unit of the table; any other unit is left to the server."""
    first, second = (_part(table[name], parts) for name in ("first", "second"))
    if first is None or second is None:
        return State.NOT_SHOWN
    one, other = _number(first["raw"]), _number(second["raw"])
    units = {part.get("unit", "") for part in (first, second)}
    if one is None or other is None or not units <= {"", table["unit"]}:
        return ON_RECEIPT
    return _within(one - other, table)


def _attribute(table: Mapping[str, Any], part: Mapping[str, str] | None) -> Result:
    if part is None:
        return State.NOT_SHOWN
    return State.WITHIN if part["raw"] in table["accepted"] else State.OUTSIDE_LIMIT


def _deadline(table: Mapping[str, Any], part: Mapping[str, str] | None, observed_at: datetime) -> Result:
    opens, deadline = (datetime.fromisoformat(table[end]) for end in ("opens_at", "deadline"))
    if part is None:
        return State.NOT_YET_DUE if observed_at <= deadline else State.NOT_SHOWN
    bounds, value = _bounds(table, part.get("unit", "")), _number(part["raw"])
    if bounds is None or value is None:
        return ON_RECEIPT
    if observed_at < opens:
        return State.NOT_YET_DUE
    if not _reached(value, bounds["limit"], table["direction"]):
        return State.OUTSIDE_LIMIT
    if observed_at > deadline:
        return State.NOT_SHOWN
    return State.WITHIN if _reached(value, bounds["target"], table["direction"]) else State.OUTSIDE_TARGET


def _reached(value: Decimal, bound: str | None, direction: str) -> bool:
    return _inside(value, bound, None) if direction == "at_least" else _inside(value, None, bound)


def _all_of(found: Sequence[Result]) -> Result:
    """The worst; a miss is a miss even when another member is left to the server."""
    states = [state for state in found if isinstance(state, State)]
    if len(states) < len(found) and State.OUTSIDE_LIMIT not in states:
        return ON_RECEIPT
    return max(states, key=severity, default=ON_RECEIPT)


def _any_of(found: Sequence[Result]) -> Result:
    """The mildest; one within is enough even when another member is left to the server."""
    states = [state for state in found if isinstance(state, State)]
    if len(states) < len(found) and State.WITHIN not in states:
        return ON_RECEIPT
    return min(states, key=severity, default=ON_RECEIPT)
