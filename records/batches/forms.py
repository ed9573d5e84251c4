"""The form that starts a lot."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from records.batches.posting import MomentForm


class StartLotForm(MomentForm):
    """A vat of milk on its way to cheese."""

    product = forms.CharField(label=_("Product"), max_length=60, widget=forms.Select)
    code = forms.CharField(
        label=_("Lot code"),
        max_length=60,
        help_text=_("Letters, digits, blanks and - / . _ # +. It cannot be changed later."),
        widget=forms.TextInput(attrs={"autocapitalize": "characters", "spellcheck": "false"}),
    )
    vat = forms.CharField(label=_("Vat"), max_length=60, required=False)
    milk = forms.CharField(
        label=_("Milk"),
        max_length=60,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )
    late_reason = forms.CharField(
        label=_("Reason for a late entry"),
        max_length=500,
        required=False,
        help_text=_("Only needed when the lot was started earlier than the plan tolerates."),
    )

    field_order = ("uuid", "product", "code", "vat", "milk", "on_date", "on_time", "late_reason")

    def __init__(
        self,
        *args: Any,
        products: list[tuple[str, str]],
        unit: str,
        loads: Sequence[tuple[str, str, str]] = (),
        **kwargs: Any,
    ) -> None:
        """loads: of each load that has milk left the name of its field, its words and its unit."""
        super().__init__(*args, **kwargs)
        self.fields["product"].widget.choices = products
        self.fields["milk"].label = _("Milk in %(unit)s") % {"unit": unit}
        if loads:
            self.fields["milk"].help_text = _("Left empty: the sum of what you take of the loads below.")
        for name, words, symbol in loads:
            self.fields[name] = forms.CharField(
                label=_("From load %(load)s: in %(unit)s") % {"load": words, "unit": symbol},
                max_length=60,
                required=False,
                widget=forms.TextInput(attrs={"inputmode": "decimal"}),
            )
        self.order_fields([*self.field_order[:5], *(name for name, *_rest in loads), *self.field_order[5:]])
        self.fields["on_date"].label = _("Started on")
        self.fields["on_time"].label = _("Started at")
