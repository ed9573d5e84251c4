"""The words of a plan on paper: kinds of hazards, where a hazard is controlled, kinds of evidence."""

from django.utils.translation import gettext as _

from safetyplan.calculation.rounding import amount
from safetyplan.plans.described import duration_words
from safetyplan.plans.flow_diagram import step_number
from safetyplan.plans.parts import Control, Hazard, Plan, Product


def or_dash(text: str) -> str:
    """Give a text, or a dash where nothing was written."""
    return text.strip() or "–"


def lines(*parts: str) -> str:
    """Put the parts that say something below each other."""
    return "\n".join(part for part in parts if part.strip())


def yes_no(value: bool) -> str:
    """Write an answer."""
    return _("yes") if value else _("no")


def kind_words(kind: str) -> str:
    """Name the kind of a hazard after its letter."""
    return {
        "biological": _("B, biological"),
        "chemical": _("C, chemical"),
        "physical": _("P, physical"),
        "radiological": _("R, radiological"),
    }.get(kind, kind)


def group_words(group: str) -> str:
    """Name the group of a hazard."""
    return {
        "allergen": _("allergen"),
        "drug_residue": _("drug residue"),
        "toxin": _("toxin"),
        "environmental_pathogen": _("environmental pathogen"),
    }.get(group, group)


def effect_words(effect: str) -> str:
    """Say what happens to a hazard at its step."""
    return {
        "introduced": _("introduced here"),
        "increased": _("increased here"),
        "controlled": _("controlled here"),
    }.get(effect, effect)


def treatment_words(treatment: str) -> str:
    """Name the treatment of the milk."""
    return {
        "raw": _("raw"),
        "thermised": _("thermised"),
        "pasteurised": _("pasteurised"),
    }.get(treatment, treatment)


def family_words(family: str) -> str:
    """Name the family of a cheese."""
    return {
        "fresh_lactic": _("fresh lactic"),
        "soft_bloomy": _("soft, bloomy rind"),
        "washed_rind": _("washed rind"),
        "washed_curd": _("semi-hard, washed curd"),
        "hard_raw": _("hard, raw milk"),
        "blue": _("blue"),
        "brined": _("brined"),
        "whey_cheese": _("whey cheese"),
    }.get(family, family.replace("_", " "))


def verification_words(kind: str) -> str:
    """Name a kind of verification."""
    return {
        "records_review": _("review of records"),
        "calibration": _("calibration"),
        "phosphatase": _("phosphatase"),
        "product_test": _("test of the product"),
        "milk_test": _("test of the milk"),
        "environment": _("sampling of the environment"),
        "recall_exercise": _("recall exercise"),
        "supplier": _("supplier"),
        "label_audit": _("audit of labels"),
    }.get(kind, _("other"))


def validation_kind_words(kind: str) -> str:
    """Name a kind of evidence."""
    return {
        "regulation": _("regulation"),
        "guide": _("guide"),
        "study": _("published study"),
        "trial": _("own trial"),
        "challenge_study": _("challenge study"),
    }.get(kind, kind)


def unit_symbol(unit: str) -> str:
    """Give the symbol of a unit as it stands in the head of a column."""
    return amount("", unit).strip()


def products_of(plan: Plan, codes: tuple[str, ...]) -> list[Product]:
    """Give the products of some codes; all of them where none is named."""
    return [product for product in plan.products if not codes or product.code in codes]


def step_words(plan: Plan, products: tuple[str, ...], code: str) -> str:
    """Name a step with its number in the flow; each product's number where they differ."""
    if not code:
        return _("whole site")
    found = [(p.code, step_number(p, code), p.step(code)) for p in products_of(plan, products)]
    known = [(product, number, step.name) for product, number, step in found if step is not None]
    if not known:
        return code
    numbers, names = {number for _code, number, _name in known}, {name for _code, _number, name in known}
    if len(numbers) == 1 and len(names) == 1:
        return f"{known[0][1]}. {known[0][2]}"
    return "\n".join(f"{product} {number}. {name}" for product, number, name in known)


def control_name(control: Control) -> str:
    """Name a control with its code."""
    return f"{control.code} {control.name}"


def actions_words(control: Control) -> str:
    """Write what is done when a limit is missed, in order, and when to measure again."""
    told = (f"{number}. {text}" for number, (_code, text) in enumerate(control.corrective_actions, start=1))
    again = ""
    if control.measure_next_minutes:
        wait = duration_words(control.measure_next_minutes)
        again = _("Measure again after %(wait)s.") % {"wait": wait}
    return lines(*told, again)


def controlled_words(plan: Plan, hazard: Hazard) -> str:
    """Say whether the step is a critical control point for a hazard, or where else it is controlled."""
    control = plan.control(hazard.controlled_by)
    prerequisite = plan.prerequisite(hazard.controlled_by)
    elsewhere = ""
    if hazard.where == "later_step":
        step = step_words(plan, hazard.products, hazard.controlled_step)
        elsewhere = _("controlled at a later step: %(step)s") % {"step": step}
    elif hazard.where == "prerequisite":
        elsewhere = _("controlled by a prerequisite")
    named = control_name(control) if control else ""
    if prerequisite is not None:
        named = f"{prerequisite.code} {prerequisite.name}"
    is_point = control is not None and control.is_ccp and not elsewhere
    return lines(_("YES") if is_point else _("no"), elsewhere, named or hazard.controlled_by)
