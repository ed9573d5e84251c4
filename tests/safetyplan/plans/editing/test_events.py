"""Events of a product: what is recorded with its time, and what is asked then."""

import json
from typing import Any

import pytest

from safetyplan.calculation.unit_tables import QUANTITIES
from safetyplan.plans import document
from safetyplan.plans.document import STARTED
from tests.cast import Cast
from tests.safetyplan.plans.stage import PLAN, document_of, get, post, revision_of, url, write
from tests.web import text_of


def events_of(cast: Cast) -> list[dict[str, Any]]:
    """Give the events in the draft."""
    events: list[dict[str, Any]] = document_of(cast)["products"][0]["events"]
    return events


def codes_of(cast: Cast) -> list[str]:
    """Give the codes of the events in order."""
    return [event["code"] for event in events_of(cast)]


def typed(name: str, *details: tuple[str, str, str, bool], hours: str = "24") -> dict[str, str]:
    """Give the form of an event: details as name, label, entry, required."""
    form = {"name": name, "expected_within_hours": hours, "rows": str(len(details) + 1)}
    for at, (code, label, entry, required) in enumerate(details):
        form |= {f"name_{at}": code, f"label_{at}": label, f"entry_{at}": entry}
        if required:
            form[f"required_{at}"] = "on"
    return form


def without(event: str) -> str:
    """Give the plan without an event that checks wait for."""
    data = json.loads(PLAN)
    product = data["products"][0]
    product["events"] = [one for one in product["events"] if one["code"] != event]
    return json.dumps(data)


def test_an_event_is_added_with_what_it_asks(cast: Cast) -> None:
    write(cast)
    asked = [("", "Pieces washed", "count:count", True), ("", "Brush", "text", False)]

    answer = post(cast, cast.owner, "plan_event_add", "TF", revision="1", **typed("First washing", *asked))

    assert answer["Location"] == url(cast, "plan_events", "TF")
    assert events_of(cast)[-1] == {
        "code": "first_washing",
        "name": "First washing",
        "expected_within_hours": 24,
        "details": [
            {
                "name": "pieces_washed",
                "label": "Pieces washed",
                "entry": "number",
                "quantity": "count",
                "unit": "count",
                "required": "yes",
            },
            {
                "name": "brush",
                "label": "Brush",
                "entry": "text",
                "quantity": "",
                "unit": "",
                "required": "no",
            },
        ],
    }


@pytest.mark.parametrize("quantity", QUANTITIES)
def test_a_number_of_every_quantity_can_be_asked_in_each_unit(cast: Cast, quantity: str) -> None:
    write(cast)
    asked = [("", unit, f"{quantity}:{unit}", False) for unit in QUANTITIES[quantity].units]

    answer = post(cast, cast.owner, "plan_event_add", "TF", revision="1", **typed("Measured", *asked))

    assert answer.status_code == 302
    made = document.read(document_of(cast)).products[0].events[-1]
    assert [(detail.quantity, detail.unit) for detail in made.details] == [
        (quantity, unit) for unit in QUANTITIES[quantity].units
    ]


def test_an_event_never_takes_the_code_of_the_start_of_the_lot(cast: Cast) -> None:
    write(cast)

    post(cast, cast.owner, "plan_event_add", "TF", revision="1", **typed("Started"))

    assert codes_of(cast)[-1] == f"{STARTED}_2"


def test_a_changed_event_keeps_its_code_and_the_names_of_its_details(cast: Cast) -> None:
    write(cast)
    packed = next(event for event in events_of(cast) if event["code"] == "packed")
    asked = [(d["name"], f"{d['label']} counted", "count:count", True) for d in packed["details"][:1]]

    post(cast, cast.owner, "plan_event", "TF", "packed", revision="1", **typed("Wrapped", *asked, hours="90"))

    changed = next(event for event in events_of(cast) if event["code"] == "packed")
    assert (changed["name"], changed["expected_within_hours"]) == ("Wrapped", 90)
    assert [(d["name"], d["label"]) for d in changed["details"]] == [("pieces", "Pieces counted")]


