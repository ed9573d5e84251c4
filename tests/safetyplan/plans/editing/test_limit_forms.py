"""Every kind of limit between its document and the form, and every refusal at the field it is about.

Documents of every kind come from the calculation's own table of cases. What the parser makes of a typed text
is tested with the parser; here it is tested that a limit's fields go through it and nothing else.
"""

from collections.abc import Mapping
from typing import Any

import pytest

from safetyplan.calculation.limits.catalogue import KINDS as CATALOGUE
from safetyplan.calculation.limits.catalogue import load
from safetyplan.integrity.refusals import BadInput
from safetyplan.plans.editing.limit_forms import reshaped, settled
from safetyplan.plans.editing.limit_kinds import KINDS, fields_of, nodes
from safetyplan.plans.editing.limit_typed import (
    LimitReader,
    count_rows,
    empty_texts,
    known_of,
    texts_of,
    turned,
)
from tests.calculation.kind_cases import ACID, BOTH, LAST, LEGAL, MILK, NOT_HIGHER, PLATE, STAPH, documents
from tests.calculation.test_any_of import FRESH
from tests.calculation.test_attribute import TEST
from tests.calculation.test_difference import NEEDLES
from tests.calculation.test_exposure_limit import MILK as WARM_MILK
from tests.calculation.test_held_for import VAT
from tests.calculation.test_in_order import WASHING
from tests.calculation.test_not_after import CULTURE, FROM_EVENT, WASH
from tests.calculation.test_not_before import RAW

Document = Mapping[str, Any]
DOCUMENTS = documents()
PRESENCE: dict[str, Any] = {**STAPH, "quantity": "presence", "unit": None, "m": None, "M": None, "c": 0}
PRESENCE["grams"] = "25"
COLD: dict[str, Any] = {**MILK, "target_at_most": "4", "tolerance": "0.5"}
TWO_POINTS: dict[str, Any] = {
    **ACID,
    "tolerance": "0.05",
    "points": [
        {"hours": "6", "limit": "5.80", "target": None, "window_before_minutes": 60},
        {"hours": "24", "limit": "4.60", "target": "4.50", "window_before_minutes": 120},
    ],
}
DEEP = {"kind": "all_of", "members": [{"kind": "any_of", "members": [MILK, TEST]}, NEEDLES]}


def read(document: Document, **typed: str) -> tuple[dict[str, Any] | None, list[BadInput]]:
    """Read the form of a document with some fields typed anew."""
    reader = LimitReader({**texts_of(document), **typed}, known_of(document))
    return reader.read(), reader.refusals


def parts_refused(document: Document, **typed: str) -> list[str]:
    """Name the fields that were refused."""
    found, refusals = read(document, **typed)
    assert (found is None) == bool(refusals)
    return [refusal.part for refusal in refusals]


def named(document: Document) -> str:
    return f"{document['kind']} {DOCUMENTS.index(document)}"


def test_every_kind_of_limit_has_a_form_and_no_other() -> None:
    assert set(KINDS) == CATALOGUE


@pytest.mark.parametrize("counted", [True, False])
def test_whether_days_are_counted_comes_back_from_the_form(counted: bool) -> None:
    document = {**RAW, "counted": True} if counted else RAW
    found, refusals = read(document)

    assert refusals == []
    assert found is not None
    assert load(found) == load(document)


@pytest.mark.parametrize("document", DOCUMENTS, ids=named)
def test_a_limit_comes_back_from_its_form_unchanged(document: Document) -> None:
    found, refusals = read(document)

    assert refusals == []
    assert found == document


@pytest.mark.parametrize("document", [PRESENCE, TWO_POINTS, DEEP, FRESH, COLD], ids=lambda d: d["kind"])
def test_so_do_the_further_shapes_of_a_kind_and_limits_inside_limits(document: Document) -> None:
    assert read(document) == (document, [])


