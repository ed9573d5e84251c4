"""A further product in a plan that is being written: what is shared, what is added, what follows."""

import copy
from typing import Any

import pytest

from safetyplan.plans import document
from safetyplan.plans.plan_check import check
from safetyplan.reference.model_plans import add_to, instantiate, model_plans
from safetyplan.reference.profiles import profiles

MODELS = model_plans()
FRESH, BLOOMY, WASHED = (MODELS[name] for name in ("fresh_lactic", "soft_bloomy", "washed_rind"))
OPEN = {"P015", "P018", "P019", "P020", "P035", "P037"}
PAIRS = [(one, other) for one in MODELS for other in MODELS]


def draft(profile: str = "eu") -> dict[str, Any]:
    return instantiate(FRESH, profile=profile, code="NK", name="Nettle Knoll")


def item(data: dict[str, Any], part: str, name: str) -> dict[str, Any]:
    return next(one for one in data[part] if one["name"] == name)


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_any_two_models_make_one_plan_without_new_faults(one: str, other: str) -> None:
    first = instantiate(MODELS[one], profile="eu", code="NK", name="Nettle Knoll")
    both = add_to(first, MODELS[other], code="HB", name="Hollow Bank")
    plan = document.read(both)
    assert [product.code for product in plan.products] == ["NK", "HB"]
    assert [f for f in check(plan) if f.id not in OPEN] == []
    named = {c.code for c in plan.controls} | {p.code for p in plan.prerequisites}
    assert {h.controlled_by for h in plan.hazards} - {""} <= named
    assert {code for v in plan.verifications for code in v.controls} <= {c.code for c in plan.controls}


@pytest.mark.parametrize("profile", profiles())
def test_under_every_profile_all_three_first_models_stand_in_one_plan(profile: str) -> None:
    whole = add_to(draft(profile), BLOOMY, code="WM", name="White Meadow")
    whole = add_to(whole, WASHED, code="RB", name="Red Barrow")
    plan = document.read(whole)
    assert [f for f in check(plan) if f.id not in OPEN] == []
    heat = [c for c in plan.controls if c.name == "Heat treatment"]
    assert [c.products for c in heat] == [("NK", "WM", "RB")]
    assert len([c for c in plan.controls if c.name == "Cold store"]) == 1
    assert len([p for p in plan.prerequisites if p.name == "Water"]) == 1
    assert len([h for h in plan.hazards if h.kind == "radiological"]) == 1


def test_the_draft_that_was_given_stays_as_it_was() -> None:
    first = draft()
    before = copy.deepcopy(first)
    add_to(first, WASHED, code="RB", name="Red Barrow")
    assert first == before


def test_equal_controls_and_hazards_are_shared_by_adding_the_product() -> None:
    both = add_to(draft(), WASHED, code="RB", name="Red Barrow")
    assert item(both, "controls", "Milk temperature at receipt")["products"] == ["NK", "RB"]
    heated = [h for h in both["hazards"] if h["agent"] == "salmonella" and h["step"] == "receive"]
    assert [h["products"] for h in heated] == [["NK", "RB"]]


def test_a_control_that_differs_gets_a_free_code_and_everything_that_names_it_follows() -> None:
    both = add_to(draft(), WASHED, code="RB", name="Red Barrow")
    fresh, washed = (c for c in both["controls"] if c["name"] == "Acid in time")
    assert (fresh["code"], fresh["products"]) == ("CCP2", ["NK"])
    assert washed["code"] not in ("CCP1", "CCP2")
    assert washed["products"] == ["RB"]
    assert all(action["code"].startswith(f"{washed['code']}-") for action in washed["corrective_actions"])
    toxin = [
        h for h in both["hazards"] if h["step"] == "acidify" and h["agent"] == "staphylococcal_enterotoxin"
    ]
    assert {(h["products"][0], h["controlled_by"]) for h in toxin} == {("NK", "CCP2"), ("RB", washed["code"])}
    meter = item(both, "verifications", "pH meter in two buffers")
    assert meter["controls"] == ["CCP2", washed["code"]]


def test_a_programme_of_the_same_name_is_the_same_and_keeps_the_words_of_the_draft() -> None:
    first = draft()
    item(first, "prerequisites", "Water").update(code="W9", text="Our own spring, tested twice a year.")
    both = add_to(first, WASHED, code="RB", name="Red Barrow")
    assert [p["text"] for p in both["prerequisites"] if p["name"] == "Water"] == [
        "Our own spring, tested twice a year."
    ]
    water = [h for h in both["hazards"] if h["products"] == ["RB"] and h["controlled_by"] == "WATER"]
    assert water == []


def test_a_check_of_the_house_is_shared_only_with_the_same_limit() -> None:
    first = draft()
    item(first, "controls", "Cold store")["limit"]["at_most"] = "7"
    both = add_to(first, WASHED, code="RB", name="Red Barrow")
    stores = [c for c in both["controls"] if c["name"] == "Cold store"]
    assert [c["limit"]["at_most"] for c in stores] == ["7", "5"]
    assert len({c["code"] for c in stores}) == 2


def test_a_check_of_the_house_in_other_words_but_with_the_same_limit_is_shared() -> None:
    first = draft()
    item(first, "controls", "Cold store")["monitoring"]["who"] = "Mirren"
    both = add_to(first, WASHED, code="RB", name="Red Barrow")
    assert [c["monitoring"]["who"] for c in both["controls"] if c["name"] == "Cold store"] == ["Mirren"]


def test_tests_of_cheese_with_other_criteria_stand_side_by_side() -> None:
    both = add_to(draft(), WASHED, code="RB", name="Red Barrow")
    assert len([v for v in both["verifications"] if v["name"] == "Finished cheese"]) == 2
    assert len([v for v in both["verifications"] if v["name"] == "Phosphatase of the heated milk"]) == 1


def test_the_procedures_of_the_draft_stand_and_only_empty_ones_are_filled() -> None:
    first = draft()
    first["recall"]["public"] = "We call the radio."
    first["recall"]["disposal"] = ""
    both = add_to(first, WASHED, code="RB", name="Red Barrow")
    assert both["recall"]["public"] == "We call the radio."
    assert both["recall"]["disposal"] == WASHED.plan["recall"]["disposal"]


def test_the_figures_of_the_draft_s_profile_are_taken() -> None:
    both = add_to(draft("us_full"), WASHED, code="RB", name="Red Barrow")
    assert item(both, "controls", "Ripening room")["limit"]["unit"] == "degF"


def test_a_draft_without_a_profile_gets_the_figures_of_codex() -> None:
    first = draft("us_full")
    del first["profile"]
    both = add_to(first, WASHED, code="RB", name="Red Barrow")
    assert "profile" not in both
    assert item(both, "controls", "Ripening room")["limit"]["unit"] == "degC"


def test_a_text_left_out_and_an_empty_one_say_the_same() -> None:
    first = draft()
    milk = item(first, "controls", "Inhibitor test of the milk")
    del milk["resolution"]
    both = add_to(first, WASHED, code="RB", name="Red Barrow")
    assert item(both, "controls", "Inhibitor test of the milk")["products"] == ["NK", "RB"]


def test_a_code_that_is_taken_and_a_document_of_the_old_form_are_refused() -> None:
    with pytest.raises(ValueError, match="products: the code NK is used already"):
        add_to(draft(), WASHED, code="NK", name="Red Barrow")
    with pytest.raises(ValueError, match="schema: must be 2"):
        add_to({**draft(), "schema": 1}, WASHED, code="RB", name="Red Barrow")
