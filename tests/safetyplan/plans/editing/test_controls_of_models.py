"""Every control of every model plan goes through the editor's forms and comes out as it went in."""

import copy
from typing import Any

import pytest
from django.http import QueryDict

from safetyplan.calculation.limits.catalogue import load
from safetyplan.plans.document import read
from safetyplan.plans.editing import controls_forms
from safetyplan.plans.editing.controls_change import put
from safetyplan.plans.editing.limit_typed import LimitReader, is_set, known_of, texts_of
from safetyplan.reference.model_plans import instantiate, model_plans
from safetyplan.reference.profiles import profiles

PLANS = [(family, profile) for family in model_plans() for profile in profiles()]


def instance(family: str, profile: str) -> dict[str, Any]:
    """Give a model plan as the draft of a dairy."""
    return instantiate(model_plans()[family], profile=profile, code="AB", name="Abbot")


def typed(initial: dict[str, Any]) -> QueryDict:
    """Give the initial values of a form as a browser sends them."""
    sent = QueryDict(mutable=True)
    for name, value in initial.items():
        sent.setlist(name, value if isinstance(value, list) else [value])
    return sent


def filled(document: dict[str, Any]) -> dict[str, Any]:
    """Leave out what is empty: a key left out and an empty text say the same."""
    return {key: value for key, value in document.items() if value not in ("", 0, [])}


@pytest.mark.parametrize(("family", "profile"), PLANS)
def test_a_control_of_a_model_plan_stays_as_it_is(family: str, profile: str) -> None:
    data = instance(family, profile)
    plan = read(data)

    for before in data["controls"]:
        control = plan.control(before["code"])
        assert control is not None
        form = controls_forms.ControlForm(typed(controls_forms.texts_of(control)), plan=plan, control=control)
        assert form.is_valid(), form.errors
        after = copy.deepcopy(before)
        put(form.cleaned_data, plan, control, after)
        assert filled(after) == filled(before)


@pytest.mark.parametrize(("family", "profile"), PLANS)
def test_a_limit_of_a_model_plan_stays_as_it_is(family: str, profile: str) -> None:
    for control in instance(family, profile)["controls"]:
        limit = control["limit"]
        if is_set(limit):
            reader = LimitReader(texts_of(limit), known_of(limit))
            assert reader.read() == load(limit).to_document()
            assert reader.refusals == []