@pytest.mark.parametrize("document", DOCUMENTS, ids=named)
def test_the_form_knows_every_key_of_its_document(document: Document) -> None:
    for prefix, node in nodes(document):
        shape = KINDS[node["kind"]]
        rows = {shape.rows.name} if shape.rows else set()
        asked = {field.name for field in shape.fields} | rows | {"kind", "quantity", "member", "members"}
        assert set(node) <= asked
        assert {name for name, *_ in fields_of(node, prefix)} <= set(texts_of(document))


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_an_empty_form_holds_no_figure_and_is_refused_field_by_field(kind: str) -> None:
    texts = empty_texts(kind)
    reader = LimitReader(texts, known_of(None))

    assert reader.read() is None
    assert not any(character.isdigit() for text in texts.values() for character in text)
    assert {refusal.part for refusal in reader.refusals} <= set(texts) | {"points-0-hours", "bands-0-above"}


def test_a_figure_of_six_decimals_and_one_far_from_usual_come_back_as_they_stand() -> None:
    fine = {**MILK, "at_most": "7.123456", "tolerance": "0.000001"}
    far = {**LEGAL, "at_least": "400"}

    assert read(fine) == (fine, [])
    assert read(far) == (far, [])


# document, what is typed, the field refused; then what may be typed there
REFUSED: tuple[tuple[Document, dict[str, str], str, dict[str, str]], ...] = (
    (COLD, {"target_at_most": "6.6"}, "target_at_most", {"target_at_most": "6.5"}),
    (COLD, {"tolerance": "3.1"}, "target_at_most", {"tolerance": "3"}),
    (COLD, {"tolerance": ""}, "tolerance", {"tolerance": "0"}),
    (COLD, {"tolerance": "-0.5"}, "tolerance", {"tolerance": "0.25"}),
    (COLD, {"at_most": "", "target_at_most": ""}, "at_most", {"at_most": "6"}),
    (COLD, {"at_least": "8"}, "at_least", {"at_least": "1"}),
    (COLD, {"target_at_least": "5"}, "target_at_least", {"target_at_least": "2"}),
    (COLD, {"at_most": "-300"}, "at_most", {"at_most": "5"}),
    (COLD, {"unit": ""}, "unit", {"unit": "degC"}),
    (COLD, {"unit": "furlong"}, "unit", {"unit": "degF"}),
    (COLD, {"part": ""}, "part", {"part": "milk temperature"}),
    (COLD, {"part": "T°"}, "part", {"part": "Milk-temperature"}),
    (COLD, {"part": "product"}, "part", {"part": "lowest product temperature"}),
    (COLD, {"part": "x" * 41}, "part", {"part": "x" * 40}),
    (TEST, {"accepted": "negative\npositive\ninvalid"}, "accepted", {"accepted": "negative\npositive"}),
    (TEST, {"accepted": "blue"}, "accepted", {"options": "blue\nnegative"}),
    (TEST, {"options": "negative\nnegative"}, "options", {"options": "negative\npositive"}),
    (NEEDLES, {"second": "needles out"}, "second", {"second": "needles counted"}),
    (NEEDLES, {"at_least": "0.5"}, "at_least", {"at_least": "-1"}),
    (NOT_HIGHER, {"at_most": "2000"}, "at_most", {"at_most": "-0.5"}),
    (TWO_POINTS, {"points-1-target": "4.58"}, "points-1-target", {"points-1-target": "4.55"}),
    (TWO_POINTS, {"points-0-target": "5.9"}, "points-0-target", {"points-0-target": "5.7"}),
    (TWO_POINTS, {"points-1-hours": "6"}, "points-1-hours", {"points-1-hours": "6.5"}),
    (TWO_POINTS, {"points-0-limit": ""}, "points-0-limit", {"points-0-target": "5.7", "points-0-limit": ""}),
    (TWO_POINTS, {"points-0-window_before_minutes": "361"}, "points-0-window_before_minutes", {}),
    (TWO_POINTS, {"points-0-hours": "0"}, "points-0-hours", {"points-0-hours": "90 min"}),
    (TWO_POINTS, {"points-0-window_before_minutes": "0.5"}, "points-0-window_before_minutes", {}),
    (TWO_POINTS, {"direction": "sideways"}, "direction", {"direction": "at_most"}),
    (TWO_POINTS, {"event": ""}, "event", {"event": "rennet_added"}),
    (VAT, {"product_target": "63.1"}, "product_target", {"product_target": "63.25"}),
    (VAT, {"minutes": "0"}, "minutes", {"minutes": "15 s"}),
    (VAT, {"minutes": "16 s"}, "minutes", {"minutes": "0.267"}),
    (VAT, {"product_at_least": "", "air_space_at_least": ""}, "product_at_least", {"air_space_at_least": ""}),
    (RAW, {"days": "60.5"}, "days", {"days": "60"}),
    (RAW, {"coverage_hours": "169"}, "coverage_hours", {"coverage_hours": "7 d"}),
    (CULTURE, {"hours": "24"}, "use_by", {"use_by": "", "hours": "24"}),
    (WASH, {"hours": ""}, "hours", {"hours": "30 min"}),
    (FROM_EVENT, {"hours": "90000"}, "hours", {"hours": "48"}),
    (WARM_MILK, {"bands-1-above": "50"}, "bands-1-above", {"bands-1-above": "60"}),
    (WARM_MILK, {"bands-1-at_most_minutes": "5 h"}, "bands-1-at_most_minutes", {}),
    (WARM_MILK, {"longest_gap_minutes": "0"}, "longest_gap_minutes", {"longest_gap_minutes": "2 h"}),
    (WARM_MILK, {"food": "curd_in_process"}, "food", {"food": "finished_cheese"}),
    (STAPH, {"M": "100"}, "M", {"M": "2000"}),
    (STAPH, {"m": ""}, "m", {"m": "10"}),
    (STAPH, {"m": "<50"}, "m", {"m": "50"}),
    (STAPH, {"n": "61"}, "n", {"n": "60"}),
    (STAPH, {"c": "5"}, "c", {"c": "4"}),
    (STAPH, {"n": "five"}, "n", {"n": "10"}),
    (STAPH, {"grams": "25"}, "grams", {"grams": ""}),
    (PRESENCE, {"m": "100"}, "m", {"m": ""}),
    (PRESENCE, {"grams": ""}, "grams", {"grams": "1"}),
    (PLATE, {"months": "25"}, "months", {"months": "3"}),
    (PLATE, {"at_most": "0"}, "at_most", {"at_most": "50000"}),
    (PLATE, {"least_per_month": "32"}, "least_per_month", {"least_per_month": "1"}),
    (WASHING, {"first": ""}, "first", {"first": "oldest"}),
    (LAST, {"most": "3"}, "most", {"most": "2"}),
    (LAST, {"of": "1"}, "of", {"of": "2"}),
    (LAST, {"member-at_least": ""}, "member-at_most", {"member-at_least": "34"}),
    (LAST, {"member-kind": "in_order"}, "member-kind", {}),
    (BOTH, {"members-0-at_least": "warm"}, "members-0-at_least", {"members-0-at_least": "36"}),
    (BOTH, {"members-1-part": "temperature"}, "members-1-part", {"members-1-part": "inhibitor test"}),
    (BOTH, {"members-1-kind": "no_such_kind"}, "members-1-kind", {}),
)


