"""Confirming the hold and recording actions from the page of a deviation."""

from datetime import UTC, datetime

import pytest

from records.deviations.models import ActionTaken, HoldConfirmed
from records.deviations.queries import state_of
from safetyplan.integrity.form_claims import new_uuid
from tests.builders import at, hours
from tests.cast import Cast
from tests.records.deviations.stage import HELD, Stage, slow_vat
from tests.remembering import told_again
from tests.web import entries, signed_in, text_of


@pytest.fixture
def stage(working: Cast) -> Stage:
    """Make a slow vat that is not on hold yet."""
    return told_again("slow vat", lambda: slow_vat(working))


def held(stage: Stage) -> HoldConfirmed | None:
    """Give the hold that counts."""
    return state_of(stage.dairy, stage.deviation).hold


def test_the_hold_stays_red_until_it_is_confirmed(stage: Stage) -> None:
    before = text_of(stage.get(stage.cast.maker))

    answer = stage.post(stage.cast.maker, "hold", **HELD)

    after = text_of(stage.get(stage.cast.maker))
    assert answer.status_code == 302
    assert "HOLD REQUIRED" in before
    assert "HOLD REQUIRED" not in after
    assert "state-hold" in after


def test_a_confirmed_hold_offers_its_tag_for_print(stage: Stage) -> None:
    stage.hold()

    page = text_of(stage.get(stage.cast.maker))

    assert 'name="what" value="tag"' in page
    assert f'name="subject" value="{stage.deviation.pk}"' in page


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"place": ""}, "Say where the product stands."),
        ({"tag": "  "}, "Give the number on the tag."),
        ({"pieces": "abc"}, "This is not a number."),
        ({"pieces": "2.5"}, "Only whole numbers here"),
        ({"pieces": "0", "mass": ""}, "Count the pieces or weigh what is held."),
        ({"mass": "4 °C"}, "does not belong here"),
        ({"place": "x" * 121}, "at most 120 characters"),
        ({"done_date": "2026-05-15", "done_time": "25:00"}, "Write the time as hours and minutes"),
        ({"done_date": "2026-05-16", "done_time": "12:00"}, "is still to come"),
        ({"done_date": "2026-05-13", "done_time": "12:00"}, "Give a reason (at least three letters)."),
    ],
)
def test_a_hold_that_cannot_be_taken_is_refused_and_what_was_typed_stays(
    stage: Stage, changed: dict[str, str], message: str
) -> None:
    typed = {**HELD, **changed}

    answer = stage.post(stage.cast.maker, "hold", **typed)

    page = text_of(answer)
    assert answer.status_code == 422
    assert message in page
    assert all(f'value="{text}"' in page for text in typed.values() if text.strip())
    assert held(stage) is None
    assert stage.post(stage.cast.maker, "hold", **HELD).status_code == 302


def test_a_late_hold_is_taken_with_its_reason(stage: Stage) -> None:
    answer = stage.post(
        stage.cast.maker, "hold", **HELD, done_date="2026-05-14", done_time="06:00", why="Phone was flat"
    )

    found = held(stage)
    assert answer.status_code == 302
    assert found is not None
    assert found.reason == "Phone was flat"


def test_pieces_that_can_be_read_in_two_ways_are_asked_about(stage: Stage) -> None:
    typed = {**HELD, "pieces": "1,100"}

    asked = stage.post(stage.cast.maker, "hold", **typed)
    taken = stage.post(stage.cast.maker, "hold", **typed, pieces_offer="0")

    found = held(stage)
    assert asked.status_code == 422
    assert 'name="pieces_offer"' in text_of(asked)
    assert taken.status_code == 302
    assert found is not None
    assert found.pieces == 1100


def test_pounds_are_offered_in_kilograms(stage: Stage) -> None:
    # 1 lb is 0.45359237 kg (international pound, 1959): 74 lb are 33.566 kg
    typed = {**HELD, "mass": "74 lb"}

    asked = stage.post(stage.cast.maker, "hold", **typed)
    taken = stage.post(stage.cast.maker, "hold", **typed, mass_offer="0")

    found = held(stage)
    assert asked.status_code == 422
    assert "33.566 kg" in text_of(asked)
    assert taken.status_code == 302
    assert found is not None
    assert found.mass_text == "33.566"


