"""Where each finding of the plan check is mended: the part of the editor, and the screen in it. Pure."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from django.urls import NoReverseMatch, reverse

from safetyplan.plans.document import Plan
from safetyplan.plans.plan_check import Finding

Codes = tuple[str, ...]


@dataclass(frozen=True)
class Screen:
    """A screen of the editor: the part it belongs to; codes: of the items it is about, None for no item."""

    part: str
    codes: Callable[[Plan], Codes] | None = None


def _codes(name: str) -> Callable[[Plan], Codes]:
    return lambda plan: tuple(item.code for item in getattr(plan, name))


def _parameters(plan: Plan) -> Codes:
    return tuple(parameter.code for parameter in plan.profile.parameters) if plan.profile else ()


SCREENS: Mapping[str, Screen] = {
    "plan_product": Screen("plan_products", _codes("products")),
    "plan_steps": Screen("plan_products", _codes("products")),
    "plan_events": Screen("plan_products", _codes("products")),
    "plan_hazard": Screen("plan_hazards", _codes("hazards")),
    "plan_determination": Screen("plan_hazards", _codes("hazards")),
    "plan_control": Screen("plan_controls", _codes("controls")),
    "plan_limit": Screen("plan_controls", _codes("controls")),
    "plan_prerequisite": Screen("plan_programmes", _codes("prerequisites")),
    "plan_verification": Screen("plan_programmes", _codes("verifications")),
    "plan_validation": Screen("plan_programmes", _codes("validations")),
    "plan_verification_add": Screen("plan_programmes"),
    "plan_validation_add": Screen("plan_programmes"),
    "plan_recall": Screen("plan_programmes"),
    "plan_positive": Screen("plan_programmes"),
    "plan_parameter": Screen("plan_profile", _parameters),
}
# by the id of a finding: the first of these screens that is about what the finding names, or about no item;
# a name that is no screen is a part. Where none is, the part of the first.
MENDED: Mapping[str, Codes] = {
    "P001": ("plan_products",),
    "P002": ("plan_hazard",),
    "P003": ("plan_hazard",),
    "P004": ("plan_control", "plan_hazard"),
    "P005": ("plan_control", "plan_hazard"),
    "P006": ("plan_control",),
    "P007": ("plan_control",),
    "P008": ("plan_control",),
    "P009": ("plan_control",),
    "P010": ("plan_control",),
    "P011": ("plan_controls",),
    "P012": ("plan_control",),
    "P013": ("plan_limit",),
    "P014": ("plan_text",),
    "P015": ("plan_limit",),
    "P016": ("plan_control",),
    "P017": ("plan_control",),
    "P018": ("plan_confirm",),
    "P019": ("plan_confirm",),
    "P020": ("plan_confirm",),
    "P021": ("plan_limit", "plan_verification", "plan_parameter"),
    "P022": ("plan_limit",),
    "P023": ("plan_control",),
    "P024": ("plan_control",),
    "P025": ("plan_limit", "plan_parameter"),
    "P026": ("plan_hazard",),
    "P027": ("plan_product",),
    "P028": ("plan_recall",),
    "P029": ("plan_hazard",),
    "P030": ("plan_positive",),
    "P031": ("plan_hazard",),
    "P032": ("plan_controls",),
    "P033": ("plan_verification_add",),
    "P034": ("plan_limit", "plan_product"),
    "P035": ("plan_product",),
    "P036": ("plan_product",),
    "P037": ("plan_validation_add",),
    "P038": ("plan_validation",),
    "P039": ("plan_determination",),
    "P040": ("plan_determination",),
    "P041": ("plan_validation",),
    "P042": ("plan_control",),
    "P043": ("plan_profile",),
    "P044": ("plan_hazards",),
    "P045": ("plan_parameter",),
    "P046": ("plan_steps",),
    "P047": ("plan_hazard",),
    "P048": ("plan_hazard",),
    "P049": ("plan_limit",),
    "P050": ("plan_control",),
    "P051": ("plan_control",),
    "P052": ("plan_control",),
    "P053": ("plan_control",),
    "P054": ("plan_control",),
    "P055": ("plan_control",),
    "P056": ("plan_control",),
}


def place_of(finding: Finding, plan: Plan) -> Codes:
    """Give the name of the address at which a finding is mended, with its arguments."""
    names = MENDED.get(finding.id, ("plan_text",))
    where = finding.where.removeprefix("legal:")
    for name in names:
        screen = SCREENS.get(name)
        if screen is None or screen.codes is None:
            return (name,)
        if where in screen.codes(plan):
            return (name, where)
    return (SCREENS[names[0]].part,)


def part_of(finding: Finding, plan: Plan) -> str:
    """Give the part of the editor (its name in `frame.PARTS`) in which a finding is mended."""
    name = place_of(finding, plan)[0]
    return SCREENS[name].part if name in SCREENS else name


def code_of(finding: Finding, plan: Plan) -> str:
    """Give the code of the item that a finding names; '' where its words name it already."""
    coded = (plan.products, plan.hazards, plan.controls, plan.verifications, plan.validations)
    codes = {item.code for items in coded for item in items}
    return finding.where if finding.where in codes else ""


def address(slug: str, name: str, *codes: str) -> str:
    """Give an address of the editor; '' where a code of a plan written elsewhere fits into none."""
    try:
        return reverse(name, args=[slug, *codes])
    except NoReverseMatch:
        return ""
