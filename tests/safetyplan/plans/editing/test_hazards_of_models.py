"""Every hazard of every model plan passes through the form: it opens, it saves, it stays what it was."""

from typing import Any

import pytest

from safetyplan.plans.document import read
from safetyplan.plans.editing.hazards_form import OPTIONAL, HazardForm, initial_of
from safetyplan.plans.editing.hazards_page import product_named, sheet
from safetyplan.plans.parts import Hazard, Plan
from safetyplan.plans.plan_check import check
from safetyplan.reference.model_plans import instantiate, model_plans
from safetyplan.reference.profiles import profiles


def plans() -> list[tuple[str, str]]:
    """Give every model plan under every profile."""
    return [(family, profile) for family in model_plans() for profile in profiles()]


def document_of(family: str, profile: str) -> dict[str, Any]:
    """Give the document that a model plan begins with."""
    return instantiate(model_plans()[family], profile=profile, code="VR", name="Vane Red")


def sent_again(plan: Plan, hazard: Hazard) -> HazardForm:
    """Send the form of a hazard as it opens."""
    form = HazardForm(plan, {**initial_of(hazard), "revision": "1"}, present=hazard)
    assert form.is_valid(), (hazard.code, form.errors.as_json())
    return form


@pytest.mark.parametrize(("family", "profile"), plans())
def test_a_hazard_of_a_model_plan_saved_as_it_opens_stays_what_it_was(family: str, profile: str) -> None:
    data = document_of(family, profile)
    plan = read(data)

    for item, hazard in zip(data["hazards"], plan.hazards, strict=True):
        kept = sent_again(plan, hazard).document(hazard.code)
        before = {
            key: value
            for key, value in item.items()
            if key != "determination" and (value or key not in OPTIONAL)
        }
        assert kept == before


@pytest.mark.parametrize("family", model_plans())
def test_every_hazard_of_a_model_plan_stands_at_a_step_or_for_the_whole_site(family: str) -> None:
    plan = read(document_of(family, "codex"))

    shown = sheet(plan, product_named(plan, "VR"), check(plan))

    at_steps = [card.hazard for row in shown.steps for card in row.cards]
    assert not shown.astray
    assert {h.code for h in (*at_steps, *(c.hazard for c in shown.site))} == {h.code for h in plan.hazards}
