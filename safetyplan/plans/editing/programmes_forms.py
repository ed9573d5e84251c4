"""Forms of the programmes: prerequisite, verification, validation, recall, action after a positive."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any, ClassVar

from django import forms
from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from safetyplan.establishments.people_forms import date_input, typed_date
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean
from safetyplan.plans.editing.frame import PartForm
from safetyplan.plans.parts import Control, Plan, Prerequisite

Choices = list[tuple[str, str]]

VERIFICATIONS: Mapping[str, Promise] = MappingProxyType(
    {
        "records_review": _("Review of records"),
        "calibration": _("Calibration or check of an instrument"),
        "phosphatase": _("Phosphatase test of pasteurised milk"),
        "product_test": _("Test of the cheese"),
        "milk_test": _("Test of the milk"),
        "environment": _("Swabs of rooms and surfaces"),
        "recall_exercise": _("Recall exercise"),
        "supplier": _("Check of a supplier"),
        "label_audit": _("Check of labels"),
        "other": _("Something else"),
    }
)
VALIDATIONS: Mapping[str, Promise] = MappingProxyType(
    {
        "regulation": _("A regulation that fixes the figure"),
        "guide": _("A guide of an authority or of the trade"),
        "study": _("A published study of a cheese like this one"),
        "trial": _("Our own trial in this dairy"),
        "challenge_study": _("A challenge study: a laboratory put the organism into this cheese"),
    }
)


def area(rows: int = 3) -> forms.Textarea:
    """Give the input of a longer text."""
    return forms.Textarea(attrs={"rows": rows})


class ItemForm(PartForm):
    """A form whose texts are tidied and whose missing ones are all named at once, each at its field."""

    needs: ClassVar[Mapping[str, Promise]] = MappingProxyType({})

    def __init__(self, *args: Any, plan: Plan, kept: Sequence[str] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if "controls" in self.fields:
            self.fields["controls"].choices = self.choices(plan, kept)  # type: ignore[attr-defined]

    def choices(self, plan: Plan, kept: Sequence[str]) -> Choices:
        """List what the item may name; a code that is named but no longer there stays to be seen."""
        listed = [(control.code, f"{control.code} {control.name}") for control in plan.controls]
        return listed + _gone(kept, listed)

    def clean(self) -> dict[str, Any]:
        """Tidy every text; say what is missing or cannot be kept."""
        found: dict[str, Any] = self.cleaned_data
        for name in [name for name, field in self.fields.items() if type(field) is forms.CharField]:
            try:
                found[name] = clean(found.get(name, ""), most=self.fields[name].max_length, part=name)  # type: ignore[attr-defined]
            except BadInput as refusal:
                self.add_error(name, str(refusal.message))
        for name, message in self.needs.items():
            if name not in self.errors and not found.get(name):
                self.add_error(name, str(message))
        return found

    def content(self) -> dict[str, Any]:
        """Give what the form puts into the document."""
        return {name: value for name, value in self.cleaned_data.items() if name != "revision"}


def _gone(kept: Sequence[str], listed: Choices) -> Choices:
    codes = {code for code, _label in listed}
    gone = gettext("no longer in the plan")
    return [(code, f"{code} ({gone})") for code in kept if code not in codes]


class PrerequisiteForm(ItemForm):
    """A prerequisite programme."""

    needs = MappingProxyType(
        {"name": _("Give it a name."), "text": _("Say what is done, so that a new person could do it.")}
    )
    name = forms.CharField(label=_("Name"), max_length=120)
    text = forms.CharField(
        label=_("What is done"),
        max_length=2000,
        widget=area(5),
        help_text=_("As it is really done here, in a few sentences."),
    )
    how_often = forms.CharField(label=_("How often"), max_length=200, required=False)
    who = forms.CharField(label=_("Who does it"), max_length=200, required=False)
    record = forms.CharField(
        label=_("Where it is written down"),
        max_length=200,
        required=False,
        help_text=_("Such as the cleaning list, a certificate, the training records."),
    )
    attention = forms.BooleanField(
        label=_("It needs greater attention"),
        required=False,
        help_text=_(
            "For a programme that a hazard leans on: it is then monitored, acted upon and recorded like a "
            "control."
        ),
    )


class VerificationForm(ItemForm):
    """One activity of the verification schedule."""

    needs = MappingProxyType(
        {
            "kind": _("Choose what kind of check it is."),
            "name": _("Give it a name."),
            "how": _("Say how it is done, and what result is good enough."),
            "how_often": _("Say how often: each day of making, weekly, every three months."),
        }
    )
    kind = forms.ChoiceField(label=_("Kind"), choices=[("", "–"), *VERIFICATIONS.items()])
    name = forms.CharField(label=_("Name"), max_length=120)
    how = forms.CharField(
        label=_("How it is done"),
        max_length=1000,
        widget=area(),
        help_text=_("The method, the places or samples, the laboratory, and what result is good enough."),
    )
    how_often = forms.CharField(label=_("How often"), max_length=200)
    controls = forms.MultipleChoiceField(
        label=_("What it verifies"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=_("Tick none if it verifies the whole plan."),
    )
    who = forms.CharField(label=_("Who does it"), max_length=200, required=False)
    record = forms.CharField(label=_("Where it is written down"), max_length=200, required=False)

    def choices(self, plan: Plan, kept: Sequence[str]) -> Choices:
        """Controls first, then prerequisite programmes."""
        items: list[Control | Prerequisite] = [*plan.controls, *plan.prerequisites]
        listed = [(item.code, f"{item.code} {item.name}") for item in items]
        return listed + _gone(kept, listed)


class ValidationForm(ItemForm):
    """Evidence that controls can do what the plan expects of them."""

    needs = MappingProxyType(
        {
            "kind": _("Choose what kind of evidence it is."),
            "controls": _("Tick at least one control that it is evidence for."),
            "text": _("Say what it shows, with the figures it supports."),
        }
    )
    kind = forms.ChoiceField(
        label=_("Kind of evidence"),
        choices=list(VALIDATIONS.items()),
        widget=forms.RadioSelect,
        help_text=_(
            "To claim that an organism does not grow in a cheese, a challenge study in that cheese is "
            "needed. A guide, a trial or a calculation cannot carry that claim."
        ),
    )
    controls = forms.MultipleChoiceField(
        label=_("Evidence for these controls"), widget=forms.CheckboxSelectMultiple
    )
    text = forms.CharField(
        label=_("What it shows"),
        max_length=1000,
        widget=area(),
        help_text=_("Such as: in 24 vats pH 4.6 was reached within 24 h and no staphylococci were found."),
    )
    reference = forms.CharField(
        label=_("Reference"),
        max_length=500,
        required=False,
        help_text=_("Title, section and page; or the number and date of the report."),
    )
    valid_until = forms.CharField(
        label=_("Valid until"),
        max_length=20,
        required=False,
        widget=date_input(),
        help_text=_("The last day it counts, if it has one. After it the plan check says so."),
    )
    file = forms.FileField(
        label=_("The document itself"),
        required=False,
        max_length=300,
        allow_empty_file=True,
        widget=forms.FileInput(attrs={"accept": ".pdf,.png,.jpg,.jpeg,.txt"}),
        help_text=_("PDF, PNG, JPEG or plain text, at most 10 MB. It is kept for good."),
    )
    without_file = forms.BooleanField(
        label=_("Name no document any more"),
        required=False,
        help_text=_("The document stays kept; this evidence no longer points to it."),
    )

    def __init__(self, *args: Any, named: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not named:
            del self.fields["without_file"]

    def clean(self) -> dict[str, Any]:
        """Read the day as well; a choice of file and none at once is asked back."""
        found = super().clean()
        try:
            day = typed_date(found.get("valid_until", ""), part="valid_until")
            found["valid_until"] = day.isoformat() if day else ""
        except BadInput as refusal:
            self.add_error("valid_until", str(refusal.message))
        if found.get("file") and found.get("without_file"):
            self.add_error("without_file", gettext("Either choose a document or name none, not both."))
        return found

    def content(self) -> dict[str, Any]:
        """Give what the form puts into the document; the file is kept apart."""
        return {key: value for key, value in super().content().items() if "file" not in key}


class RecallForm(ItemForm):
    """The recall procedure."""

    responsible = forms.CharField(
        label=_("Who leads it"),
        max_length=500,
        required=False,
        help_text=_("The person, who stands in, and how both are reached."),
        widget=area(2),
    )
    consignees = forms.CharField(
        label=_("How customers are told"),
        max_length=2000,
        required=False,
        help_text=_("Within what time, by what means, and what they are to do with the cheese."),
        widget=area(),
    )
    public = forms.CharField(
        label=_("How the public and the authority are told"),
        max_length=2000,
        required=False,
        help_text=_("Which office, how soon, and who speaks. The authority decides on further notice."),
        widget=area(),
    )
    effectiveness = forms.CharField(
        label=_("How you know that it worked"),
        max_length=2000,
        required=False,
        help_text=_("Answers counted; pieces made, sold, fetched back and kept added up."),
        widget=area(),
    )
    disposal = forms.CharField(
        label=_("What becomes of the goods"),
        max_length=2000,
        required=False,
        help_text=_("Where they stand apart, who decides, how they are destroyed or used, who watches."),
        widget=area(),
    )


class PositiveActionForm(ItemForm):
    """What is done after a positive result."""

    product = forms.CharField(
        label=_("After a positive result in a cheese"),
        max_length=2000,
        required=False,
        help_text=_(
            "A presumptive result counts. Which lots are held, how far back, who is told, what next."
        ),
        widget=area(4),
    )
    environment = forms.CharField(
        label=_("After a positive result on a surface or in the room"),
        max_length=2000,
        required=False,
        help_text=_("Cleaning, swabbing again and how often; which lots a food-contact surface reaches."),
        widget=area(4),
    )


class RemoveForm(PartForm):
    """Only the revision."""
