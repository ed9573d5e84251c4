"""The shape of what the limit editor asks for, and the fields that several kinds of limit share."""

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from safetyplan.calculation.unit_tables import QUANTITIES

Words = str | Promise
MOST_ROWS = 12
MOST_MEMBERS = 8
ALL_UNITS = tuple(unit for quantity in QUANTITIES.values() for unit in quantity.units)
HEAT_UNITS = ("degC", "degF")
COUNTED = tuple(unit for quantity in QUANTITIES.values() if quantity.whole for unit in quantity.units)
IN_ITS_UNIT = _("In the unit chosen above.")


@dataclass(frozen=True)
class Field:
    """One thing asked for.

    entry: number (in the limit's unit), difference (may be below zero), tolerance, span (a time), whole,
    name, names (one on each line), choice, flag, event, unit. unit: of a number or span that does not follow
    the limit's. options: of a choice or a unit. whole: a span kept as whole minutes. preset: put into an
    empty form.
    """

    name: str
    label: Words
    entry: str
    help: Words = ""
    required: bool = True
    unit: str = ""
    options: tuple[str, ...] = ()
    whole: bool = False
    preset: str = ""


@dataclass(frozen=True)
class Rows:
    """A group of fields that may be there several times; `one` names one of them."""

    name: str
    label: Words
    one: Words
    fields: tuple[Field, ...]


@dataclass(frozen=True)
class KindForm:
    """One kind of limit: its title, an example, its fields, its repeated group, what members it has.

    members: none, "one" or "many". counted: the kinds a member may be, none for any.
    """

    kind: str
    title: Words
    example: Words
    fields: tuple[Field, ...]
    rows: Rows | None = None
    members: str = "none"
    counted: tuple[str, ...] = ()


def part_field(label: Words, help_text: Words, preset: str = "", name: str = "part") -> Field:
    return Field(name, label, "name", help_text, preset=preset)


WHAT = _("What is measured")
WHAT_HELP = _("As it will stand on the form, such as milk temperature.")
UNIT = _("Unit of the source")
UNIT_HELP = _("The unit in which the law or your source states the figure. A limit is never converted.")
TOLERANCE = Field(
    "tolerance",
    _("Tolerance of the instrument"),
    "tolerance",
    _("How far the instrument may be wrong, plus or minus, in the unit above. 0 for a count."),
)
EVENT_HELP = _("The time is counted from the moment at which this is recorded.")


def unit_field(options: tuple[str, ...], preset: str = "") -> Field:
    return Field("unit", UNIT, "unit", UNIT_HELP, options=options, preset=preset)


def bound_fields(entry: str) -> tuple[Field, ...]:
    return (
        Field("at_least", _("Limit: at least"), entry, _("Lowest value allowed, or empty."), required=False),
        Field("at_most", _("Limit: at most"), entry, _("Highest value allowed, or empty."), required=False),
        Field(
            "target_at_least",
            _("Target: at least"),
            entry,
            _("Inside the limit by at least the tolerance, or empty."),
            required=False,
        ),
        Field(
            "target_at_most",
            _("Target: at most"),
            entry,
            _("Inside the limit by at least the tolerance, or empty."),
            required=False,
        ),
    )
