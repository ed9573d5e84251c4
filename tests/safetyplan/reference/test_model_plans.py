"""The model plans as data: strict files, honest figures, and a whole plan under every profile."""

import copy
import json
import re
from typing import Any

import pytest

from safetyplan.calculation.limits.held_for import HeldFor
from safetyplan.calculation.limits.shape import nested
from safetyplan.integrity import canonical
from safetyplan.plans import document
from safetyplan.plans.decision_tree import TREES, walk
from safetyplan.plans.parts import Plan
from safetyplan.plans.plan_check import NOT_RECORDED, check
from safetyplan.reference.hazards import hazards
from safetyplan.reference.model_plans import (
    FAMILIES,
    FOLDER,
    PLACEHOLDER,
    instantiate,
    model_plans,
    read_model,
)
from safetyplan.reference.profiles import profiles

MODELS = model_plans()
EVERY = [(family, profile) for family in MODELS for profile in profiles()]
# what only the people of the dairy can do: set, confirm, sign, walk the flow, bring evidence
OPEN_ERRORS = {"P015", "P018", "P019", "P020"}
OPEN_WARNINGS = {"P035", "P037"}
FIRST = next(iter(MODELS))


def plan_of(family: str, profile: str) -> Plan:
    return document.read(instantiate(MODELS[family], profile=profile, code="NK", name="Nettle Knoll"))


def test_each_of_the_eight_families_has_its_model() -> None:
    assert tuple(MODELS) == FAMILIES
    assert {file.stem for file in FOLDER.glob("*.json")} == set(FAMILIES)


@pytest.mark.parametrize("family", MODELS)
def test_a_model_says_what_it_is_for_and_that_it_must_be_worked_through(family: str) -> None:
    model = MODELS[family]
    assert model.name
    assert model.sources
    assert len(model.about) > 80


@pytest.mark.parametrize(("family", "profile"), EVERY)
def test_a_plan_made_of_a_model_is_a_document_that_can_be_kept(family: str, profile: str) -> None:
    made = instantiate(MODELS[family], profile=profile, code="NK", name="Nettle Knoll", title="Our plan")
    plan = document.read(made)
    assert canonical.loads(canonical.dumps(made)) == made
    assert PLACEHOLDER not in [code for item in (*plan.hazards, *plan.controls) for code in item.products]
    assert (plan.title, plan.products[0].code, plan.products[0].name) == ("Our plan", "NK", "Nettle Knoll")
    assert plan.products[0].family == family


@pytest.mark.parametrize(("family", "profile"), EVERY)
def test_the_plan_carries_the_figures_of_its_profile_and_the_day_they_were_read(
    family: str, profile: str
) -> None:
    found = plan_of(family, profile).profile
    assert found is not None
    given = profiles()[profile]
    assert (found.code, found.read_on) == (given.code, given.read_on)
    assert [(p.code, p.value, p.reason) for p in found.parameters] == [
        (p.code, p.value, "") for p in given.parameters
    ]


@pytest.mark.parametrize(("family", "profile"), EVERY)
def test_nothing_is_wrong_but_what_people_have_still_to_decide_confirm_and_bring(
    family: str, profile: str
) -> None:
    found = check(plan_of(family, profile))
    assert [f for f in found if f.level == "error" and f.id not in OPEN_ERRORS] == []
    assert [f for f in found if f.level == "warning" and f.id not in OPEN_WARNINGS] == []
    assert {"P018", "P019", "P020"} <= {f.id for f in found}


# no regulation that was read fixes a pH by an hour
@pytest.mark.parametrize(("family", "profile"), EVERY)
def test_no_model_fills_in_a_limit_of_acidification(family: str, profile: str) -> None:
    kinds = {limit.kind for c in plan_of(family, profile).controls for limit in nested(c.limit)}
    assert "reached_by" not in kinds
    assert not kinds & NOT_RECORDED


@pytest.mark.parametrize(("family", "profile"), EVERY)
def test_every_control_names_its_source_and_whether_it_was_read(family: str, profile: str) -> None:
    plan = plan_of(family, profile)
    assert [c.code for c in plan.controls if not (c.figure_source.strip() and c.provenance)] == []
    read_from_memory = re.compile(r"^[^;()]*\(from memory\)$")
    assert [
        c.code for c in plan.controls if c.provenance == "read" and read_from_memory.match(c.figure_source)
    ] == []


@pytest.mark.parametrize(("family", "profile"), EVERY)
def test_every_critical_control_point_is_monitored_corrected_verified_and_recorded(
    family: str, profile: str
) -> None:
    for control in (c for c in plan_of(family, profile).controls if c.is_ccp):
        said = (
            control.what,
            control.how,
            control.who,
            control.verification,
            control.record,
            control.justification,
        )
        assert all(text.strip() for text in said)
        assert len(control.corrective_actions) >= 3
        assert control.measure_next_minutes > 0


