"""The fields of voiding a reading and of explaining a check. What they hold is checked by the services."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from safetyplan.integrity.form_claims import new_uuid


class ReasonForm(forms.Form):
    """A reason, with the hidden number that lets the form be stored once."""

    uuid = forms.CharField(widget=forms.HiddenInput, initial=new_uuid, max_length=36)
    reason = forms.CharField(
        label=_("Reason"), max_length=500, strip=False, widget=forms.Textarea({"rows": 3, "maxlength": 500})
    )


class ExplainForm(ReasonForm):
    """Why a check was not made; points: how many points of its time wait for a record."""

    def __init__(self, *args: Any, points: int = 0, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if points > 1:
            label = ngettext(
                "The same for %(count)d point of this time that is not recorded",
                "The same for all %(count)d points of this time that are not recorded",
                points,
            )
            self.fields["every"] = forms.BooleanField(label=label % {"count": points}, required=False)
