"""Forms of links between lots: fields, labels and lengths; the services check what was typed."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from records.batches.posting import MomentForm, OnceForm
from records.links.models import LinkKind

FIELDS = {"linked_at": "on_time"}
UNITS = {"quantity": "kg", "pieces": "count"}


class LinkForm(MomentForm):
    """What went over, how much and when; `other` and `way` only for a new link."""

    way = forms.ChoiceField(
        label=_("Which way"),
        choices=[
            ("in", _("something of another lot went into this one")),
            ("out", _("something of this lot went into another")),
        ],
        widget=forms.RadioSelect,
        initial="in",
    )
    other = forms.CharField(label=_("The other lot"), max_length=60, widget=forms.Select)
    kind = forms.ChoiceField(label=_("What went over"), choices=LinkKind.choices)
    quantity = forms.CharField(
        label=_("How much"), max_length=60, widget=forms.TextInput(attrs={"inputmode": "decimal"})
    )
    pieces = forms.CharField(
        label=_("Pieces"),
        max_length=60,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    disposition = forms.CharField(
        label=_("Decision that allows the rework of held product"),
        max_length=60,
        required=False,
        widget=forms.Select,
    )
    known = forms.BooleanField(
        label=_("I know of the deviations that are open on these lots"), required=False
    )
    note = forms.CharField(label=_("Note"), max_length=500, required=False)
    late_reason = forms.CharField(
        label=_("Reason for a late entry"),
        max_length=500,
        required=False,
        help_text=_("Only needed when it happened earlier than the plan tolerates."),
    )

    field_order = (
        "uuid",
        "way",
        "other",
        "kind",
        "quantity",
        "pieces",
        "on_date",
        "on_time",
        "disposition",
        "known",
        "note",
        "late_reason",
    )

    def __init__(
        self,
        *args: Any,
        lots: list[tuple[str, str]],
        dispositions: list[tuple[str, str]],
        unit: str,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["quantity"].help_text = _("Milk and whey in %(unit)s, everything else in kg.") % {
            "unit": unit
        }
        self.fields["other"].widget.choices = [("", "–"), *lots]
        self.fields["disposition"].widget.choices = [("", _("none")), *dispositions]
        if not lots:
            del self.fields["other"], self.fields["way"]


class CorrectForm(LinkForm):
    """A link put right, with the reason."""

    reason = forms.CharField(label=_("Reason for the correction"), max_length=500)


class WithdrawForm(OnceForm):
    """Nothing went over after all."""

    reason = forms.CharField(label=_("Why nothing went over"), max_length=500)
