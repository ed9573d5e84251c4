"""The fields of voiding a reading and of explaining a check. What they hold is checked by the services."""

from django import forms
from django.utils.translation import gettext_lazy as _

from safetyplan.integrity.form_claims import new_uuid


class ReasonForm(forms.Form):
    """A reason, with the hidden number that lets the form be stored once."""

    uuid = forms.CharField(widget=forms.HiddenInput, initial=new_uuid, max_length=36)
    reason = forms.CharField(
        label=_("Reason"), max_length=500, strip=False, widget=forms.Textarea({"rows": 3, "maxlength": 500})
    )
