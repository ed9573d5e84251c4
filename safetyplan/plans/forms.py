"""Forms of the plan: the draft as text, a plan file, the signature that approves."""

from django import forms
from django.utils.translation import gettext_lazy as _

from safetyplan.integrity.form_refusals import PlainForm, signature_field

LONGEST = 2_000_000


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
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    password = signature_field()