def test_the_page_of_an_event_shows_its_details_and_room_for_more(cast: Cast) -> None:
    write(cast)

    page = text_of(get(cast, cast.owner, "plan_event", "TF", "packed"))

    assert 'value="pieces"' in page
    assert '<option value="mass:kg" selected>' in page
    assert 'name="rows" value="6"' in page


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"name": ""}, "Give the event a name."),
        ({"expected_within_hours": "0"}, "Give a number of hours, from 1 to a year."),
        ({"expected_within_hours": "9999"}, "Give a number of hours, from 1 to a year."),
        ({"expected_within_hours": "soon"}, "soon"),
        ({"entry_0": "colour:red"}, "Select a valid choice"),
        ({"label_0": "x" * 81}, "at most 80 characters"),
        ({"entry_0": "choice", "options_0": " ; "}, "Write what can be chosen, at most 12 choices."),
        ({"after_event": "gone", "after_minutes": "5"}, "Choose an event of the product."),
        ({"after_minutes": "5"}, "Choose the event from which these minutes count."),
        ({"after_event": "packed", "after_minutes": "soon"}, "soon"),
        ({"every_minutes": "15"}, "Only what happens several times has a time between."),
        ({"repeats": "on", "every_minutes": "50000"}, "Give a number of minutes, at most 30 days."),
    ],
)
def test_an_event_that_cannot_be_taken_is_refused_and_stays(
    cast: Cast, wrong: dict[str, str], message: str
) -> None:
    write(cast)
    whole = typed("First washing", ("", "Brush used", "text", True))

    answer = post(cast, cast.owner, "plan_event_add", "TF", **{"revision": "1", **whole, **wrong})

    page = text_of(answer)
    assert answer.status_code == 422
    assert message in page
    assert "label_0" in wrong or 'value="Brush used"' in page
    assert revision_of(cast) == "1"


@pytest.mark.parametrize("rows", ["", "-1", "1000000", "x", "²"])
def test_an_odd_number_of_rows_breaks_nothing(cast: Cast, rows: str) -> None:
    write(cast)

    answer = post(
        cast, cast.owner, "plan_event_add", "TF", **{**typed("Washed"), "rows": rows, "revision": "1"}
    )

    assert answer.status_code in (302, 422)


def test_an_event_moves_down(cast: Cast) -> None:
    write(cast)
    codes = codes_of(cast)

    answer = post(cast, cast.owner, "plan_events", "TF", revision="1", down=codes[0])

    assert codes_of(cast)[:2] == [codes[1], codes[0]]
    assert answer["Location"] == url(cast, "plan_events", "TF") + f"#item-{codes[0]}"


def test_an_event_that_a_check_waits_for_is_kept(cast: Cast) -> None:
    write(cast)
    asked = text_of(get(cast, cast.owner, "plan_event_remove", "TF", "starter_added"))

    answer = post(cast, cast.owner, "plan_event_remove", "TF", "starter_added", revision="1")

    assert "Remove it from the draft" not in asked
    assert answer.status_code == 409
    assert "is still named by" in text_of(answer)
    assert "starter_added" in codes_of(cast)


def test_an_event_that_no_check_waits_for_is_removed(cast: Cast) -> None:
    write(cast)

    answer = post(cast, cast.owner, "plan_event_remove", "TF", "rennet_added", revision="1")

    assert answer.status_code == 302
    assert "rennet_added" not in codes_of(cast)


def test_an_event_that_checks_wait_for_and_that_is_missing_is_added_with_one_button(cast: Cast) -> None:
    write(cast, without("starter_added"))
    page = text_of(get(cast, cast.owner, "plan_events", "TF"))

    answer = post(cast, cast.owner, "plan_events", "TF", revision="1", add="starter_added")

    assert 'name="add" value="starter_added"' in page
    assert answer.status_code == 302
    assert codes_of(cast)[-1] == "starter_added"
    assert "starter_added" not in text_of(get(cast, cast.owner, "plan_events", "TF")).split("<ol")[0]


def test_an_event_that_no_check_waits_for_is_not_added_by_its_code(cast: Cast) -> None:
    write(cast)

    answer = post(cast, cast.owner, "plan_events", "TF", revision="1", add="party")

    assert "No check of this product waits for that event." in text_of(answer)
    assert "party" not in codes_of(cast)


