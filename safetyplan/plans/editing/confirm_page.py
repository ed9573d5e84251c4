"""What the screen of the confirmations shows: figures, table of targets, flows, what is not validated."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.forms import Form

from safetyplan.calculation.open_limit import OpenLimit
from safetyplan.plans.around import Around
from safetyplan.plans.confirmations import (
    FLOW,
    TARGETS,
    Given,
    figure_given,
    flow_given,
    has_expired,
    outdated,
    standing,
)
from safetyplan.plans.described import ControlWords, control_words, controls_words
from safetyplan.plans.editing.confirm_forms import FigureForm, FlowForm, TargetsForm
from safetyplan.plans.editing.profile_values import capital, profile_figure_words
from safetyplan.plans.figures import Figure, figures, flow_value, provenance_words, targets_value
from safetyplan.plans.parts import Plan, Product, Step, Validation

Bound = Mapping[str, Form]


@dataclass(frozen=True)
class FigureShown:
    """One figure: what stands for it, what was confirmed of it earlier, the form to confirm it."""

    figure: Figure
    name: str
    provenance: str
    profile_says: str
    code: str
    standing: Given | None
    earlier: Given | None
    form: Form


@dataclass(frozen=True)
class StepShown:
    """A step of a flow: what goes in, the controls at it, where it goes on when not to the next one."""

    step: Step
    controls: list[str]
    onward: list[str]


@dataclass(frozen=True)
class FlowShown:
    """The flow of one product and who walked it."""

    product: Product
    steps: list[StepShown]
    standing: Given | None
    earlier: Given | None
    form: Form


@dataclass(frozen=True)
class NotValidated:
    """A control without evidence that counts today; expired: evidence it once had."""

    control: ControlWords
    expired: list[Validation]


def confirm_page(plan: Plan, given: Sequence[Given], around: Around, bound: Bound) -> dict[str, Any]:
    """Give everything the screen shows; `bound` holds the form that was refused."""
    rows = [_figure(plan, one, at, given, bound) for at, one in enumerate(figures(plan))]
    table = targets_value(plan)
    return {
        "open_figures": [row for row in rows if row.standing is None],
        "done_figures": [row for row in rows if row.standing is not None],
        "figure_count": len(rows),
        "table": controls_words(plan),
        "unset": [control.code for control in plan.controls if isinstance(control.limit, OpenLimit)],
        "table_given": standing(given, TARGETS, table),
        "table_earlier": outdated(given, TARGETS, table),
        "table_form": bound.get(TARGETS) or TargetsForm(initial={"value": table}, auto_id="targets_%s"),
        "flows": [_flow(plan, product, given, bound, at) for at, product in enumerate(plan.products)],
        "not_validated": _not_validated(plan, around),
        "refused": bound.get("elsewhere"),
    }


def _figure(plan: Plan, figure: Figure, at: int, given: Sequence[Given], bound: Bound) -> FigureShown:
    form = bound.get(figure.what)
    if form is None:
        source = figure.source if figure.provenance == "read" else ""
        initial = {"what": figure.what, "value": figure.value, "source": source}
        form = FigureForm(initial=initial, provenance=figure.provenance, auto_id=f"figure{at}_%s")
    return FigureShown(
        figure=figure,
        name=capital(figure.name),
        provenance=provenance_words(figure.provenance),
        profile_says=profile_figure_words(plan, figure),
        code=figure.what.split(":", 1)[1],
        standing=figure_given(given, figure),
        earlier=outdated(given, figure.what, figure.value),
        form=form,
    )


def _flow(plan: Plan, product: Product, given: Sequence[Given], bound: Bound, at: int) -> FlowShown:
    value, what = flow_value(product), f"{FLOW}{product.code}"
    return FlowShown(
        product=product,
        steps=[_step(plan, product, step) for step in product.steps],
        standing=flow_given(given, product),
        earlier=outdated(given, what, value),
        form=bound.get(what) or FlowForm(initial={"value": value}, auto_id=f"flow{at}_%s"),
    )


def _step(plan: Plan, product: Product, step: Step) -> StepShown:
    names = {one.code: one.name for one in product.steps}
    at = [one.code for one in product.steps].index(step.code)
    next_one = tuple(one.code for one in product.steps[at + 1 : at + 2])
    follows = product.follows(step)
    return StepShown(
        step=step,
        controls=[c.code for c in plan.controls if c.step == step.code and c.stands_in(product.code)],
        onward=[names.get(code, code) for code in follows] if follows != next_one else [],
    )


def _not_validated(plan: Plan, around: Around) -> list[NotValidated]:
    """List critical control points and operational prerequisites without evidence that counts today."""
    today = around.today
    assert today is not None
    found = []
    for control in plan.controls:
        evidence = plan.validations_of(control)
        expired = [one for one in evidence if has_expired(one, today)]
        if control.rank != "prp" and len(expired) == len(evidence):
            found.append(NotValidated(control_words(plan, control), expired))
    return found
