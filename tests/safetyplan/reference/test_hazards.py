"""The list of hazards: complete, sourced, and never milder than heat allows."""

import copy
import json
import re
from typing import Any

import pytest

from safetyplan.plans.parts import HAZARD_GROUPS, HAZARD_KINDS
from safetyplan.reference.hazards import FILE, WORDS, HazardAgent, hazards, read_agents

ALL = list(hazards().values())
DATA = json.loads(FILE.read_text(encoding="utf-8"))


def test_the_words_of_the_list_are_those_of_a_plan() -> None:
    assert WORDS["kind"] == HAZARD_KINDS
    assert set(WORDS["group"]) == {"", *HAZARD_GROUPS}


@pytest.mark.parametrize("kind", HAZARD_KINDS)
def test_every_kind_of_hazard_has_several_rows(kind: str) -> None:
    assert len([agent for agent in ALL if agent.kind == kind]) >= 3


# 21 CFR 117.130(b)(1): biological, chemical with radiological, residues, toxins and allergens, physical
@pytest.mark.parametrize("group", HAZARD_GROUPS)
def test_every_group_that_the_law_names_is_there(group: str) -> None:
    assert [agent.code for agent in ALL if agent.group == group]


@pytest.mark.parametrize(
    "code",
    [
        "listeria_monocytogenes",
        "stec",
        "salmonella",
        "staphylococcus_aureus",
        "staphylococcal_enterotoxin",
        "brucella",
        "mycobacterium_bovis",
        "antibiotic_residue",
        "aflatoxin_m1",
        "allergen_milk",
        "allergen_egg",
        "histamine",
    ],
)
def test_what_every_cheese_maker_has_to_think_of_is_there(code: str) -> None:
    assert hazards()[code].name


# Codex and the trade: toxins, residues, allergens and things stay when cheese is heated again
@pytest.mark.parametrize(
    "agent",
    [
        agent
        for agent in ALL
        if agent.kind != "biological" or agent.group in ("toxin", "allergen", "drug_residue")
    ],
    ids=lambda agent: agent.code,
)
def test_heat_never_removes_a_toxin_a_residue_an_allergen_or_a_thing(agent: HazardAgent) -> None:
    assert not agent.removed_by_reheating


# the vegetative pathogens that pasteurisation is made for: CXC 57-2004, annex II (from memory)
@pytest.mark.parametrize(
    "code", ["listeria_monocytogenes", "stec", "salmonella", "brucella", "coxiella_burnetii"]
)
def test_heat_removes_the_pathogens_that_pasteurisation_is_made_for(code: str) -> None:
    assert hazards()[code].removed_by_reheating


def test_a_row_that_says_read_does_not_lean_on_memory_alone() -> None:
    from_memory = re.compile(r"^[^;(]*\(from memory\)$")
    assert [a.code for a in ALL if a.provenance == "read" and from_memory.match(a.source)] == []


def test_no_row_calls_anything_harmless_or_promises() -> None:
    assert not re.search(r"\bsafe", FILE.read_text(encoding="utf-8"), re.IGNORECASE)


@pytest.mark.parametrize(
    ("change", "path"),
    [
        ({"colour": "red"}, r"hazards\[0\]\.colour: is not known here"),
        ({"kind": "magical"}, r"hazards\[0\]\.kind"),
        ({"group": "poison"}, r"hazards\[0\]\.group"),
        ({"provenance": "own"}, r"hazards\[0\]\.provenance"),
        ({"source": " "}, r"hazards\[0\]\.source"),
        ({"steps": []}, r"hazards\[0\]\.steps"),
        ({"steps": ["receipt", 3]}, r"hazards\[0\]\.steps"),
        ({"removed_by_reheating": "no"}, r"hazards\[0\]\.removed_by_reheating"),
        ({"code": "salmonella"}, r"hazards\[\d+\]\.code: salmonella is used twice"),
    ],
)
def test_a_row_that_cannot_be_taken_is_named_by_its_path(change: dict[str, Any], path: str) -> None:
    data = copy.deepcopy(DATA)
    data["hazards"][0] |= change
    with pytest.raises(ValueError, match=path):
        read_agents(data)


def test_a_value_left_out_is_named_by_its_path() -> None:
    data = copy.deepcopy(DATA)
    del data["hazards"][2]["severity"]
    with pytest.raises(ValueError, match=r"hazards\[2\]\.severity: is missing"):
        read_agents(data)


def test_another_form_of_the_file_is_refused() -> None:
    with pytest.raises(ValueError, match="hazards: must be an object of schema 1"):
        read_agents({**DATA, "schema": 2})


def test_the_file_as_it_is_can_be_taken() -> None:
    assert list(read_agents(DATA)) == list(hazards())
