"""What is asked when an event is recorded: each kind of detail, read, kept and refused in words."""

from typing import Any

import pytest

from records.batches.details import take
from safetyplan.integrity.refusals import BadInput
from safetyplan.plans.document import Detail, Event
from safetyplan.plans.document_parts import PartReader

GRAMS = {"quantity": "mass", "unit": "g"}
ASKED = (
    {"name": "curd", "label": "Curd", "entry": "choice", "options": ["soft", "firm"]},
    {"name": "at", "label": "Whey off at", "entry": "time"},
    {
        "name": "culture",
        "label": "Culture",
        "entry": "ingredient",
        "of": "culture",
        "quantity": "mass",
        "unit": "g",
    },
    {"name": "salt", "label": "Salt", "entry": "ingredient", "of": "salt"},
    {"name": "brine", "label": "Brine", "entry": "thing", "of": "brine"},
    {"name": "size", "label": "Size of the cut", "entry": "number", "quantity": "length", "unit": "mm"},
    {"name": "pieces", "label": "Moulds", "entry": "number", "quantity": "count", "unit": "count"},
    {"name": "mass", "label": "Mass", "entry": "number", "quantity": "mass", "unit": "kg"},
    {"name": "said", "label": "Remark", "entry": "text"},
)


def event(*needed: str) -> Event:
    """Give an event that asks for everything, some of it without fail."""
    details = [
        {"quantity": "", "unit": "", "required": "yes" if one["name"] in needed else "no", **one}
        for one in ASKED
    ]
    return PartReader(2).event({"code": "made", "name": "Made", "details": details}, "event")


def typed(**texts: str) -> list[dict[str, Any]]:
    """Give what a device sends; two underscores in a name stand for the dot of a dose."""
    return [
        {"name": name.replace("__", "."), "raw": raw, "unit": "", "confirmed": False}
        for name, raw in texts.items()
    ]


def test_each_kind_of_detail_is_kept_as_typed_and_as_read() -> None:
    found = take(
        event(),
        typed(
            curd="firm",
            at="7:05",
            culture=" k81 ",
            culture__dose="12,5",
            brine="B-2",
            size="10",
            pieces="14",
            mass="33,6",
            said="Cut late",
        ),
    )

    assert {row["name"]: (row["raw"], row["value"], row["unit"]) for row in found.rows} == {
        "curd": ("firm", "firm", ""),
        "at": ("7:05", "07:05", ""),
        "culture": (" k81 ", "K81", ""),
        "culture.dose": ("12,5", "12.5", "g"),
        "brine": ("B-2", "B-2", ""),
        "size": ("10", "10", "mm"),
        "pieces": ("14", "14", "count"),
        "mass": ("33,6", "33.6", "kg"),
        "said": ("Cut late", "Cut late", ""),
    }
    assert (found.pieces, found.mass) == (14, "33.6")


def test_what_was_not_entered_is_not_kept() -> None:
    assert take(event(), typed(curd=" ")).rows == ()


@pytest.mark.parametrize("name", [one["name"] for one in ASKED])
def test_what_must_be_given_is_asked_for_by_its_name(name: str) -> None:
    with pytest.raises(BadInput, match="is missing") as refused:
        take(event(str(name)), [])
    assert refused.value.part == name


@pytest.mark.parametrize(
    ("texts", "part", "words"),
    [
        ({"curd": "hard"}, "curd", "Choose one of: soft; firm."),
        ({"at": "25:00"}, "at", "such as 06:30"),
        ({"at": "7"}, "at", "such as 06:30"),
        ({"at": "07:60"}, "at", "such as 06:30"),
        ({"culture__dose": "12"}, "culture", "Culture is missing."),
        ({"culture": "K81", "culture__dose": "a bit"}, "culture.dose", ""),
        ({"culture": "K81", "culture__dose": "-1"}, "culture.dose", ""),
        ({"culture": "K81\u202e"}, "culture", ""),
        ({"culture": "x" * 60}, "culture", ""),
        ({"salt__dose": "5"}, "", "The plan does not ask for salt.dose here."),
        ({"colour": "red"}, "", "The plan does not ask for colour here."),
        ({"size": "1e99"}, "size", ""),
        ({"pieces": "2.5"}, "pieces", ""),
        ({"mass": "30 lb"}, "mass", ""),
        ({"said": "x" * 501}, "said", "At most 500 characters"),
        ({"said": "a\x00b"}, "said", "cannot be kept"),
    ],
)
def test_what_cannot_be_taken_is_refused_at_its_field(texts: dict[str, str], part: str, words: str) -> None:
    with pytest.raises(BadInput) as refused:
        take(event(), typed(**texts))
    assert refused.value.part == part
    assert words in str(refused.value)


def test_an_ingredient_that_must_be_given_needs_its_dose_too() -> None:
    with pytest.raises(BadInput, match="the dose is missing") as refused:
        take(event("culture"), typed(culture="K81"))
    assert refused.value.part == "culture.dose"

    assert len(take(event("culture"), typed(culture="K81", culture__dose="12")).rows) == 2


def test_details_of_documents_written_before_are_read_as_they_were() -> None:
    plain = {"quantity": "", "unit": "", "required": "yes"}
    old = {"name": "culture", "label": "Culture and lot", "entry": "text", **plain}
    read = PartReader(1).event({"code": "starter", "name": "Starter", "details": [old]}, "event")

    assert read.details == (Detail("culture", "Culture and lot", "text", required=True),)
    assert read.details[0].to_document() == old
    assert (read.repeats, read.after_event, read.every_minutes) == (False, "", 0)
