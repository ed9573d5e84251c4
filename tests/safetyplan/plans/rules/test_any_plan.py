"""The check of any document that can be read ends with findings, never with an error of its own."""

from collections.abc import Iterator
from typing import Any

import pytest

from safetyplan.plans.document import DocumentError, read
from safetyplan.plans.plan_check import check
from tests.safetyplan.plans.rules.plans import Data, aged, changed, confirmed, fresh

ODD: tuple[Any, ...] = ("", "9999999999", "-3", "1e9", "NaN", "ü%s{}", 10**6, [], None)
ANSWERED = (
    "milk_temperature_most",
    "cold_store_most",
    "heat_rule",
    "ageing_days",
    "ageing_temperature_least",
)
Path = tuple[Any, ...]


def places(value: Any, path: Path = ()) -> Iterator[Path]:
    """Give the path of every value inside a document."""
    items: list[tuple[Any, Any]] = []
    if isinstance(value, dict):
        items = list(value.items())
    elif isinstance(value, list):
        items = list(enumerate(value))
    for key, inner in items:
        yield (*path, key)
        yield from places(inner, (*path, key))


def put_at(document: Data, path: Path, odd: Any) -> None:
    """Put a value at a place; no value takes the place away."""
    parent: Any = document
    for key in path[:-1]:
        parent = parent[key]
    if odd is None:
        del parent[path[-1]]
    else:
        parent[path[-1]] = odd


def short(document: Data) -> Data:
    """Leave out the figures of the profile that no limit answers to: they are only looked at one by one."""
    profile = document["profile"]
    kept = [one for one in profile["parameters"] if one["code"] in ANSWERED]
    return {**document, "profile": {**profile, "parameters": kept}}


@pytest.mark.parametrize("base", [fresh, aged])
@pytest.mark.parametrize("odd", ODD, ids=repr)
def test_an_odd_value_anywhere_is_refused_by_the_reader_or_checked(base: Any, odd: Any) -> None:
    read_at_all = 0
    whole = short(base())
    for path in places(whole):
        document = changed(whole, lambda data, path=path: put_at(data, path, odd))
        try:
            plan = read(document)
        except DocumentError:
            continue
        read_at_all += 1
        assert all(one.level in ("error", "warning") and one.message for one in check(plan, confirmed(plan)))
    assert read_at_all
