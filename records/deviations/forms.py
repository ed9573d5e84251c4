"""Forms of the deviations: fields, labels and lengths; the services read and check what was typed."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from records.batches.posting import OnceForm
from records.deviations.affected import Affected
from records.deviations.models import Outcome
from safetyplan.integrity.form_refusals import PlainForm, signature_field

YES_NO = (("yes", _("Yes")), ("no", _("No")))
CLOSINGS = (
    ("completed", _("Completed: everything above is done")),
    ("recording_error", _("Recording error: the evidence shows that the limit was not missed")),
)
METHODS = (("", _("not chosen")), ("heat", _("by heat")), ("other", _("another way")))
UNITS = {"pieces": "count", "mass": "kg", "volume": "L"}


def lines(rows: int = 3) -> forms.Textarea:
    """Give a text box of some lines."""
    return forms.Textarea(attrs={"rows": rows})


class MomentForm(OnceForm):
    """A form with the date and time at which something was done."""

    done_date = forms.CharField(
        label=_("Date"), max_length=20, widget=forms.TextInput(attrs={"type": "date"})
    )
    done_time = forms.CharField(
        label=_("Time"), max_length=10, widget=forms.TextInput(attrs={"type": "time"})
    )
    done_time_fold = forms.CharField(widget=forms.HiddenInput, required=False, max_length=1)


def _lot_field() -> forms.ChoiceField:
    return forms.ChoiceField(label=_("Lot"))


class OfOneForm(PlainForm):
    """A form about one of the things that a deviation concerns; where it is the only one, it is not asked."""

    measured = ("volume",)

    def __init__(self, *args: Any, affected: Sequence[Affected], several: bool, **kwargs: Any) -> None:
        """Offer the lots; litres only where something is held that is no lot."""
        super().__init__(*args, **kwargs)
        if several:
            field = self.fields["lot"]
            assert isinstance(field, forms.ChoiceField)
            field.choices = [("", _("not chosen")), *((one.key, one.name) for one in affected)]
        else:
            del self.fields["lot"]
        if all(one.lot is not None for one in affected):
            for name in [n for n in self.fields if n.startswith(self.measured)]:
                del self.fields[name]
        elif not several and "pieces" in self.fields:
            self.fields["pieces"].required = False


class HoldForm(OfOneForm, MomentForm):
    """The product stands apart: where, under which tag, how much."""

    lot = _lot_field()
    place = forms.CharField(label=_("Place"), max_length=120, help_text=_("Where the product stands now."))
    tag = forms.CharField(label=_("Tag number"), max_length=30)
    pieces = forms.CharField(
        label=_("Pieces counted"), max_length=60, widget=forms.TextInput(attrs={"inputmode": "numeric"})
    )
    mass = forms.CharField(
        label=_("Mass in kg"),
        max_length=60,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )
    volume = forms.CharField(
        label=_("Volume in litres"),
        max_length=60,
        required=False,
        help_text=_("Of what is no lot yet: milk, brine, a wash preparation."),
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )
    why = forms.CharField(
        label=_("Reason"),
        max_length=500,
        required=False,
        help_text=_("Needed when this corrects an earlier count or is entered more than a day later."),
    )

    field_order = ("uuid", "lot", "place", "tag", "pieces", "mass", "volume", "done_date", "done_time", "why")


class AffectedLotForm(OnceForm):
    """A further lot that the deviation concerns."""

    lot = _lot_field()
    why = forms.CharField(
        label=_("Why it is concerned"),
        max_length=500,
        widget=lines(2),
        help_text=_("What ties it to this deviation. The lot goes on hold like the others."),
    )

    def __init__(self, *args: Any, lots: Sequence[tuple[str, str]] = (), **kwargs: Any) -> None:
        """Offer the lots that are not named yet."""
        super().__init__(*args, **kwargs)
        field = self.fields["lot"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", _("not chosen")), *lots]


class ActionForm(MomentForm):
    """A corrective action in one's own words."""

    text = forms.CharField(label=_("What was done"), max_length=1000, widget=lines())

    field_order = ("uuid", "text", "done_date", "done_time")