def test_an_offer_taken_stays_taken_while_another_field_is_mended(stage: Stage) -> None:
    typed = {**HELD, "pieces": "1,100", "mass": "a lot"}

    answer = stage.post(stage.cast.maker, "hold", **typed, pieces_offer="0")

    page = text_of(answer)
    assert answer.status_code == 422
    assert "This is not a number." in page
    assert 'value="1100"' in page
    assert 'name="pieces_offer"' not in page


def test_a_time_that_came_twice_is_asked_about(stage: Stage) -> None:
    # on 2026-10-25 the clocks of Europe/Dublin go back at 01:00 UTC (IANA time zone data): 01:30 comes twice
    night = datetime(2026, 10, 25, 3, tzinfo=UTC)
    typed = {**HELD, "done_date": "2026-10-25", "done_time": "01:30", "uuid": new_uuid()}

    with at(stage.dairy, night):
        client = signed_in(stage.cast.maker)
        asked = client.post(stage.url("hold"), typed)
        taken = client.post(stage.url("hold"), {**typed, "done_time_offer": "1"})

    found = held(stage)
    assert asked.status_code == 422
    assert "happened twice" in text_of(asked)
    assert taken.status_code == 302
    assert found is not None
    assert found.held_at == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)


def test_a_second_count_needs_a_reason_and_keeps_the_first_readable(stage: Stage) -> None:
    stage.hold()

    refused = stage.post(stage.cast.maker, "hold", **{**HELD, "pieces": "279"})
    taken = stage.post(stage.cast.maker, "hold", **{**HELD, "pieces": "279"}, why="One was counted twice")

    page = text_of(stage.get(stage.cast.maker))
    assert refused.status_code == 422
    assert "Give a reason (at least three letters)." in text_of(refused)
    assert taken.status_code == 302
    assert "Earlier count, replaced below:" in page
    assert "<dd>280</dd>" in page
    assert "<dd>279</dd>" in page


def test_the_count_cannot_change_once_part_was_disposed_of(stage: Stage) -> None:
    stage.hold()
    stage.evaluate()
    stage.dispose()

    answer = stage.post(stage.cast.maker, "hold", **{**HELD, "pieces": "281"}, why="Counted again")

    page = text_of(answer)
    assert answer.status_code == 409
    assert "the count cannot change now" in page
    assert 'value="281"' in page


def test_a_form_sent_twice_is_stored_once(stage: Stage) -> None:
    uuid = new_uuid()
    client = signed_in(stage.cast.maker)

    with at(stage.dairy, hours(28)):
        answers = [client.post(stage.url("hold"), {**HELD, "uuid": uuid}) for _again in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert HoldConfirmed.objects.of(stage.dairy).count() == 1


def test_a_planned_action_is_one_tap(stage: Stage) -> None:
    page = text_of(stage.get(stage.cast.maker))

    answer = stage.post(stage.cast.maker, "action", action_code="CCP2-1")

    done = ActionTaken.objects.of(stage.dairy).get()
    assert 'name="action_code" value="CCP2-1"' in page
    assert answer.status_code == 302
    assert done.text == "Tag and hold the whole lot, keep it cold"
    assert done.author_id == stage.cast.maker.pk


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"text": ""}, "Give a reason (at least three letters)."),
        ({"action_code": "CCP9-9"}, "The plan has no such corrective action."),
        ({"text": "Chilled", "done_date": "", "done_time": "10:00"}, "Write the date as year-month-day"),
    ],
)
def test_an_action_that_says_nothing_is_refused(stage: Stage, typed: dict[str, str], message: str) -> None:
    answer = stage.post(stage.cast.maker, "action", **typed)

    assert answer.status_code == 422
    assert message in text_of(answer)
    assert not ActionTaken.objects.of(stage.dairy).exists()
    assert stage.post(stage.cast.maker, "action", text="Chilled").status_code == 302


def test_reading_the_page_writes_nothing(stage: Stage) -> None:
    before = entries(stage.dairy)

    stage.get(stage.cast.owner)

    assert entries(stage.dairy) == before
