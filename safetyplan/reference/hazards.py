"""The list of hazards to pick from when a plan is written: what they are and do, and who says so.

A list to think with, never a list that is complete: a hazard that is not on it can still be in a dairy, and
one that is on it need not be. provenance: "read" where the text that is named was seen, "memory" where it was
not.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import lru_cache
from pathlib import Path
from typing import Any

FILE = Path(__file__).resolve().parents[2] / "fixtures" / "reference" / "hazards.json"
WORDS: Mapping[str, tuple[str, ...]] = {
    "kind": ("biological", "chemical", "physical", "radiological"),
    "group": ("", "allergen", "drug_residue", "toxin", "environmental_pathogen"),
    "provenance": ("read", "memory"),
}


@dataclass(frozen=True)
class HazardAgent:
    """One row of the list.

    code: the agent that a hazard of a plan names. steps: where it is usual, in words. removed_by_reheating:
    whether heating the milk or the cheese again takes it away; never for a toxin, a residue, an allergen or
    a thing. severity: what it does to the eater, in words.
    """

    code: str
    name: str
    kind: str
    group: str
    steps: tuple[str, ...]
    removed_by_reheating: bool
    severity: str
    note: str
    source: str
    provenance: str


def read_agent(data: Any, where: str) -> HazardAgent:
    """Read one row. Raises ValueError with the path of the first value that cannot be taken."""
    if not isinstance(data, Mapping):
        raise ValueError(f"{where}: must be an object")
    names = [field.name for field in fields(HazardAgent)]
    for key in (*names, *map(str, data)):
        if key not in data:
            raise ValueError(f"{where}.{key}: is missing")
        if key not in names:
            raise ValueError(f"{where}.{key[:60]}: is not known here")
        if not _fits(key, data[key]):
            raise ValueError(f"{where}.{key}: {data[key]!r} cannot be taken")
    return HazardAgent(**{**data, "steps": tuple(data["steps"])})


def _fits(key: str, value: Any) -> bool:
    if key == "steps":
        return isinstance(value, list) and bool(value) and all(isinstance(step, str) for step in value)
    if key == "removed_by_reheating":
        return isinstance(value, bool)
    if key in WORDS:
        return value in WORDS[key]
    return isinstance(value, str) and bool(value.strip())


def read_agents(data: Any, where: str = "hazards") -> Mapping[str, HazardAgent]:
    """Read the whole list by code. Raises ValueError with the path of the first bad value."""
    if not isinstance(data, Mapping) or set(data) != {"schema", "hazards"} or data["schema"] != 1:
        raise ValueError(f"{where}: must be an object of schema 1 and hazards")
    found: dict[str, HazardAgent] = {}
    for at, row in enumerate(data["hazards"]):
        agent = read_agent(row, f"{where}[{at}]")
        if agent.code in found:
            raise ValueError(f"{where}[{at}].code: {agent.code} is used twice")
        found[agent.code] = agent
    return found


@lru_cache(maxsize=1)
def hazards() -> Mapping[str, HazardAgent]:
    """Give every row of the list by its code, in the order of the file."""
    return read_agents(json.loads(FILE.read_text(encoding="utf-8")))