@pytest.mark.parametrize(
    ("document", "typed", "field", "allowed"), REFUSED, ids=[f"{r[0]['kind']} {r[1]}" for r in REFUSED]
)
def test_what_cannot_stand_in_a_limit_is_refused_at_its_field(
    document: Document, typed: dict[str, str], field: str, allowed: dict[str, str]
) -> None:
    assert parts_refused(document, **typed) == [field]


@pytest.mark.parametrize(
    ("document", "typed", "field", "allowed"), REFUSED, ids=[f"{r[0]['kind']} {r[3]}" for r in REFUSED]
)
def test_and_what_can_is_taken(
    document: Document, typed: dict[str, str], field: str, allowed: dict[str, str]
) -> None:
    found, refusals = read(document, **allowed)

    assert refusals == []
    assert found is not None
    assert load(found).to_document() == found


def test_every_wrong_field_is_named_at_once() -> None:
    wrong = {"at_most": "hot", "tolerance": "", "part": "!"}

    assert parts_refused(COLD, **wrong) == ["part", "at_most", "tolerance"]


def test_the_refusal_of_a_target_says_how_far_inside_it_must_lie() -> None:
    _found, refusals = read(COLD, target_at_most="6.6")

    assert str(refusals[0]) == (
        "The target 6.6 °C must lie inside the limit 7 °C by at least the tolerance 0.5 °C."
    )


