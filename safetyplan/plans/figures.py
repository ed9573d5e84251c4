"""The figures of a plan that a person must confirm: what they are, how they stand now, in words. Pure.

A critical limit and a figure of the regulatory profile are confirmed one by one, each on a source. Operating
targets, tolerances and the limits of prerequisites are confirmed as one signed table.
A flow is confirmed on site. A confirmation holds for the value it was given for, and for no other.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from safetyplan.calculation.open_limit import OpenLimit
from safetyplan.calculation.rounding import amount
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.integrity import canonical
from safetyplan.plans.described import limit_words
from safetyplan.plans.parts import Control, Parameter, Plan, Product
from safetyplan.reference.profiles import PARAMETERS
from safetyplan.words import name_words

NOT_CRITICAL = ("target", "target_at_least", "target_at_most", "product_target", "tolerance")
# asked only where a product is of the kind they speak of
OF_UNPASTEURISED = ("ageing_days", "ageing_temperature_least", "raw_milk_label", "stec_raw_milk")
LISTERIA_WORDINGS = {"eu": "wording_eu", "au": "wording_australia"}
OF_PASTEURISED = ("heat_rule", "phosphatase_most", "phosphatase_below")


@dataclass(frozen=True)
class Figure:
    """One figure to confirm.

    what: "limit:<code of a control>" or "legal:<code of a parameter>". value: canonical text, compared with
    the value a confirmation was given for. source, provenance: where the plan says it comes from.
    """

    what: str
    name: str
    value: str
    words: tuple[str, ...]
    source: str
    provenance: str

    @property
    def is_limit(self) -> bool:
        """Tell a critical limit from a figure of the profile."""
        return self.what.startswith("limit:")


def _text(value: Any) -> str:
    return canonical.dumps(value).decode()


def _critical(value: Any) -> Any:
    """Give a limit's document without its targets and tolerances."""
    if isinstance(value, Mapping):
        return {key: _critical(inner) for key, inner in value.items() if key not in NOT_CRITICAL}
    return [_critical(inner) for inner in value] if isinstance(value, list) else value


def limit_value(control: Control) -> str:
    """Give the value of a critical limit, without its target."""
    return _text(_critical(control.limit.to_document()))


def parameter_words(parameter: Parameter) -> str:
    """Write the value of a parameter with its unit."""
    if parameter.code == "heat_rule":
        return name_words(parameter.value)
    if parameter.code == "listeria_wording":
        return name_words(LISTERIA_WORDINGS.get(parameter.value, parameter.value))
    if parameter.unit in UNITS:
        return amount(parameter.value, parameter.unit)
    if parameter.unit == "month-day":
        return parameter.value
    return f"{parameter.value} {parameter.unit}".strip()


def is_figure(parameter: Parameter) -> bool:
    """Tell whether a parameter is a figure of law: it has a value in a unit, or names the table of heat."""
    if parameter.provenance == "suggestion" or not parameter.value:
        return False
    return bool(parameter.unit) or parameter.code == "heat_rule"


def concerns(plan: Plan, parameter: Parameter) -> bool:
    """Tell whether a product of the plan is of the kind a parameter speaks of."""
    if parameter.code in OF_UNPASTEURISED:
        return any(product.treatment in ("raw", "thermised") for product in plan.products)
    if parameter.code in OF_PASTEURISED:
        return any(product.treatment == "pasteurised" for product in plan.products)
    return True


def figures(plan: Plan) -> list[Figure]:
    """List the figures to confirm one by one: critical limits that are set, then figures of the profile."""
    limits = [
        Figure(
            what=f"limit:{control.code}",
            name=f"{control.code} {control.name}",
            value=limit_value(control),
            words=tuple(limit_words(control)),
            source=control.figure_source,
            provenance=control.provenance,
        )
        for control in plan.controls
        if control.is_ccp and not isinstance(control.limit, OpenLimit)
    ]
    legal = [
        Figure(
            what=f"legal:{parameter.code}",
            name=str(PARAMETERS.get(parameter.code, parameter.code)),
            value=_text({"value": parameter.value, "unit": parameter.unit}),
            words=(parameter_words(parameter),),
            source=parameter.citation,
            provenance=parameter.provenance,
        )
        for parameter in (plan.profile.parameters if plan.profile else ())
        if is_figure(parameter) and concerns(plan, parameter)
    ]
    return [*limits, *legal]


def targets_value(plan: Plan) -> str:
    """Give all that the one signed table confirms: targets and tolerances, limits of prerequisites."""
    ordered = sorted(plan.controls, key=lambda control: control.code)
    return _text([[control.code, control.limit.to_document()] for control in ordered])


def flow_value(product: Product) -> str:
    """Give the flow of a product as it is confirmed on site: its steps, their inputs and their order."""
    steps = [
        [step.code, step.name, list(step.inputs), step.kind, list(product.follows(step))]
        for step in product.steps
    ]
    return _text({"product": product.code, "steps": steps})


def provenance_words(provenance: str) -> str:
    """Name where a figure comes from."""
    return {
        "read": _("read in the source"),
        "memory": _("from memory: read it before you confirm it"),
        "suggestion": _("our own suggestion, no source"),
        "own": _("chosen here"),
    }.get(provenance, _("no source given"))
