"""Plan files made wrong: one place of a good document changed into something else."""

import json
from dataclasses import dataclass
from typing import Any

from hypothesis import strategies as st

from tests.builders import PLAN_FILE

GOOD = json.loads(PLAN_FILE.read_text(encoding="utf-8"))
Path = tuple[str | int, ...]
REMOVED = object()


def paths(value: Any, here: Path = ()) -> list[Path]:
    """Give the path of every value inside a document, its own excepted."""
    found: list[Path] = []
    items: list[tuple[str | int, Any]] = []
    if isinstance(value, dict):
        items = list(value.items())
    elif isinstance(value, list):
        items = list(enumerate(value))
    for key, inner in items:
        found += [(*here, key), *paths(inner, (*here, key))]
    return found


def at_path(document: Any, path: Path) -> Any:
    """Give the value at a path."""
    for key in path:
        document = document[key]
    return document


def changed(document: Any, path: Path, value: Any) -> Any:
    """Give a copy with the value at a path changed or, for REMOVED, taken away."""
    copy = json.loads(json.dumps(document))
    inner = at_path(copy, path[:-1])
    if value is REMOVED:
        del inner[path[-1]]
    else:
        inner[path[-1]] = value
    return copy


EVERY_PATH = paths(GOOD)


def one_of_each_place() -> list[Path]:
    """Give a path for each place of the document that differs by more than its number in a list."""
    places = {tuple("*" if isinstance(key, int) else key for key in path): path for path in EVERY_PATH}
    return list(places.values())


ODD = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(2**70), 2**70),
    st.text(max_size=30),
    st.sampled_from(["", "-1", "1e9", "NaN", "4,60", "63 °C", "\u202e", "x" * 5000, "limit_points", "open"]),
    st.lists(st.integers(0, 3), max_size=3),
    st.dictionaries(st.text(max_size=8), st.integers(0, 3), max_size=3),
    st.just(REMOVED),
)


@dataclass
class Mutated:
    """A document made wrong, and what was done to it."""

    document: Any
    done: list[str]

    def __repr__(self) -> str:
        return "; ".join(self.done)[:2000]


@st.composite
def mutated_documents(draw: st.DrawFn) -> Mutated:
    """A good document in which one to three places are changed, or that has a key too many."""
    document, done = GOOD, []
    for _place in range(draw(st.integers(1, 3))):
        path = draw(st.sampled_from(EVERY_PATH))
        try:
            at_path(document, path)
        except (KeyError, IndexError, TypeError):
            continue
        value = draw(ODD)
        document = changed(document, path, value)
        done.append(f"{path} = {value!r:.60}")
    if draw(st.booleans()):
        key = draw(st.text(min_size=1, max_size=12))
        document = changed(document, (key,), draw(st.integers(0, 3)))
        done.append(f"{key!r} too many")
    return Mutated(document, done)