@pytest.mark.parametrize("family", MODELS)
def test_every_hazard_is_one_of_the_list_and_keeps_its_kind(family: str) -> None:
    for hazard in plan_of(family, "codex").hazards:
        agent = hazards()[hazard.agent]
        assert hazard.kind == agent.kind
        # a germ of the rooms may also come with the milk; a toxin, a residue, an allergen stays what it is
        assert hazard.group == agent.group or (not hazard.group and agent.group == "environmental_pathogen")
        assert hazard.source.strip()
        assert not (hazard.removed_by_reheating and not agent.removed_by_reheating)


# the meaning of each result: CXC 1-1969, tree of 2022 (results of questions 3 and 4 from memory)
@pytest.mark.parametrize("family", MODELS)
def test_every_significant_hazard_went_through_the_tree_to_the_choice_of_the_plan(family: str) -> None:
    plan = plan_of(family, "codex")
    for hazard in (h for h in plan.hazards if h.significant):
        assert hazard.determination is not None, hazard.code
        way = walk(TREES[hazard.determination.tree], hazard.determination.answers)
        control = plan.control(hazard.controlled_by)
        critical = control is not None and control.is_ccp
        here = "ccp" if critical else "prerequisite"
        expected = "later_step" if hazard.where == "later_step" else here
        assert (hazard.code, way.result, way.unused) == (hazard.code, expected, ())
        if hazard.where == "this_step" and control is not None and control.step:
            assert control.step == hazard.step, hazard.code
        if hazard.where == "later_step":
            assert control is not None
            assert control.step == hazard.controlled_step != hazard.step


@pytest.mark.parametrize("family", MODELS)
def test_every_step_is_looked_at_for_hazards_unless_it_only_sorts_or_ends(family: str) -> None:
    plan = plan_of(family, "codex")
    looked_at = {hazard.step for hazard in plan.hazards}
    left = [
        s.code
        for s in plan.products[0].steps
        if s.kind not in ("inspection", "end") and s.code not in looked_at
    ]
    assert left == []


# 21 CFR 117.130(b)(1)(ii): radiological hazards are considered; one row for the whole site
@pytest.mark.parametrize("family", MODELS)
def test_the_radiological_hazard_is_one_row_of_the_whole_site(family: str) -> None:
    rows = [h for h in plan_of(family, "codex").hazards if h.kind == "radiological"]
    assert [(h.step, h.products) for h in rows] == [("", ())]


@pytest.mark.parametrize("family", MODELS)
def test_the_flow_begins_ends_branches_and_names_what_goes_in(family: str) -> None:
    product = plan_of(family, "codex").products[0]
    kinds = [step.kind for step in product.steps]
    assert kinds[0] == "start"
    assert "end" in kinds
    assert any(len(product.follows(step)) > 1 for step in product.steps)
    entered = " ".join(name for step in product.steps for name in step.inputs)
    assert all(name in entered for name in ("milk", "water", "labels"))
    reached, todo = set(), [step for step in product.steps if step.kind == "start"]
    reached |= {step.code for step in todo}
    while todo:
        for code in product.follows(todo.pop()):
            found = product.step(code)
            assert found is not None
            if code not in reached:
                reached.add(code)
                todo.append(found)
    fed = {code for step in product.steps for code in product.follows(step)}
    alone = [s.code for s in product.steps if s.code not in reached and s.inputs == ()]
    assert alone == []
    assert [s.code for s in product.steps if s.code not in reached | fed and not product.follows(s)] == []


# heat in the units and at the figures of the rules: 21 CFR 133.3(d); Regulation (EC) 853/2004, annex III,
# section IX; C.R.C. c. 870, B.08.030(1); Standard 4.2.4, clause 15, as quoted by a dairy. Air space: 3 °C or
# 5 °F above, Grade A Pasteurized Milk Ordinance, item 16p (from memory)
@pytest.mark.parametrize(
    ("profile", "unit", "product", "air"),
    [
        ("us_full", "degF", "145", "150"),
        ("us_qualified", "degF", "145", "150"),
        ("eu", "degC", "63", "66"),
        ("gb", "degC", "63", "66"),
        ("codex", "degC", "63", "66"),
        ("nz", "degC", "63", "66"),
        ("ca", "degC", "61.6", "64.6"),
        ("au", "degC", "72", "75"),
    ],
)
@pytest.mark.parametrize("family", [f for f in ("fresh_lactic", "soft_bloomy", "washed_rind") if f in MODELS])
def test_the_heat_limit_is_that_of_the_profile_in_its_own_unit(
    family: str, profile: str, unit: str, product: str, air: str
) -> None:
    control = plan_of(family, profile).control("CCP1")
    assert control is not None
    assert isinstance(control.limit, HeldFor)
    assert (
        control.limit.unit,
        str(control.limit.product_at_least),
        str(control.limit.air_space_at_least),
    ) == (
        unit,
        product,
        air,
    )