class EvaluationForm(OnceForm):
    """What a qualified individual makes of the product."""

    text = forms.CharField(label=_("Evaluation of the product"), max_length=4000, widget=lines(4))
    evidence = forms.CharField(
        label=_("Evidence"),
        max_length=4000,
        widget=lines(),
        help_text=_("What it rests on: further readings, laboratory results, the attached documents."),
    )


class AttachForm(PlainForm):
    """A document as evidence."""

    file = forms.FileField(
        label=_("Document"),
        max_length=300,
        allow_empty_file=True,
        help_text=_("PDF, PNG, JPEG or plain text, at most 10 MB."),
        widget=forms.FileInput(attrs={"accept": ".pdf,.png,.jpg,.jpeg,.txt,.csv"}),
    )


class DispositionForm(OfOneForm):
    """What becomes of the product on hold: pieces and kilograms, or litres, for each outcome."""

    lot = _lot_field()
    seen = forms.CharField(widget=forms.HiddenInput, max_length=6)
    rework_method = forms.ChoiceField(label=_("How is it reworked"), choices=METHODS, required=False)
    note = forms.CharField(label=_("Note"), max_length=1000, required=False, widget=lines(2))
    password = signature_field()

    def __init__(self, *args: Any, affected: Sequence[Affected], **kwargs: Any) -> None:
        """Add the fields of each outcome: litres only where something is held that is no lot."""
        super().__init__(*args, affected=affected, **kwargs)
        kinds = [("pieces", _("Pieces"), "numeric"), ("mass", _("kg"), "decimal")]
        if any(one.lot is None for one in affected):
            kinds.append(("volume", _("L"), "decimal"))
        for outcome in Outcome:
            for name, label, mode in kinds:
                self.fields[f"{name}_{outcome}"] = forms.CharField(
                    label=label,
                    max_length=60,
                    required=False,
                    widget=forms.TextInput(attrs={"inputmode": mode}),
                )

    def rows(self) -> list[dict[str, Any]]:
        """Give the six outcomes with their fields."""
        return [
            {
                "outcome": outcome.value,
                "label": outcome.label,
                "fields": [self[f"{name}_{outcome}"] for name in UNITS if f"{name}_{outcome}" in self.fields],
                "method": self["rework_method"] if outcome == Outcome.REWORK else None,
            }
            for outcome in Outcome
        ]


class CauseForm(OnceForm):
    """Why it happened and what keeps it from happening again."""

    cause = forms.CharField(label=_("Cause"), max_length=2000, widget=lines())
    prevention = forms.CharField(
        label=_("What keeps it from happening again"), max_length=2000, widget=lines()
    )
    under_control = forms.CharField(
        label=_("What shows that the process is under control again"), max_length=2000, widget=lines()
    )
    reanalysis = forms.ChoiceField(
        label=_("Is the plan analysed again?"), choices=YES_NO, widget=forms.RadioSelect
    )
    reanalysis_reason = forms.CharField(label=_("Why, or why not"), max_length=500, widget=lines(2))


class RecallForm(PlainForm):
    """Whether goods that left while on hold are called back."""

    recall = forms.ChoiceField(label=_("Call the goods back?"), choices=YES_NO, widget=forms.RadioSelect)
    why = forms.CharField(label=_("Reason"), max_length=2000, widget=lines())
    password = signature_field()


class CloseForm(PlainForm):
    """A reviewer closes the deviation."""

    how = forms.ChoiceField(label=_("The deviation is"), choices=CLOSINGS, widget=forms.RadioSelect)
    why = forms.CharField(
        label=_("What was reviewed, and why it can be closed"), max_length=2000, widget=lines()
    )
    password = signature_field()


class NewDeviationForm(PlainForm):
    """A problem that the plan did not foresee."""

    lot = forms.ChoiceField(
        label=_("Lot"),
        required=False,
        help_text=_("Leave empty when no lot is affected. A lot named here goes on hold; more can be added."),
    )
    held_what = forms.CharField(
        label=_("Other things to hold"),
        max_length=300,
        required=False,
        help_text=_("What has to stand apart that is no lot: the milk of a tank, a brine, a preparation."),
    )
    description = forms.CharField(
        label=_("What happened"),
        max_length=2000,
        widget=lines(4),
        help_text=_("What was seen, where, when, and which product it may touch."),
    )

    def __init__(self, *args: Any, lots: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["lot"].choices = [("", _("no lot")), *lots]  # type: ignore[attr-defined]