@pytest.mark.parametrize("name", ["plan_event", "plan_event_remove"])
def test_an_event_that_is_not_there_is_not_found(cast: Cast, name: str) -> None:
    write(cast)

    assert get(cast, cast.owner, name, "TF", "gone").status_code == 404


@pytest.mark.parametrize(("who", "status"), [("maker", 403), ("inspector", 403), ("stranger", 404)])
def test_who_is_not_qualified_changes_no_event(cast: Cast, who: str, status: int) -> None:
    write(cast)

    answers = [
        post(cast, getattr(cast, who), "plan_events", "TF", revision="1", down="packed"),
        post(cast, getattr(cast, who), "plan_event", "TF", "packed", revision="1", **typed("x")),
        post(cast, getattr(cast, who), "plan_event_add", "TF", revision="1", **typed("x")),
        post(cast, getattr(cast, who), "plan_event_remove", "TF", "packed", revision="1"),
    ]

    assert {answer.status_code for answer in answers} == {status}
    assert get(cast, cast.inspector, "plan_events", "TF").status_code == 200


def test_an_event_says_when_it_is_usual_and_that_it_repeats(cast: Cast) -> None:
    write(cast)
    usual = {"after_event": "rennet_added", "after_minutes": "45", "repeats": "on", "every_minutes": "15"}

    post(cast, cast.owner, "plan_event_add", "TF", revision="1", **typed("Stirred"), **usual)

    made = document.read(document_of(cast)).products[0].events[-1]
    assert (made.after_event, made.after_minutes, made.repeats, made.every_minutes) == (
        "rennet_added",
        45,
        True,
        15,
    )
    page = text_of(get(cast, cast.owner, "plan_event", "TF", "stirred"))
    assert '<option value="rennet_added" selected>' in page
    assert 'value="15"' in page
    assert "several times" in text_of(get(cast, cast.owner, "plan_events", "TF"))


def test_what_was_usual_can_be_taken_back(cast: Cast) -> None:
    write(cast)
    usual = {"after_event": "started", "after_minutes": "45", "repeats": "on"}
    post(cast, cast.owner, "plan_event_add", "TF", revision="1", **typed("Stirred"), **usual)

    post(cast, cast.owner, "plan_event", "TF", "stirred", revision="2", **typed("Stirred"))

    assert set(events_of(cast)[-1]) == {"code", "name", "expected_within_hours", "details"}


def test_a_choice_an_ingredient_with_its_dose_and_a_shared_thing_can_be_asked(cast: Cast) -> None:
    write(cast)
    asked = typed(
        "Washed",
        ("", "Curd", "choice", True),
        ("", "Culture", "ingredient:culture", True),
        ("", "Brine", "thing:brine", False),
        ("", "Begun at", "time", False),
    )
    asked |= {"options_0": "soft; firm ; soft", "dose_1": "mass:g"}

    post(cast, cast.owner, "plan_event_add", "TF", revision="1", **asked)

    made = {detail.name: detail for detail in document.read(document_of(cast)).products[0].events[-1].details}
    assert made["curd"].options == ("soft", "firm")
    assert (made["culture"].of, made["culture"].quantity, made["culture"].unit) == ("culture", "mass", "g")
    assert (made["brine"].entry, made["brine"].of, made["brine"].unit) == ("thing", "brine", "")
    assert made["begun_at"].entry == "time"
    page = text_of(get(cast, cast.owner, "plan_event", "TF", "washed"))
    for kept in ("ingredient:culture", "thing:brine", "mass:g", "choice", "time"):
        assert f'<option value="{kept}" selected>' in page
    assert 'value="soft; firm"' in page


def test_what_followed_a_removed_event_follows_nothing(cast: Cast) -> None:
    write(cast)
    usual = {"after_event": "rennet_added", "after_minutes": "45"}
    post(cast, cast.owner, "plan_event_add", "TF", revision="1", **typed("Cut"), **usual)

    post(cast, cast.owner, "plan_event_remove", "TF", "rennet_added", revision="2")

    assert "after_event" not in events_of(cast)[-1]
    assert "after_minutes" not in events_of(cast)[-1]
