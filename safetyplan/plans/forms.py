"""Forms of the plan: the draft as text, a plan file, the signature that approves."""

from django import forms
from django.utils.translation import gettext_lazy as _

from safetyplan.integrity.form_refusals import PlainForm, signature_field

LONGEST = 2_000_000
NOW, LATER = "now", "at"
# who signs a plan: the owner, operator or agent in charge (21 CFR 117.310); elsewhere nobody asks for more
CAPACITIES = (
    ("owner", _("the owner")),
    ("operator", _("the operator")),
    ("agent", _("the agent in charge")),
)


class DraftForm(PlainForm):
    """The draft as a document to be written."""

    revision = forms.CharField(widget=forms.HiddenInput, required=False, max_length=10)
    text = forms.CharField(
        label=_("The plan as a document (JSON)"),
        max_length=LONGEST,
        widget=forms.Textarea(attrs={"rows": 28, "spellcheck": "false", "autocapitalize": "off"}),
        strip=False,
    )
    reason = forms.CharField(
        label=_("Why the plan is made or changed"),
        max_length=500,
        required=False,
        help_text=_("Shown to the person who signs it."),
    )


class FileForm(PlainForm):
    """A plan written elsewhere."""

    revision = forms.CharField(widget=forms.HiddenInput, required=False, max_length=10)
    file = forms.FileField(
        label=_("Plan file (JSON)"),
        max_length=300,
        allow_empty_file=True,
        widget=forms.FileInput(attrs={"accept": ".json,application/json"}),
    )


class ApproveForm(PlainForm):
    """The signature under a new version."""

    revision = forms.CharField(widget=forms.HiddenInput, max_length=10)
    reason = forms.CharField(
        label=_("Why the plan is made or changed"), max_length=500, widget=forms.Textarea(attrs={"rows": 2})
    )
    warnings_reason = forms.CharField(
        label=_("Why the warnings are accepted"),
        max_length=500,
        help_text=_("It is signed with the plan and printed with it."),
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    takes_effect = forms.ChoiceField(
        label=_("It takes effect"),
        choices=((NOW, _("now, when it is signed")), (LATER, _("on a day and at a time I choose"))),
        initial=NOW,
        widget=forms.RadioSelect,
    )
    from_date = forms.CharField(
        label=_("If not now, from (date)"),
        max_length=20,
        widget=forms.TextInput(attrs={"type": "date"}),
    )
    from_time = forms.CharField(
        label=_("At (time of the dairy)"),
        max_length=10,
        widget=forms.TextInput(attrs={"type": "time"}),
    )
    capacity = forms.ChoiceField(label=_("I sign as"), choices=CAPACITIES, widget=forms.RadioSelect)
    password = signature_field()