def test_a_limit_with_several_times_cannot_be_part_of_another() -> None:
    texts = {**texts_of(BOTH), **{f"members-0-{name}": text for name, text in texts_of(TWO_POINTS).items()}}
    reader = LimitReader(texts, known_of(None))

    assert reader.read() is None
    assert [refusal.part for refusal in reader.refusals] == ["members-0-kind"]


def test_a_limit_cannot_be_nested_deeper_than_the_calculation_reads() -> None:
    texts = {"kind": "all_of"}
    for level in range(1, 6):
        texts["members-0-" * level + "kind"] = "all_of"
    reader = LimitReader(texts, known_of(None))

    assert reader.read() is None
    assert [refusal.part for refusal in reader.refusals] == ["members-0-" * 4 + "kind"]


def test_rows_left_empty_are_no_rows() -> None:
    empty = {f"points-1-{name}": "" for name in ("hours", "limit", "target", "window_before_minutes")}

    found, refusals = read(TWO_POINTS, **empty)

    assert refusals == []
    assert found is not None
    assert found["points"] == TWO_POINTS["points"][:1]


def test_a_row_is_added_and_taken_out_and_the_others_keep_what_was_typed() -> None:
    texts = {**texts_of(TWO_POINTS), "points-0-limit": "not yet known"}

    more = reshaped(texts, "add:points")
    less = reshaped(more, "drop:points-0")

    assert (count_rows(texts, "points"), count_rows(more, "points"), count_rows(less, "points")) == (2, 3, 2)
    assert more["points-0-limit"] == "not yet known"
    assert less["points-0-limit"] == "4.60"
    assert less["part"] == "pH"


def test_a_limit_inside_another_is_added_changed_in_kind_and_taken_out() -> None:
    more = settled(reshaped(settled(texts_of(BOTH)), "add:members"))
    changed = settled({**more, "members-2-kind": "held_for"})
    less = reshaped(changed, "drop:members-0")

    assert more["members-2-kind"] == "bound"
    assert changed["members-2-agitator"] == "on"
    assert changed["members-2-minutes"] == ""
    assert less["members-0-kind"] == "attribute"
    assert less["members-1-kind"] == "held_for"


@pytest.mark.parametrize(
    "act", ["add:", "add:nothing", "drop:points-x", "drop:", "add:members-0-points", "shape", "drop:kind-0"]
)
def test_a_button_that_the_form_does_not_have_does_nothing(act: str) -> None:
    texts = texts_of(MILK)

    assert reshaped(texts, act) == texts


def test_no_more_rows_and_limits_are_added_than_a_screen_can_hold() -> None:
    rows, members = texts_of(TWO_POINTS), texts_of(BOTH)
    for _press in range(20):
        rows, members = reshaped(rows, "add:points"), reshaped(members, "add:members")

    assert (count_rows(rows, "points"), count_rows(members, "members")) == (12, 8)


def test_another_kind_takes_words_and_units_along_but_no_figure() -> None:
    texts = turned(COLD, "reached_by")

    assert (texts["part"], texts["unit"]) == ("temperature", "degC")
    assert not any(character.isdigit() for text in texts.values() for character in text)


def test_a_limit_that_becomes_part_of_another_is_the_first_of_it_whole() -> None:
    both, counted = turned(COLD, "all_of"), turned(COLD, "last_of")

    assert (both["members-0-kind"], both["members-0-at_most"], both["members-1-kind"]) == (
        "bound",
        "7",
        "bound",
    )
    assert (counted["member-kind"], counted["member-at_most"], counted["most"]) == ("bound", "7", "")


def test_one_of_several_limits_can_stand_alone_again() -> None:
    assert turned(BOTH, "attribute") == texts_of(TEST)
