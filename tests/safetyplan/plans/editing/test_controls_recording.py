"""The screen of a control: loads of milk, shared things, points, and how a check is recorded."""

from typing import Any

import pytest

from tests.cast import Cast
from tests.safetyplan.plans.editing.controls_stage import (
    control_of,
    fields_of,
    opened,
    plan_with,
    send,
    sent,
)
from tests.safetyplan.plans.editing.test_controls import changed
from tests.safetyplan.plans.stage import get, revision_of, write
from tests.web import text_of

POINTS = "\n".join(f"Shelf {number}" for number in range(1, 13))


def when_of(cast: Cast, code: str) -> dict[str, Any]:
    """Give when a control of the draft is due, as the document has it."""
    found: dict[str, Any] = control_of(cast, code)["monitoring"]["when"]
    return found


def test_a_check_is_made_due_at_the_receipt_of_each_load(cast: Cast) -> None:
    write(cast)

    answer = changed(cast, "OPRP3", when_kind="load", after="15 min", products=[], step="")

    assert answer.status_code == 302
    assert when_of(cast, "OPRP3") == {
        "kind": "load",
        "after_minutes": 15,
        "window_before_minutes": 30,
        "window_after_minutes": 90,
    }
    page = text_of(get(cast, cast.owner, "plan_controls"))
    assert "15 min after the receipt of each load" in page


def test_a_daily_check_is_made_on_each_brine_at_several_points(cast: Cast) -> None:
    write(cast)

    answer = changed(cast, "PRP1", each="brine", points=POINTS)

    assert answer.status_code == 302
    assert when_of(cast, "PRP1")["each"] == "brine"
    assert control_of(cast, "PRP1")["points"] == POINTS.splitlines()
    page = text_of(get(cast, cast.owner, "plan_controls"))
    assert "Every day, on each brine at 07:00, 17:00" in page
    assert "Points: Shelf 1; Shelf 2;" in page


def test_how_a_check_is_recorded_is_written_and_read_again(cast: Cast) -> None:
    write(cast)

    answer = changed(
        cast,
        "OPRP3",
        recording="by_exception",
        photo="required",
        overdue_instrument="block",
        before_event="starter_added",
    )

    control = control_of(cast, "OPRP3")
    assert answer.status_code == 302
    assert (control["recording"], control["photo"]) == ("by_exception", "required")
    assert (control["overdue_instrument"], control["before_event"]) == ("block", "starter_added")
    assert opened(cast, "plan_control", "OPRP3")["before_event"] == "starter_added"
    page = text_of(get(cast, cast.owner, "plan_controls"))
    for said in (
        "By exception: only what is not in order is written down.",
        "A photo is required.",
        "No reading with an instrument that was not checked in time.",
        "Must show control before “Starter added”.",
    ):
        assert said in page


def test_what_is_taken_out_of_the_form_goes_out_of_the_document(cast: Cast) -> None:
    write(cast, plan_with("PRP1", points=["A", "B"], recording="by_exception", photo="asked"))

    changed(cast, "PRP1", points="", recording="", photo="")

    assert not {"points", "recording", "photo"} & set(control_of(cast, "PRP1"))


# control, what is typed, the field, words of the refusal; then what is taken instead
REFUSED: tuple[tuple[str, dict[str, Any], str, str, dict[str, Any]], ...] = (
    (
        "OPRP3",
        {"points": "A\nB"},
        "points",
        "Only a check at times of the day has points.",
        {"points": "\n "},
    ),
    ("PRP1", {"points": "A\nB\n A "}, "points", "stands here twice", {"points": "A\nB"}),
    (
        "PRP1",
        {"points": "\n".join(str(n) for n in range(41))},
        "points",
        "At most 40 points.",
        {"points": "\n".join(str(n) for n in range(40))},
    ),
    ("PRP1", {"points": "x" * 61}, "points", "At most 60", {"points": "x" * 60}),
    (
        "PRP1",
        {"before_event": "starter_added"},
        "before_event",
        "Only a check of a lot",
        {"before_event": ""},
    ),
    (
        "OPRP2",
        {"before_event": "packed"},
        "before_event",
        "waits for this very event",
        {"event": "salted", "before_event": "packed"},
    ),
    ("OPRP2", {"before_event": "sold"}, "before_event", "Select a valid choice", {"before_event": ""}),
    ("PRP1", {"each": "cow"}, "each", "Select a valid choice", {"each": "room"}),
    ("PRP1", {"photo": "maybe"}, "photo", "Select a valid choice", {"photo": "asked"}),
    ("CCP2", {"when_kind": "load"}, "when_kind", "The limit names its own times", {}),
)


@pytest.mark.parametrize(
    ("code", "typed", "field", "words", "allowed"), REFUSED, ids=[str(row[1])[:40] for row in REFUSED]
)
def test_what_cannot_be_is_refused_at_its_field_and_what_can_is_saved(
    cast: Cast, code: str, typed: dict[str, Any], field: str, words: str, allowed: dict[str, Any]
) -> None:
    draft = write(cast)

    page = changed(cast, code, **{**typed, "verification": "Typed before"})

    assert page.status_code == 422
    assert words in text_of(page).split(f'id="id_{field}_error"')[1]
    assert fields_of(page)["verification"] == "Typed before"
    assert revision_of(cast) == str(draft.revision)
    assert changed(cast, code, **allowed).status_code == 302


def test_points_go_when_a_limit_brings_its_own_times(cast: Cast) -> None:
    daily = {"what": "pH", "how": "Meter", "who": "maker", "when": {"kind": "daily", "times": ["07:00"]}}
    write(cast, plan_with("CCP1", monitoring=daily, points=["A", "B"]))
    figures = {"points-0-hours": "6", "points-0-limit": "30", "points-0-window_before_minutes": "60"}

    answer = sent(cast, "CCP1", query="?kind=reached_by", event="starter_added", tolerance="0.5", **figures)

    assert answer.status_code == 302
    assert "points" not in control_of(cast, "CCP1")


def test_an_event_that_must_wait_for_a_check_is_not_taken_out(cast: Cast) -> None:
    write(cast, plan_with("OPRP3", before_event="rennet_added"))

    page = send(cast, "plan_event_remove", "TF", "rennet_added", revision=revision_of(cast))

    assert page.status_code == 409
    assert "OPRP3" in text_of(page)
