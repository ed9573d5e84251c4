"""The form of a limit, built from its kinds: fields, repeated rows, and the limits it is made of."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django import forms
from django.forms import BoundField
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.calculation.limits.all_of import MOST_LEVELS
from safetyplan.calculation.unit_tables import QUANTITIES, UNITS
from safetyplan.plans.editing.frame import PartForm
from safetyplan.plans.editing.limit_fields import MOST_MEMBERS, MOST_ROWS, Field, KindForm, Words
from safetyplan.plans.editing.limit_kinds import KINDS, NESTED, kinds_inside
from safetyplan.plans.editing.limit_preview import TRY
from safetyplan.plans.editing.limit_scenes import Try
from safetyplan.plans.editing.limit_typed import FURTHEST, Texts, add_row, count_rows, drop_row, empty_texts
from safetyplan.plans.editing.limit_values import PRESENCE
from safetyplan.plans.figures import provenance_words
from safetyplan.plans.parts import PROVENANCES
from safetyplan.plans.plan_check import NOT_RECORDED
from safetyplan.words import name_words, sentence_case

Choices = list[tuple[Any, Any]]
CHOOSE = ("", gettext_lazy("Choose"))
WORDS_OF: Mapping[str, Words] = {
    "at_most": gettext_lazy("at most"),
    "at_least": gettext_lazy("at least"),
    "youngest": gettext_lazy("the youngest"),
    "oldest": gettext_lazy("the oldest"),
    "today": gettext_lazy("today"),
    "yesterday": gettext_lazy("yesterday"),
    "tomorrow": gettext_lazy("tomorrow"),
    PRESENCE: gettext_lazy("detected or not"),
}
LONGEST = {"names": 2000, "lines": 2000, "words": 2000}
_GROUP = re.compile(r"(?:(?:member|members-[0-9]{1,2})-)*(points|bands|members)")


@dataclass
class Block:
    """One limit as it stands in the form: where it is, its kind, its fields, rows and members."""

    prefix: str
    shape: KindForm | None
    level: int
    place: int = 0
    kind: BoundField | None = None
    was: BoundField | None = None
    sure: list[BoundField] = field(default_factory=list)
    fields: list[BoundField] = field(default_factory=list)
    rows: list[list[BoundField]] = field(default_factory=list)
    members: list["Block"] = field(default_factory=list)

    @property
    def group(self) -> str:
        """The name of its repeated group of fields."""
        return f"{self.prefix}{self.shape.rows.name}" if self.shape and self.shape.rows else ""

    @property
    def may_add_row(self) -> bool:
        """Tell whether another row may be added."""
        return bool(self.group) and len(self.rows) < MOST_ROWS

    @property
    def may_add_member(self) -> bool:
        """Tell whether another limit may be added inside."""
        return self.shape is not None and self.shape.members == "many" and len(self.members) < MOST_MEMBERS

    @property
    def not_recorded(self) -> bool:
        """Tell whether no check can record what this kind needs yet."""
        return self.shape is not None and self.shape.kind in NOT_RECORDED


def option_words(option: str) -> str:
    """Write an option of a choice."""
    return str(WORDS_OF[option]) if option in WORDS_OF else name_words(option)


def unit_choices(units: Sequence[str]) -> Choices:
    """Give units by quantity, each with its symbol or what it counts."""
    found: Choices = [CHOOSE]
    for name, quantity in QUANTITIES.items():
        own = [unit for unit in quantity.units if unit in units]
        if own:
            group = [(unit, UNITS[unit].symbol or name_words(name)) for unit in own]
            found.append((sentence_case(name_words(name)), group))
    if "" in units:
        found.append((PRESENCE, option_words(PRESENCE)))
    return found


class LimitForm(PartForm):
    """The whole limit with what is said about it: one form, whatever it is made of."""

    justification = forms.CharField(
        label=gettext_lazy("Why this limit holds the hazard"),
        max_length=2000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    figure_source = forms.CharField(
        label=gettext_lazy("Where the figure comes from"),
        max_length=500,
        required=False,
        help_text=gettext_lazy("Text, table, page or trial."),
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    provenance = forms.ChoiceField(label=gettext_lazy("How you know the figure"), choices=(), required=False)
    parameter = forms.ChoiceField(
        label=gettext_lazy("Figure of the rules it answers to"),
        choices=(),
        required=False,
        help_text=gettext_lazy("The plan check then tells when the limit is looser."),
    )
    ABOUT = ("justification", "figure_source", "provenance", "parameter")

    def __init__(
        self,
        texts: Texts,
        *,
        events: Choices,
        parameters: Choices,
        tries: Sequence[Try] = (),
    ) -> None:
        super().__init__(texts)
        self.texts, self.events, self.tries = texts, events, tries
        choice: Any = self.fields["provenance"]
        choice.choices = [("", _("Choose")), *((one, provenance_words(one)) for one in PROVENANCES)]
        choice = self.fields["parameter"]
        choice.choices = [("", _("None")), *parameters]
        self.root = self._block("", 1, None)
        for asked in tries:
            self.fields[TRY + asked.name] = self._try_field(asked)

    def about(self) -> list[BoundField]:
        """Give the fields about the figure."""
        return [self[name] for name in self.ABOUT]

    def tried(self) -> list[BoundField]:
        """Give the fields in which a reading is tried."""
        return [self[TRY + asked.name] for asked in self.tries]

    def _block(self, prefix: str, level: int, parent: KindForm | None, place: int = 0) -> Block:
        shape = KINDS.get(self.texts.get(f"{prefix}kind", ""))
        block = Block(prefix, shape if level <= MOST_LEVELS + 1 else None, level, place)
        self._kind_fields(block, parent)
        if block.shape is None:
            return block
        block.fields = [self._add(prefix + asked.name, asked, block) for asked in block.shape.fields]
        if block.shape.rows is not None:
            for number in range(min(max(count_rows(self.texts, block.group), 1), FURTHEST)):
                at = f"{block.group}-{number}-"
                row = [self._add(at + asked.name, asked, block) for asked in block.shape.rows.fields]
                block.rows.append(row)
        for place_inside, inner in enumerate(self._inside(block), 1):
            block.members.append(self._block(inner, level + 1, block.shape, place_inside))
        return block

    def _inside(self, block: Block) -> Iterator[str]:
        assert block.shape is not None
        if block.shape.members == "one":
            yield f"{block.prefix}member-"
        if block.shape.members == "many":
            count = count_rows(self.texts, f"{block.prefix}members")
            yield from (f"{block.prefix}members-{number}-" for number in range(min(count, FURTHEST)))

    def _kind_fields(self, block: Block, parent: KindForm | None) -> None:
        name = f"{block.prefix}kind"
        if parent is None:
            self.fields[name] = forms.CharField(widget=forms.HiddenInput, required=False)
        else:
            kinds = kinds_inside(parent, block.level)
            self.fields[name] = forms.ChoiceField(
                label=_("Kind of limit"),
                choices=[(kind, KINDS[kind].title) for kind in kinds],
            )
        block.kind = self[name]
        self.fields[f"{block.prefix}was"] = forms.CharField(widget=forms.HiddenInput, required=False)
        block.was = self[f"{block.prefix}was"]

    def _add(self, name: str, asked: Field, block: Block) -> BoundField:
        self.fields[name] = self._field(asked)
        if f"{name}_sure" in self.texts:
            self.fields[f"{name}_sure"] = forms.CharField(widget=forms.HiddenInput, required=False)
            block.sure.append(self[f"{name}_sure"])
        return self[name]

    def _field(self, asked: Field) -> forms.Field:
        shared: dict[str, Any] = {
            "label": asked.label,
            "help_text": asked.help,
            "required": asked.required,
        }
        if asked.entry == "flag":
            return forms.BooleanField(**shared)
        choices = self._choices(asked)
        if choices is not None:
            return forms.CharField(widget=forms.Select(choices=choices), max_length=60, **shared)
        return forms.CharField(
            widget=_widget(asked.entry), max_length=LONGEST.get(asked.entry, 200), **shared
        )

    def _choices(self, asked: Field) -> Choices | None:
        if asked.entry == "unit":
            return unit_choices(asked.options)
        if asked.entry == "choice":
            return [CHOOSE, *((option, option_words(option)) for option in asked.options)]
        if asked.entry == "event":
            return [CHOOSE if asked.required else ("", "–"), *self.events]
        return None

    def _try_field(self, asked: Try) -> forms.Field:
        shared: dict[str, Any] = {"label": asked.label, "help_text": asked.help, "required": False}
        if asked.entry == "choice":
            choices = [("", "–"), *((option, option_words(option)) for option in asked.options)]
            return forms.CharField(widget=forms.Select(choices=choices), max_length=60, **shared)
        if asked.entry == "number" and not asked.help:
            shared["help_text"] = _("In %(unit)s, or with the unit it was read in.") % {
                "unit": UNITS[asked.unit].symbol or name_words(UNITS[asked.unit].quantity)
            }
        return forms.CharField(
            widget=_widget(asked.entry), max_length=LONGEST.get(asked.entry, 200), **shared
        )


def _widget(entry: str) -> forms.Widget:
    plain = {"autocomplete": "off", "autocapitalize": "off", "spellcheck": "false"}
    if entry in ("names", "lines", "words"):
        return forms.Textarea(attrs={"rows": 4, **plain})
    return forms.TextInput(attrs=plain)


def reshaped(texts: Texts, act: str) -> Texts:
    """Do what a button of the form asks: another kind inside, one row or limit more or less."""
    what, _colon, where = act.partition(":")
    if what == "add" and (match := _GROUP.fullmatch(where)):
        prefix = where.removesuffix(match[1])
        return add_row(texts, where, _beginning(texts, prefix, match[1]))
    if what == "drop":
        group, _dash, number = where.rpartition("-")
        if _GROUP.fullmatch(group) and number.isdecimal():
            return drop_row(texts, group, int(number))
    return texts


def _beginning(texts: Texts, prefix: str, name: str) -> Texts:
    """Give the texts of a new row or of a new limit inside; nothing where none may be added."""
    shape = KINDS.get(texts.get(f"{prefix}kind", ""))
    count = count_rows(texts, prefix + name)
    if shape is None:
        return {}
    if name == "members":
        return empty_texts("bound") if shape.members == "many" and count < MOST_MEMBERS else {}
    if shape.rows is None or shape.rows.name != name or count >= MOST_ROWS:
        return {}
    return {asked.name: "" for asked in shape.rows.fields}


def settled(texts: Texts, prefix: str = "", level: int = 1) -> Texts:
    """Give a limit whose kind was changed in the form the beginnings of its new kind; the rest stays."""
    kind = texts.get(f"{prefix}kind", "")
    if kind not in KINDS or level > MOST_LEVELS + 1:
        return texts
    if texts.get(f"{prefix}was", kind) != kind:
        texts = {**empty_texts(kind, prefix), **texts}
    texts = {**texts, f"{prefix}was": kind}
    if kind not in NESTED:
        return texts
    count = min(count_rows(texts, f"{prefix}members"), FURTHEST)
    inner = [f"{prefix}members-{number}-" for number in range(count)]
    for place in inner if KINDS[kind].members == "many" else [f"{prefix}member-"]:
        texts = settled(texts, place, level + 1)
    return texts
