"""Forms of the confirmations: one figure on a source, the table of targets, a flow walked on site."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from safetyplan.integrity.form_refusals import PlainForm, signature_field

LONGEST = 1_000_000


def shown_value() -> forms.CharField:
    """Give the hidden field with what the page showed: it is compared with what the plan holds now."""
    return forms.CharField(widget=forms.HiddenInput, max_length=LONGEST, strip=False)


class FigureForm(PlainForm):
    """One figure, confirmed on a source."""

    what = forms.CharField(widget=forms.HiddenInput, max_length=200, strip=False)
    value = shown_value()
    source = forms.CharField(
        label=_("Where you read it"),
        max_length=500,
        help_text=_("Text, table, page or link, so that an inspector can look it up."),
    )

    def __init__(self, *args: Any, provenance: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        source = self.fields["source"]
        if provenance == "read":  # the citation is there already
            source.help_text = ""
        elif provenance == "own":
            source.label = _("What it rests on")
            source.help_text = _("The figure is your own: name the study, the trial or the licence.")


class TargetsForm(PlainForm):
    """The signature under the table of operating targets."""

    value = shown_value()
    password = signature_field()


class FlowForm(PlainForm):
    """The signature under a flow walked on site."""

    value = shown_value()
    note = forms.CharField(
        label=_("When it was walked, and with whom"),
        max_length=500,
        help_text=_("Such as: morning make of 14 May, from milk receipt to the cold store, with the maker."),
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    password = signature_field()
