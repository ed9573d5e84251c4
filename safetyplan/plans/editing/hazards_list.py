"""The list of hazards to pick from, and which of them a page shows. Pure."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.http import urlencode

from safetyplan.plans.hazard_words import KINDS, kind_and_group_words, reheated_words, step_words
from safetyplan.plans.parts import Plan
from safetyplan.reference.hazards import HazardAgent, hazards

# by group: what heat does not remove, whoever says so
HEAT_STABLE = frozenset({"allergen", "drug_residue", "toxin"})
# what a link on the page carries on: the place the hazard is for, and what is shown of the list
PLACE = ("product", "step")
SHOWN = ("kind", "usual")


@dataclass(frozen=True)
class Entry:
    """One hazard of the list in words; query: what takes it into the form."""

    agent: HazardAgent
    kind: str
    reheating: str
    query: str


def _query(chosen: Mapping[str, str], **more: str) -> str:
    kept = {key: chosen[key] for key in (*PLACE, *SHOWN) if chosen.get(key)}
    return "?" + urlencode({**kept, **more})


def places() -> list[str]:
    """Give the places in a dairy where hazards of the list are usual, in words."""
    return sorted({place for agent in hazards().values() for place in agent.steps})


def matching(kind: str, usual: str) -> list[HazardAgent]:
    """Give the hazards of a kind that are usual at a place; anything not known asks for nothing."""
    return [
        agent
        for agent in hazards().values()
        if (kind not in KINDS or agent.kind == kind) and (usual not in places() or usual in agent.steps)
    ]


def list_page(plan: Plan, chosen: Mapping[str, str]) -> dict[str, Any]:
    """Give what the page shows of the list; `chosen` is what its address says.

    A step of the plan that is called like a place of the list shows that place at first.
    """
    named = step_words(plan, (), chosen["step"]).lower() if chosen.get("step") else ""
    kind = chosen.get("kind", "")
    usual = chosen.get("usual", named if named in places() else "")
    entries = [
        Entry(
            agent,
            kind_and_group_words(agent.kind, agent.group),
            reheated_words(removed=agent.removed_by_reheating),
            _query(chosen, agent=agent.code),
        )
        for agent in matching(kind, usual)
    ]
    return {
        "entries": entries,
        "all": len(hazards()),
        "kinds": list(KINDS.items()),
        "places": places(),
        "chosen": {"kind": kind, "usual": usual, **{key: chosen.get(key, "") for key in PLACE}},
        "own_query": _query(chosen, own="1"),
        "unknown": bool(chosen.get("agent")) and chosen["agent"] not in hazards(),
    }
