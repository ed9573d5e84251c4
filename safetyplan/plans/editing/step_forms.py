"""Forms of a step of the process."""

from django import forms
from django.utils.translation import gettext_lazy as _

from safetyplan.plans.document import Product
from safetyplan.plans.editing.frame import PartForm

# the kinds of symbols of a process chart
KINDS = (
    ("operation", _("operation: heating, setting, cutting, salting, turning")),
    ("inspection", _("inspection: a look or a measurement that decides how it goes on")),
    ("storage", _("storage: waiting, keeping, ageing")),
    ("transport", _("transport: from one place to another")),
    ("start", _("beginning: where milk or something else comes in")),
    ("end", _("end: nothing follows")),
)
KIND_WORDS = {
    "operation": _("operation"),
    "inspection": _("inspection"),
    "storage": _("storage"),
    "transport": _("transport"),
    "start": _("beginning"),
    "end": _("end"),
}


class StepForm(PartForm):
    """A step: what is done, what goes in, where it leads."""

    name = forms.CharField(label=_("Name of the step"), max_length=120)
    kind = forms.ChoiceField(
        label=_("What kind of step?"), choices=KINDS, initial="operation", widget=forms.RadioSelect
    )
    inputs = forms.CharField(
        label=_("What goes in, one per line"),
        max_length=1000,
        required=False,
        help_text=_("Also water, steam, air that is blown in, and whatever touches the cheese."),
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    note = forms.CharField(
        label=_("Note"),
        max_length=500,
        required=False,
        help_text=_("Times, temperatures and places as they usually are."),
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    @property
    def one_kind(self) -> str:
        """Give the kind that was chosen; what was left out is an operation."""
        return str(self.cleaned_data.get("kind") or "operation")


class StepEditForm(StepForm):
    """A step that is there already, with the steps it leads to."""

    next = forms.MultipleChoiceField(
        label=_("Leads to"),
        required=False,
        help_text=_("Choose none: it goes on with the next step of the list. Choose several: it branches."),
        widget=forms.CheckboxSelectMultiple,
    )

    def offer(self, product: Product, code: str) -> None:
        """Offer every other step of the product."""
        field = self.fields["next"]
        assert isinstance(field, forms.MultipleChoiceField)
        field.choices = [(step.code, step.name) for step in product.steps if step.code != code]
