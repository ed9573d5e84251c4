"""Rules on products: label, shelf life, and what a kind of cheese asks for."""

import re
from collections.abc import Iterator
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.calculation.limits.bound import Bound
from safetyplan.calculation.limits.reached_by import ReachedBy
from safetyplan.calculation.limits.shape import nested
from safetyplan.calculation.open_limit import OpenLimit
from safetyplan.plans.around import Around
from safetyplan.plans.parts import Control, Plan, Product, When
from safetyplan.plans.rules.rule import ERROR, UNPASTEURISED, WARNING, Found, products_of, rule

# about 6 h after the starter: common practice; one trial of an uncooked semi-hard cheese measured at 6 h
EARLY_FROM, EARLY_TO = Decimal(5), Decimal(7)
RAW_MILK = re.compile(r"(?<!\w)(raw|unpasteuri[sz]ed)\s+([\w'’-]+\s+){0,3}milk(?!\w)", re.IGNORECASE)


def has_words(text: str, words: str) -> bool:
    """Tell whether a text holds some words, whole, whatever their case and the blanks between them."""
    parts = [re.escape(part) for part in words.casefold().split()]
    if not parts:
        return False
    pattern = r"(?<!\w)" + r"\s+".join(parts) + r"(?!\w)"
    return re.search(pattern, text.casefold()) is not None


@rule("P027", ERROR, gettext_lazy("The label names every allergen of the product."))
def allergens_on_the_label(plan: Plan, around: Around) -> Iterator[Found]:
    """Every allergen is named and stands on the label as a whole word; every cheese has at least milk."""
    for product in plan.products:
        if not any(word.strip() for word in product.allergens):
            yield Found(product.code, _("Names no allergen; every cheese has at least milk."))
        for allergen in product.allergens:
            if allergen.strip() and not has_words(product.label, allergen):
                message = _("The label does not name the allergen “%(allergen)s”.")
                yield Found(product.code, message % {"allergen": allergen})


@rule("P035", WARNING, gettext_lazy("Every shelf life has its evidence."))
def shelf_life_shown(plan: Plan, around: Around) -> Iterator[Found]:
    """A number of days on the label needs a study, a trial or a reference behind it."""
    for product in plan.products:
        if product.shelf_life_days > 0 and not product.shelf_life_evidence.strip():
            message = _("A shelf life of %(days)d days without any evidence.")
            yield Found(product.code, message % {"days": product.shelf_life_days})


def _wanted_words(plan: Plan) -> str:
    parameter = plan.profile.parameter("raw_milk_label") if plan.profile else None
    return parameter.value if parameter else ""


@rule("P036", ERROR, gettext_lazy("The label of a raw-milk cheese says so."))
def raw_milk_on_the_label(plan: Plan, around: Around) -> Iterator[Found]:
    """The words of the profile, or without them "raw milk" or "unpasteurised milk"; English plans only.

    In another language the words are not known here, so a person is asked to look.
    """
    wanted = _wanted_words(plan)
    for product in plan.products:
        if product.treatment != "raw":
            continue
        if plan.language.casefold().split("-")[0] != "en":
            message = _("Look whether the label says, in its language, that the milk is raw.")
            yield Found(product.code, message, WARNING)
        elif wanted and not has_words(product.label, wanted):
            message = _("The label of this raw-milk cheese does not say “%(words)s”.")
            yield Found(product.code, message % {"words": wanted})
        elif not wanted and not RAW_MILK.search(product.label):
            yield Found(product.code, _("The label does not say that the milk is raw."))


def _of(plan: Plan, product: Product) -> list[Control]:
    return [control for control in plan.controls if product in products_of(plan, control)]


def _is_early_ph(control: Control) -> bool:
    """Tell whether a control asks for a pH about 6 h after an event."""
    for one in nested(control.limit):
        if isinstance(one, ReachedBy) and one.quantity == "ph":
            if any(EARLY_FROM <= point.hours <= EARLY_TO for point in one.due):
                return True
        elif isinstance(one, Bound) and one.band.quantity == "ph" and _is_early(control.when):
            return True
    return False


def _is_early(when: When) -> bool:
    return when.kind == "after_event" and EARLY_FROM * 60 <= when.after_minutes <= EARLY_TO * 60


def _is_open_ph(control: Control) -> bool:
    return isinstance(control.limit, OpenLimit) and control.limit.suggests in ("", ReachedBy.kind)


@rule("P032", WARNING, gettext_lazy("Semi-hard and hard raw-milk cheese has a pH at about 6 h."))
def early_ph(plan: Plan, around: Around) -> Iterator[Found]:
    """Washed-curd and hard cheese of milk that was not pasteurised has a limit of pH between 5 and 7 h.

    While a limit of acidification is open nobody can tell, and P015 stands. Common practice after a trial of
    one uncooked semi-hard cheese (staphylococcal toxin where the pH was still 6.5 at 6 h).
    """
    for product in plan.products:
        if product.family not in ("washed_curd", "hard_raw") or product.treatment not in UNPASTEURISED:
            continue
        controls = _of(plan, product)
        if not any(_is_early_ph(control) or _is_open_ph(control) for control in controls):
            message = _(
                "No pH at about 6 h after the starter: staphylococci grow in the first hours, and acid that "
                "comes later does not undo their toxin."
            )
            yield Found(product.code, message)


@rule("P033", ERROR, gettext_lazy("Pasteurised milk is verified by the phosphatase test."))
def phosphatase_tested(plan: Plan, around: Around) -> Iterator[Found]:
    """A verification of that kind for the whole plan or for a control of the product, or a check of it."""
    for product in plan.products:
        if product.treatment != "pasteurised":
            continue
        controls = _of(plan, product)
        codes = {control.code for control in controls}
        verified = any(
            v.kind == "phosphatase" and (not v.controls or codes & set(v.controls))
            for v in plan.verifications
        )
        if not verified and not any(_is_phosphatase(control) for control in controls):
            yield Found(product.code, _("Pasteurised milk without any verification by phosphatase."))


def _is_phosphatase(control: Control) -> bool:
    named = any("phosphatase" in part.name for part in control.limit.parts())
    return named or control.parameter in ("phosphatase_most", "phosphatase_below")
