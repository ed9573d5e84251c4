"""Forms of a product: what it is, how it is made and kept, who eats it, what its label says."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from safetyplan.plans.editing.frame import PartForm
from safetyplan.reference.model_plans import model_plans

TREATMENTS = (
    ("", _("not decided yet")),
    ("raw", _("raw: not heated above 40 °C, or as your rules define it")),
    ("thermised", _("thermised: heated, but less than pasteurised; most rules count it as raw")),
    ("pasteurised", _("pasteurised: heated by a time and a temperature that your rules name")),
)
TEXTS = (
    "name",
    "family",
    "description",
    "ingredients",
    "milk",
    "treatment",
    "keeps_by",
    "shelf_life_evidence",
    "storage",
    "packaging",
    "distribution",
    "label",
    "use",
    "consumers",
)


def _text(rows: int = 2) -> forms.Textarea:
    return forms.Textarea(attrs={"rows": rows})


class AddProductForm(PartForm):
    """A product of which nothing is said yet."""

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


class ProductForm(PartForm):
    """The description of a product."""

    name = forms.CharField(label=_("Name"), max_length=120)
    family = forms.ChoiceField(
        label=_("Family"),
        required=False,
        help_text=_("Some checks ask more of some families."),
    )
    description = forms.CharField(
        label=_("What it is"),
        max_length=1000,
        required=False,
        help_text=_("Size, shape, rind, texture; what makes it different from your other cheeses."),
        widget=_text(3),
    )
    ingredients = forms.CharField(
        label=_("Ingredients"),
        max_length=1000,
        required=False,
        help_text=_("Everything that goes in and stays in: milk, cultures, rennet, salt, herbs, coating."),
        widget=_text(),
    )
    allergens = forms.CharField(
        label=_("Allergens, one per line"),
        max_length=1000,
        required=False,
        help_text=_(
            "Milk is one. Lysozyme is from egg. Think of nuts, mustard, cereals and celery in coatings. "
            "Write each as the label writes it: the check looks for the word there."
        ),
        widget=_text(3),
    )
    milk = forms.CharField(
        label=_("Milk"),
        max_length=500,
        required=False,
        help_text=_("Animal, own herd or bought in, whole or skimmed."),
        widget=_text(),
    )
    treatment = forms.ChoiceField(
        label=_("Treatment of the milk"), choices=TREATMENTS, widget=forms.RadioSelect
    )
    rich = forms.BooleanField(
        label=_("The milk counts as richer: cream added, more solids, or sweetened"),
        required=False,
        help_text=_("A richer product needs a higher temperature of heat treatment."),
    )
    keeps_by = forms.CharField(
        label=_("What makes it keep"),
        max_length=500,
        required=False,
        help_text=_(
            "pH, salt in the moisture, water activity: the highest pH and the highest water activity "
            "of its whole life, the surface included."
        ),
        widget=_text(),
    )
    shelf_life_days = forms.CharField(
        label=_("Shelf life in days"),
        max_length=10,
        required=False,
        help_text=_("From packing to the last day on the label. 0 while it is not decided."),
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    shelf_life_evidence = forms.CharField(
        label=_("What shows the shelf life"),
        max_length=1000,
        required=False,
        help_text=_("A study, a challenge test, results of your own; with its date and where it is kept."),
        widget=_text(),
    )
    storage = forms.CharField(
        label=_("Storage"),
        max_length=500,
        required=False,
        help_text=_("How it is kept, by you and by whoever buys it."),
        widget=_text(),
    )
    packaging = forms.CharField(label=_("Packaging"), max_length=500, required=False, widget=_text())
    distribution = forms.CharField(
        label=_("Distribution"),
        max_length=500,
        required=False,
        help_text=_("Where it goes and how: farm gate, market, shops, post; how cold on the way."),
        widget=_text(),
    )
    label = forms.CharField(
        label=_("Words on the label that matter for health"),
        max_length=1000,
        required=False,
        help_text=_("Allergens, the raw-milk statement your rules ask for, how to keep it, until when."),
        widget=_text(3),
    )
    use = forms.CharField(
        label=_("How it is eaten"),
        max_length=500,
        required=False,
        help_text=_("As it is, or cooked first. Say if the rind is eaten."),
        widget=_text(),
    )
    consumers = forms.CharField(
        label=_("Who eats it"),
        max_length=500,
        required=False,
        help_text=_("Anybody, or not some: pregnant, very young, old or ill people."),
        widget=_text(),
    )
    exposed = forms.BooleanField(
        label=_("It stands open to the room after its treatment and is eaten as it is"),
        required=False,
        help_text=_("Then what lives in your rooms can land on it, and the plan must say what it does."),
    )

    def __init__(self, *args: Any, family: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        known = {model.family: model.name for model in model_plans().values()}
        if family and family not in known:
            known[family] = family
        field = self.fields["family"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", _("another")), *known.items()]