@pytest.mark.parametrize("family", MODELS)
def test_no_word_of_a_model_promises_or_names_a_code_that_may_change(family: str) -> None:
    text = (FOLDER / f"{family}.json").read_text(encoding="utf-8")
    assert not re.search(
        r"\bsafe(?!ty plan)", text.replace("food-safety plan", "").replace("Food-safety plan", "")
    )
    codes = {item["code"] for item in MODELS[family].plan["controls"]}
    texts = [action["text"] for c in MODELS[family].plan["controls"] for action in c["corrective_actions"]]
    texts += [h["reason"] + h["measure"] for h in MODELS[family].plan["hazards"]]
    texts += [v["how"] for v in MODELS[family].plan["verifications"]]
    assert [text for text in texts if any(re.search(rf"\b{code}\b", text) for code in codes)] == []


def test_a_plan_made_of_a_model_leaves_the_model_as_it_was() -> None:
    before = json.dumps(MODELS[FIRST].plan, sort_keys=True)
    made = instantiate(MODELS[FIRST], profile="us_full", code="NK", name="Nettle Knoll")
    made["controls"][0]["limit"].clear()
    made["products"][0]["steps"].clear()
    assert json.dumps(MODELS[FIRST].plan, sort_keys=True) == before


def test_an_unknown_profile_and_an_empty_code_are_refused() -> None:
    with pytest.raises(ValueError, match="there is no regulatory profile 'moon'"):
        instantiate(MODELS[FIRST], profile="moon", code="NK", name="Nettle Knoll")
    with pytest.raises(ValueError, match="a product needs a code"):
        instantiate(MODELS[FIRST], profile="eu", code=" ", name="Nettle Knoll")


def _file() -> dict[str, Any]:
    data: dict[str, Any] = json.loads((FOLDER / f"{FIRST}.json").read_text(encoding="utf-8"))
    return copy.deepcopy(data)


@pytest.mark.parametrize(
    ("path", "value", "message"),
    [
        (("colour",), "red", r"model\.colour: is not known here"),
        (("schema",), 2, r"model\.schema: must be 1"),
        (("schema",), True, r"model\.schema: must be 1"),
        (("family",), "smoked", r"model\.family"),
        (("name",), " ", r"model\.name: must be a text"),
        (("sources",), [], r"model\.sources"),
        (("sources",), ["", "a"], r"model\.sources\[0\]"),
        (("plan",), [], r"model\.plan: must be an object"),
        (("plan", "profile"), {"code": "eu"}, r"model\.plan\.profile"),
        (("plan", "products"), [], r"model\.plan\.products"),
        (("plan", "hazards"), None, r"model\.plan\.hazards"),
        (("by_profile", "moon"), {}, r"model\.by_profile\.moon: is not known here"),
        (("by_profile", "eu", "recall"), {}, r"model\.by_profile\.eu\.recall: is not known here"),
        (("by_profile", "eu", "controls", "CCP99"), {}, r"model\.by_profile\.eu\.controls\.CCP99"),
        (
            ("by_profile", "eu", "controls", "CCP1", "code"),
            "CCP9",
            r"eu\.controls\.CCP1\.code: is not known here",
        ),
        (("by_profile", "eu", "controls", "CCP1", "limits"), {}, r"eu\.controls\.CCP1\.limits: is not known"),
        (("by_profile", "eu", "product"), {"colour": "red"}, r"eu\.product\.colour: is not known here"),
    ],
)
def test_a_file_that_cannot_be_taken_is_named_by_its_path(
    path: tuple[str, ...], value: Any, message: str
) -> None:
    data = _file()
    inside = data
    for key in path[:-1]:
        inside = inside[key]
    inside[path[-1]] = value
    with pytest.raises(ValueError, match=message):
        read_model(data)


def test_a_key_left_out_is_named_and_the_file_as_it_is_can_be_taken() -> None:
    assert read_model(_file()) == MODELS[FIRST]
    data = _file()
    del data["about"]
    with pytest.raises(ValueError, match=r"model\.about: is missing"):
        read_model(data)


def test_the_trees_of_the_models_reach_every_class() -> None:
    results = {
        walk(TREES[h["determination"]["tree"]], h["determination"]["answers"]).result
        for model in MODELS.values()
        for h in model.plan["hazards"]
        if "determination" in h
    }
    assert {"ccp", "later_step", "prerequisite"} <= results
