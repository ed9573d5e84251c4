"""Forms of the beginning: which model plan, for which product, under which rules."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from safetyplan.integrity.form_refusals import PlainForm
from safetyplan.plans.editing.frame import PartForm
from safetyplan.reference.model_plans import model_plans
from safetyplan.reference.profiles import profiles

EMPTY = "empty"


class ModelFields(forms.Form):
    """A model plan and the product it is for."""

    family = forms.ChoiceField(label=_("What do you make?"), choices=(), widget=forms.RadioSelect)
    name = forms.CharField(
        label=_("Name of the product"),
        max_length=120,
        help_text=_("As you call it in the dairy and on the label."),
    )
    code = forms.CharField(
        label=_("Short code of the product"),
        max_length=12,
        required=False,
        help_text=_("Up to 12 letters or digits; it stays for ever. Left empty, it is made from the name."),
        widget=forms.TextInput(attrs={"autocapitalize": "characters", "spellcheck": "false"}),
    )

    def offer(self, *, empty: bool) -> None:
        """Offer every model plan, and an empty plan where one can be begun."""
        field = self.fields["family"]
        assert isinstance(field, forms.ChoiceField)
        models: list[tuple[str, Any]] = [(model.family, model.name) for model in model_plans().values()]
        field.choices = [*models, (EMPTY, _("An empty plan"))] if empty else models


class BeginForm(PlainForm, ModelFields):
    """A new plan."""

    profile = forms.ChoiceField(
        label=_("Whose rules apply to you?"),
        choices=(),
        help_text=_("Sets figures and intervals to begin with. Each can be changed, with a reason."),
    )
    title = forms.CharField(label=_("Title of the plan"), max_length=200)
    field_order = ("family", "name", "code", "profile", "title")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.offer(empty=True)
        rules = [(profile.code, profile.name) for profile in profiles().values()]
        field = self.fields["profile"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", _("Choose")), *rules]


class AddModelForm(PartForm, ModelFields):
    """A further product for the draft, after a model plan."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.offer(empty=False)
