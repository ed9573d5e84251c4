"""The form of one hazard: what may be chosen, what is read into it, what it gives to the document."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean
from safetyplan.plans.described import rank_words
from safetyplan.plans.editing.frame import Data, PartForm
from safetyplan.plans.editing.hazards_list import HEAT_STABLE
from safetyplan.plans.editing.hazards_rules import refusals
from safetyplan.plans.hazard_words import EFFECTS, GROUPS, KINDS
from safetyplan.plans.measure_words import measure_type_choices
from safetyplan.plans.parts import Hazard, Plan
from safetyplan.reference.hazards import hazards

Choices = list[tuple[str, Any]]
NOT_SAID = ("", gettext_lazy("Not said yet"))
YES_NO: Choices = [("yes", gettext_lazy("Yes")), ("no", gettext_lazy("No"))]
LONG = 1000
TEXTS = ("name", "severity", "likelihood", "reason", "measure", "source")
# keys of the document that stand in it only where they say something
OPTIONAL = (
    "group",
    "agent",
    "effect",
    "severity",
    "likelihood",
    "measure",
    "measure_type",
    "where",
    "controlled_step",
    "source",
)
WHERE_WORDS = {
    "this_step": gettext_lazy("At this step"),
    "later_step": gettext_lazy("At a later step"),
    "prerequisite": gettext_lazy("By a prerequisite programme"),
}


def _long(label: Any, help_text: Any = "", rows: int = 2, *, required: bool = False) -> forms.CharField:
    return forms.CharField(
        label=label,
        help_text=help_text,
        max_length=LONG,
        required=required,
        widget=forms.Textarea(attrs={"rows": rows}),
    )


def _radios(label: Any, choices: Any, help_text: Any = "", *, required: bool = False) -> forms.ChoiceField:
    return forms.ChoiceField(
        label=label, choices=choices, help_text=help_text, required=required, widget=forms.RadioSelect
    )


class HazardForm(PartForm):
    """One hazard of the analysis. `plan` gives the products, steps and controls to choose from.

    Fields that the plan check asks for are not marked as optional; a draft may leave them open all the same.
    """

    use_required_attribute = False

    name = forms.CharField(label=gettext_lazy("Hazard, in words"), max_length=200)
    agent = forms.ChoiceField(
        label=gettext_lazy("In the list of hazards"),
        required=False,
        help_text=gettext_lazy("What the list says of it, such as whether heat removes it, is held to."),
    )
    kind = _radios(gettext_lazy("Kind"), list(KINDS.items()), required=True)
    group = forms.ChoiceField(
        label=gettext_lazy("Is it one of these?"),
        required=False,
        choices=[("", gettext_lazy("None of these")), *GROUPS.items()],
    )
    products = forms.MultipleChoiceField(label=gettext_lazy("Products"), widget=forms.CheckboxSelectMultiple)
    step = forms.ChoiceField(label=gettext_lazy("Step"))
    effect = _radios(gettext_lazy("What happens to it here"), [NOT_SAID, *EFFECTS.items()], required=True)
    severity = _long(
        gettext_lazy("How grave, in words, and why"),
        gettext_lazy("What it does to the people who eat it, and to those who fall ill easily."),
        required=True,
    )
    likelihood = _long(
        gettext_lazy("How likely without control, in words, and why"),
        gettext_lazy("From your milk, your room, your records, published cases. No figure and no points."),
        required=True,
    )
    significant = _radios(
        gettext_lazy("Significant"),
        YES_NO,
        gettext_lazy("Yes when it must be controlled for this food to be fit to eat."),
        required=True,
    )
    reason = _long(gettext_lazy("Why it is significant or not"), required=True)
    removed_by_reheating = _radios(
        gettext_lazy("Does heating again remove it?"),
        YES_NO,
        gettext_lazy("Toxins, residues, allergens, metal, glass and radioactivity stay. In doubt: No."),
        required=True,
    )
    measure = _long(gettext_lazy("Control measure"), gettext_lazy("What you do against it."))
    measure_type = forms.ChoiceField(label=gettext_lazy("Type of the measure"), required=False)
    where = _radios(gettext_lazy("Where it is controlled"), [NOT_SAID, *WHERE_WORDS.items()], required=True)
    controlled_step = forms.ChoiceField(
        label=gettext_lazy("Which later step"),
        required=False,
        help_text=gettext_lazy("Only for a hazard that is controlled at a later step."),
    )
    controlled_by = forms.ChoiceField(
        label=gettext_lazy("Control or programme"),
        required=False,
        help_text=gettext_lazy("If it is not in the plan yet, leave it open, add it, and come back."),
    )
    source = forms.CharField(
        label=gettext_lazy("Source"),
        max_length=LONG,
        required=False,
        help_text=gettext_lazy("Where you read it: law, guide, study; or that it is your own experience."),
    )

    def __init__(self, plan: Plan, *args: Any, present: Hazard | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.plan = plan
        self.present_products = present.products if present else ()
        self._choose("products", [(p.code, p.name) for p in plan.products])
        self._choose("agent", agent_choices(), present.agent if present else "")
        self._choose("step", step_choices(plan), present.step if present else "")
        self._choose("measure_type", [NOT_SAID, *measure_type_choices(plan)])
        self._choose(
            "controlled_step",
            [("", _("None")), *step_choices(plan)[1:]],
            present.controlled_step if present else "",
        )
        self._choose("controlled_by", control_choices(plan), present.controlled_by if present else "")
        if len(plan.products) == 1:
            del self.fields["products"]

    def _choose(self, name: str, choices: Choices, present: str = "") -> None:
        """Offer choices; a present value that the plan no longer has stays to be seen."""
        known = {code for code, _label in _flat(choices)}
        if present and present not in known:
            choices = [*choices, (present, _("%(code)s (not there any more)") % {"code": present})]
        self.fields[name].choices = choices  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """Tidy the texts and put every contradiction at its field, all at once."""
        typed = dict(super().clean() or {})
        for name in TEXTS:
            if name in typed:
                try:
                    typed[name] = clean(typed[name], most=LONG, part=name)
                except BadInput as refusal:
                    self.add_error(name, str(refusal.message))
        if len(self.plan.products) == 1:
            only = self.plan.products[0].code
            named = bool(typed.get("step")) or only in self.present_products
            typed["products"] = [only] if named else []
        for name, message in refusals(self.plan, typed):
            if name not in self.errors:
                self.add_error(name if name in self.fields else None, message)
        return typed

    def document(self, code: str) -> Data:
        """Give the hazard as the document holds it, without its determination."""
        typed = self.cleaned_data
        later = typed["controlled_step"] if typed["where"] == "later_step" else ""
        return {
            "code": code,
            "products": list(typed["products"]),
            "step": typed["step"],
            "kind": typed["kind"],
            "name": typed["name"],
            "significant": typed["significant"] == "yes",
            "reason": typed["reason"],
            "removed_by_reheating": typed["removed_by_reheating"] == "yes",
            "controlled_by": typed["controlled_by"],
            **{
                key: value for key in OPTIONAL if (value := later if key == "controlled_step" else typed[key])
            },
        }


def _flat(choices: Choices) -> Choices:
    flat: Choices = []
    for code, label in choices:
        flat.extend(label if isinstance(label, list) else [(code, label)])
    return flat


def step_choices(plan: Plan) -> Choices:
    """Give the whole site and every step of every flow, once, with the products that alone have it."""
    names: dict[str, str] = {}
    having: dict[str, list[str]] = {}
    for product in plan.products:
        for step in product.steps:
            names.setdefault(step.code, step.name)
            having.setdefault(step.code, []).append(product.name)
    everywhere = len(plan.products)
    return [
        ("", _("The whole site, no step of its own")),
        *(
            (code, name if len(having[code]) == everywhere else f"{name} ({', '.join(having[code])})")
            for code, name in names.items()
        ),
    ]


def control_choices(plan: Plan) -> Choices:
    """Give the controls and the prerequisite programmes of the plan."""
    controls = [(c.code, f"{c.code} {c.name} ({rank_words(c.rank)})") for c in plan.controls]
    programmes = [(p.code, f"{p.code} {p.name}") for p in plan.prerequisites]
    groups = [(_("Controls"), controls), (_("Prerequisite programmes"), programmes)]
    return [("", _("None yet")), *((label, items) for label, items in groups if items)]


def agent_choices() -> Choices:
    """Give the hazards of the list by their kind."""
    found: Choices = [("", _("Not from the list: our own words"))]
    for kind, label in KINDS.items():
        items = [(agent.code, agent.name) for agent in hazards().values() if agent.kind == kind]
        if items:
            found.append((str(label), items))
    return found


def initial_of(hazard: Hazard) -> dict[str, Any]:
    """Give what the form of a hazard shows at first."""
    shown: dict[str, Any] = {
        key: getattr(hazard, key) for key in (*OPTIONAL, "name", "kind", "step", "reason", "controlled_by")
    }
    return {
        **shown,
        "products": list(hazard.products),
        "significant": "yes" if hazard.significant else "no",
        "removed_by_reheating": "yes" if hazard.removed_by_reheating else "no",
    }


def initial_new(plan: Plan, chosen: Mapping[str, str]) -> dict[str, Any]:
    """Give what the form of a new hazard shows: the place it is for, and what the list says of it."""
    product = chosen.get("product", "")
    codes = [p.code for p in plan.products]
    agent = hazards().get(chosen.get("agent", ""))
    shown: dict[str, Any] = {
        "step": chosen.get("step", ""),
        "products": [product] if product in codes else codes,
    }
    if agent is None:
        return shown
    removed = agent.removed_by_reheating and agent.group not in HEAT_STABLE
    return {
        **shown,
        "agent": agent.code,
        "name": agent.name,
        "kind": agent.kind,
        "group": agent.group,
        "severity": agent.severity,
        "removed_by_reheating": "yes" if removed else "no",
        "source": agent.source,
    }
