"""What the limit editor asks for each kind of limit, as data: the form and its reading are driven by it.

A field's name is the key of the limit's document. Nothing here prefills a number: a preset is a word or a
unit, never a figure.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from django.utils.translation import gettext_lazy as _

from safetyplan.calculation.limits.all_of import MOST_LEVELS
from safetyplan.plans.editing.limit_fields import (
    ALL_UNITS,
    COUNTED,
    EVENT_HELP,
    HEAT_UNITS,
    IN_ITS_UNIT,
    TOLERANCE,
    UNIT,
    UNIT_HELP,
    WHAT,
    WHAT_HELP,
    Field,
    KindForm,
    Rows,
    bound_fields,
    part_field,
    unit_field,
)

_LIST = (
    KindForm(
        "bound",
        _("A number within bounds"),
        _("Milk at arrival at most 7 °C; sanitiser between 100 and 200 ppm."),
        (part_field(WHAT, WHAT_HELP), unit_field(ALL_UNITS), *bound_fields("number"), TOLERANCE),
    ),
    KindForm(
        "attribute",
        _("One of a few words"),
        _("Inhibitor test negative; label correct."),
        (
            part_field(_("What is looked at"), _("As it will stand on the form, such as inhibitor test.")),
            Field(
                "options",
                _("All results that can be seen"),
                "names",
                _("One on each line, in the order of the form. Name the bad ones too."),
            ),
            Field("accepted", _("Results that are accepted"), "names", _("One on each line, as above.")),
        ),
    ),
    KindForm(
        "difference",
        _("The difference of two numbers"),
        _("Needles out equal needles in; the recorder not above the indicating thermometer."),
        (
            part_field(
                _("First number"), _("The second is taken away from it, such as needles out."), name="first"
            ),
            part_field(_("Second number"), _("Such as needles in."), name="second"),
            unit_field(ALL_UNITS),
            *bound_fields("difference"),
            TOLERANCE,
        ),
    ),
    KindForm(
        "reached_by",
        _("A value reached within hours"),
        _("The curd has come to its pH within so many hours of the starter, at one or more times."),
        (
            part_field(WHAT, WHAT_HELP, "ph"),
            unit_field(ALL_UNITS, "pH"),
            Field(
                "direction",
                _("The value must be"),
                "choice",
                _("At most for pH, which falls; at least for what must rise."),
                options=("at_most", "at_least"),
                preset="at_most",
            ),
            Field("event", _("Counted from"), "event", EVENT_HELP),
            TOLERANCE,
        ),
        Rows(
            "points",
            _("Times"),
            _("Time"),
            (
                Field(
                    "hours",
                    _("Hours after the event (h)"),
                    "span",
                    _("Such as 8 or 24."),
                    unit="h",
                ),
                Field("limit", _("Limit at that time"), "number", IN_ITS_UNIT, required=False),
                Field(
                    "target",
                    _("Target at that time"),
                    "number",
                    _("Inside the limit by at least the tolerance, or empty."),
                    required=False,
                ),
                Field(
                    "window_before_minutes",
                    _("A reading counts up to so long before (min)"),
                    "span",
                    _("A reading taken later than the time does not count. 2 h may be typed too."),
                    unit="min",
                    whole=True,
                ),
            ),
        ),
    ),
    KindForm(
        "held_for",
        _("A heat hold shown by its chart"),
        _("Product at least 63 °C and air space at least 66 °C, for 30 min without a dip."),
        (
            Field("minutes", _("Held for at least (min)"), "span", _("15 s may be typed too."), unit="min"),
            unit_field(HEAT_UNITS),
            Field("product_at_least", _("Product at least"), "number", IN_ITS_UNIT, required=False),
            Field(
                "air_space_at_least",
                _("Air space at least"),
                "number",
                _("In the unit chosen above; empty where there is no air space."),
                required=False,
            ),
            Field(
                "product_target",
                _("Target for the product: at least"),
                "number",
                _("Above the limit by at least the tolerance, or empty."),
                required=False,
            ),
            Field(
                "recorder_not_above_indicating",
                _("The recorder may not read above the indicating thermometer"),
                "flag",
                required=False,
                preset="on",
            ),
            Field(
                "agitator",
                _("The agitator runs during the whole hold"),
                "flag",
                required=False,
                preset="on",
            ),
            TOLERANCE,
        ),
    ),
    KindForm(
        "not_before",
        _("Not before so many days"),
        _("Sale no earlier than 60 days at 35 °F or more; time below does not count."),
        (
            part_field(
                _("What is entered"),
                _("The days, such as days at temperature; or a temperature, such as room temperature."),
                "days_at_temperature",
            ),
            Field(
                "counted",
                _("The days at or above the temperature are counted from the room's records and entered"),
                "flag",
                _("Without this every reading of the temperature is needed, which no check records yet."),
                required=False,
                preset="on",
            ),
            Field("event", _("Counted from"), "event", EVENT_HELP),
            Field("days", _("Days, whole ones (d)"), "span", _("From 1 to 3650."), unit="d"),
            unit_field(HEAT_UNITS),
            Field("at_least", _("At this temperature or above"), "number", IN_ITS_UNIT),
            Field(
                "coverage_hours",
                _("Hours that one hand reading covers (h)"),
                "span",
                _("Beyond them the time is not shown. 36 when left empty, 168 at most."),
                required=False,
                unit="h",
            ),
        ),
    ),
    KindForm(
        "not_after",
        _("Used before it is too old"),
        _("Wash at most 24 h old; milk used within 2 h of milking; culture before its use-by date."),
        (
            part_field(
                _("What is recorded"),
                _("The time of use, the time it was made, or the use-by date: such as wash prepared."),
            ),
            Field(
                "event",
                _("Counted from an event"),
                "event",
                _("Empty when the time it was made, or a date, is entered with the check."),
                required=False,
            ),
            Field(
                "hours",
                _("At most so long (h)"),
                "span",
                _("Empty for a use-by date."),
                required=False,
                unit="h",
            ),
            Field(
                "use_by",
                _("A use-by date is entered; its day is the last one"),
                "flag",
                required=False,
            ),
        ),
    ),
    KindForm(
        "exposure",
        _("Time in warmth, added up"),
        _("Milk before the starter above 50 °F for at most 5 h in all, above 70 °F for at most 2 h."),
        (
            part_field(WHAT, WHAT_HELP, "temperature"),
            unit_field(HEAT_UNITS),
            Field(
                "food",
                _("Of what"),
                "choice",
                _("Curd in process has no such limit: its pH falls meanwhile."),
                options=("milk_before_starter", "finished_cheese"),
            ),
            Field("event", _("Counted from"), "event", EVENT_HELP),
            Field("until", _("The time ends with"), "event", _("Or empty."), required=False),
            Field(
                "longest_gap_minutes",
                _("Readings at most so far apart (min)"),
                "span",
                _("A longer pause leaves the limit not shown."),
                unit="min",
                whole=True,
            ),
        ),
        Rows(
            "bands",
            _("Temperatures"),
            _("Temperature"),
            (
                Field("above", _("Above"), "number", IN_ITS_UNIT),
                Field("at_most_minutes", _("At most so long in all (min)"), "span", unit="min"),
            ),
        ),
    ),
    KindForm(
        "sampling_plan",
        _("Samples of a laboratory"),
        _("5 samples, at most 2 above m and none above M; or not detected in 5 samples of 25 g."),
        (
            part_field(
                _("What the laboratory looks for"),
                _("Such as coagulase positive staphylococci; at most 36 characters."),
            ),
            Field(
                "unit",
                _("How the result is given"),
                "unit",
                _("A count, or whether it was detected."),
                options=("cfu_per_g", "cfu_per_ml", ""),
            ),
            Field("n", _("Number of samples n"), "whole", _("From 1 to 60.")),
            Field("c", _("How many may be above m, or show it: c"), "whole", _("From 0 to n − 1.")),
            Field("m", _("m"), "number", _("For counts. Empty for detected or not."), required=False),
            Field(
                "M",
                _("M, which none may be above"),
                "number",
                _("Empty for a plan of two classes, and for detected or not."),
                required=False,
            ),
            Field(
                "grams",
                _("Size of each sample (g)"),
                "number",
                _("Only for detected or not."),
                required=False,
                unit="g",
            ),
        ),
    ),
    KindForm(
        "rolling_geometric_mean",
        _("A rolling geometric mean"),
        _("Plate count of raw milk over two months, at least two samples in each."),
        (
            part_field(_("What is counted"), _("Such as plate count."), "plate_count"),
            Field("unit", UNIT, "unit", UNIT_HELP, options=COUNTED),
            Field("months", _("Calendar months"), "whole", _("From 1 to 24.")),
            Field("least_per_month", _("Samples in each month, at least"), "whole", _("From 1 to 31.")),
            Field("at_most", _("The mean is at most"), "number", IN_ITS_UNIT),
            Field(
                "method",
                _("How the mean is taken"),
                "choice",
                options=("pooled_samples", "monthly_means"),
            ),
            Field(
                "censored_as",
                _("What stands for a count below the laboratory's limit"),
                "choice",
                options=("full_limit", "half_limit"),
            ),
        ),
    ),
    KindForm(
        "in_order",
        _("Lots handled in order of age"),
        _("Young lots washed before old ones."),
        (
            part_field(_("What is written down"), _("The lot codes in their order, such as lots washed.")),
            Field("first", _("Which come first"), "choice", options=("youngest", "oldest")),
        ),
    ),
    KindForm(
        "last_of",
        _("So many of the last results"),
        _("At most 2 of the last 4 results outside their limit."),
        (
            Field("most", _("At most so many outside the limit"), "whole", _("From 0 up.")),
            Field("of", _("Of the last so many results"), "whole", _("From 2 to 50.")),
        ),
        members="one",
        counted=("bound", "attribute"),
    ),
    KindForm(
        "all_of",
        _("Several limits, all of them kept"),
        _("Temperature at arrival and inhibitor test, entered in one check."),
        (),
        members="many",
    ),
    KindForm(
        "any_of",
        _("Several limits, one of them is enough"),
        _("Used within 2 h of milking, or at most 6 °C."),
        (),
        members="many",
    ),
)
KINDS: Mapping[str, KindForm] = {shape.kind: shape for shape in _LIST}
NESTED = frozenset(shape.kind for shape in _LIST if shape.members != "none")


def kinds_inside(shape: KindForm, level: int) -> tuple[str, ...]:
    """Give the kinds a member of a limit may be; `level` is that of the member, the whole limit is 1."""
    if shape.counted:
        return shape.counted
    return tuple(kind for kind in KINDS if level <= MOST_LEVELS or kind not in NESTED)


def members_of(document: Mapping[str, Any], prefix: str = "") -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Give the members of a limit's document with the beginning of the names of their fields."""
    if "member" in document:
        yield f"{prefix}member-", document["member"]
    for number, member in enumerate(document.get("members", ())):
        yield f"{prefix}members-{number}-", member


def nodes(document: Mapping[str, Any], prefix: str = "") -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Give a limit's document and all it is made of, with the beginning of the names of their fields."""
    yield prefix, document
    for inner, member in members_of(document, prefix):
        yield from nodes(member, inner)


def fields_of(document: Mapping[str, Any], prefix: str) -> Iterator[tuple[str, Field, Any, str]]:
    """Give each field of one limit, not of its members: name in the form, field, value, unit."""
    shape = KINDS[document["kind"]]
    unit = document.get("unit") or ""
    for field in shape.fields:
        yield prefix + field.name, field, document.get(field.name), field.unit or unit
    if shape.rows is None:
        return
    for number, row in enumerate(document.get(shape.rows.name, ())):
        for field in shape.rows.fields:
            name = f"{prefix}{shape.rows.name}-{number}-{field.name}"
            yield name, field, row.get(field.name), field.unit or unit
