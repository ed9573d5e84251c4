"""Which field of the form a refusal of the calculation is about, and what it says there. Pure.

`catalogue.load` has the last word on every limit; its refusals name keys, figures and hours, and are traced
back to the field in which the figure was typed.
"""

from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from itertools import pairwise
from typing import Any

from django.utils.translation import gettext as _

from safetyplan.calculation.limits.band import text_of
from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.shape import LimitError
from safetyplan.calculation.sentences import Sentence
from safetyplan.plans.editing.limit_kinds import KINDS, fields_of
from safetyplan.words import render

Document = Mapping[str, Any]
BOUNDED = {"held_for": "product_at_least"}


def _figures(document: Document) -> Iterator[tuple[str, str]]:
    """Give every figure in the unit of the limit: the name of its field, and its words."""
    for name, field, value, unit in fields_of(document, ""):
        if field.entry in ("number", "difference", "tolerance") and value is not None and unit:
            yield name, text_of(Decimal(value), unit)


def _figure(document: Document, words: str, *, target: bool = False) -> str:
    """Find the field of a figure by its words; of a target only among the targets."""
    named = [name for name, said in _figures(document) if said == words]
    aimed = [name for name in named if "target" in name.split("-")[-1]]
    return next(iter(aimed if target else named), "")


def _bad_row(document: Document) -> int:
    """Find the first row of the repeated group that is refused when it stands alone."""
    rows = KINDS[document["kind"]].rows
    for number, row in enumerate(document[rows.name] if rows else ()):
        try:
            load({**document, rows.name if rows else "": [row]})
        except LimitError:
            return number
    return 0


def _key(sentence: Sentence, document: Document) -> str:
    """A key of the document, or of the first row that is refused."""
    key, rows = dict(sentence.params)["key"], KINDS[document["kind"]].rows
    if rows is None or key not in {field.name for field in rows.fields}:
        return key
    return f"{rows.name}-{_bad_row(document)}-{key}"


def _empty_range(sentence: Sentence, document: Document) -> str:
    low, high = document.get("at_least"), document.get("at_most")
    crossed = low is not None and high is not None and Decimal(low) > Decimal(high)
    return "at_least" if crossed else "target_at_least"


def _window(sentence: Sentence, document: Document) -> str:
    number = _bad_row(document)
    possible = 0 < Decimal(document["points"][number]["hours"]) <= 87600
    return f"points-{number}-{'window_before_minutes' if possible else 'hours'}"


def _points_order(sentence: Sentence, document: Document) -> str:
    for number, (one, next_one) in enumerate(pairwise(document["points"]), 1):
        if Decimal(one["hours"]) >= Decimal(next_one["hours"]):
            return f"points-{number}-hours"
    return "points-0-hours"


def _bands_order(sentence: Sentence, document: Document) -> str:
    for number, (one, hotter) in enumerate(pairwise(document["bands"]), 1):
        if Decimal(one["above"]) >= Decimal(hotter["above"]):
            return f"bands-{number}-above"
        if Decimal(one["at_most_minutes"]) <= Decimal(hotter["at_most_minutes"]):
            return f"bands-{number}-at_most_minutes"
    return "bands-0-above"


def _without_bound(sentence: Sentence, document: Document) -> str:
    if document["kind"] == "reached_by":
        return f"points-{_bad_row(document)}-limit"
    return BOUNDED.get(document["kind"], "at_most")


def _points_inside(sentence: Sentence, document: Document) -> str:
    for number, member in enumerate(document.get("members", ())):
        if load(member).points() > 1:
            return f"members-{number}-kind"
    return "kind"


def _same_part(sentence: Sentence, document: Document) -> str:
    part, seen = dict(sentence.params)["part"], 0
    for number, member in enumerate(document.get("members", ())):
        seen += [found.name for found in load(member).parts()].count(part)
        if seen > 1:
            own = {field.name for field in KINDS[member["kind"]].fields}
            return f"members-{number}-{'part' if 'part' in own else 'kind'}"
    return "second"


def _impossible(sentence: Sentence, document: Document) -> str:
    return _figure(document, dict(sentence.params)["value"])


def _target(sentence: Sentence, document: Document) -> str:
    if document["kind"] == "reached_by":
        return f"points-{_bad_row(document)}-target"
    return _figure(document, dict(sentence.params)["target"], target=True)


_BY_CODE: Mapping[str, Callable[[Sentence, Document], str]] = {
    "limit_wrong_value": _key,
    "limit_missing_key": _key,
    "limit_without_bound": _without_bound,
    "limit_impossible": _impossible,
    "limit_negative_tolerance": lambda sentence, document: "tolerance",
    "limit_empty_range": _empty_range,
    "limit_target_not_inside": _target,
    "limit_accepted_options": lambda sentence, document: "accepted",
    "limit_window": _window,
    "limit_points_order": _points_order,
    "limit_points_inside": _points_inside,
    "limit_same_part": _same_part,
    "limit_use_by_alone": lambda sentence, document: "use_by",
    "limit_exposure_order": _bands_order,
    "limit_exposure_curd": lambda sentence, document: "food",
    "last_of_member": lambda sentence, document: "member-kind",
    "sampling_upper_not_above": lambda sentence, document: "M",
}


def field_of(sentence: Sentence, document: Document) -> str:
    """Name the field of a limit's form that a refusal is about; the kind where it is about the whole."""
    find = _BY_CODE.get(sentence.code)
    return (find(sentence, document) if find else "") or "kind"


def words_of(sentence: Sentence, part: str) -> str:
    """Put a refusal in words; one that only names a key of the document is said plainly at its field."""
    if sentence.code in ("limit_wrong_value", "limit_missing_key"):
        return _("This does not fit here: see what is said above it.")
    return str(render(sentence))
