"""The page of a day and its signature."""

from typing import Any
from uuid import uuid4

import pytest

from records.checks.services import explain_check
from records.signoff.models import DaySigned, NoProductionDay, NoProductionUndone
from records.signoff.services import sign_day
from safetyplan.establishments.models import Person
from tests.builders import T0, a_reading, at, day_slot, hours
from tests.cast import PASSWORD, Cast, allow_self_review
from tests.records.inspection.browsing import address, as_person, field, words
from tests.records.inspection.story import DAY, LATE, NOT_MADE, TYPO, day_of_the_lot, moved_event

pytestmark = pytest.mark.django_db
EVENING = hours(17)


def open_day(cast: Cast, person: Person, moment: Any = EVENING) -> Any:
    with at(cast.dairy, moment):
        return as_person(person).get(address("day", DAY.isoformat()))


def sign(cast: Cast, person: Person, seen: str, moment: Any = EVENING, **changes: str) -> Any:
    typed = {"uuid": str(uuid4()), "seen": seen, "note": "", "password": PASSWORD, **changes}
    with at(cast.dairy, moment):
        return as_person(person).post(address("day_sign", DAY.isoformat()), typed)


def test_everything_of_the_day_is_shown(working: Cast) -> None:
    day_of_the_lot(working)
    page = words(open_day(working, working.inspector))
    for said in (LATE, TYPO, NOT_MADE, "Late entry", "Corrected", "Void", "Outside the limit", "Explained"):
        assert said in page
    assert "Neither recorded nor explained: none" in page
    assert "Who is who HP Helper Person , Maker MK Maker Person , Maker" in page
    assert "Not signed" in page


def test_a_gap_is_named_with_the_ways_out_and_the_signature_refused(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        a_reading(working, day_slot(T0, "PRP1"), hours(0.4), temperature="3.5")
    late = hours(20)
    response = open_day(working, working.maker, late)
    assert "Neither recorded nor explained: 1" in words(response)
    assert address("check_explain", day_slot(T0, "PRP1", 1)) in response.content.decode()
    seen = field(open_day(working, working.reviewer, late), "seen")
    refused = sign(working, working.reviewer, seen, late, note="All looked at")
    assert refused.status_code == 409
    assert "neither recorded nor explained: PRP1 Cold store" in words(refused)
    assert "All looked at" in refused.content.decode()
    with at(working.dairy, late):
        explain_check(
            establishment=working.dairy, by=working.maker, slot=day_slot(T0, "PRP1", 1), why=NOT_MADE
        )
    seen = field(open_day(working, working.reviewer, late), "seen")
    assert sign(working, working.reviewer, seen, late).status_code == 302


def test_a_reviewer_signs_what_was_on_the_page(working: Cast) -> None:
    day_of_the_lot(working)
    page = open_day(working, working.reviewer)
    assert "None of the records of this day are your own." in words(page)
    assert sign(working, working.reviewer, field(page, "seen")).status_code == 302
    row = DaySigned.objects.of(working.dairy).get()
    assert (row.day, row.signed_name) == (DAY, "Reviewer Person")
    assert "Reviewed the day's records: signed by Reviewer Person" in words(
        open_day(working, working.inspector)
    )


def test_a_day_that_changed_while_it_was_read_is_not_signed(working: Cast) -> None:
    day_of_the_lot(working)
    page = open_day(working, working.reviewer)
    with at(working.dairy, EVENING):
        a_reading(working, day_slot(T0, "PRP1", "extra"), EVENING, temperature="3.9")
        a_reading(
            working,
            day_slot(T0, "PRP1", "extra"),
            hours(12),
            late_reason="Found on a slip of paper",
            temperature="3.9",
        )
    refused = sign(working, working.reviewer, field(page, "seen"))
    assert refused.status_code == 409
    assert "The day has changed since this page was opened." in words(refused)
    assert DaySigned.objects.of(working.dairy).count() == 0
    assert sign(working, working.reviewer, field(refused, "seen")).status_code == 302


def test_a_wrong_password_signs_nothing_and_keeps_the_note(working: Cast) -> None:
    day_of_the_lot(working)
    seen = field(open_day(working, working.reviewer), "seen")
    refused = sign(working, working.reviewer, seen, password="wrong", note="Looked at each sheet")
    assert refused.status_code == 422
    assert "The password does not match. Nothing was signed." in words(refused)
    assert "Looked at each sheet" in refused.content.decode()
    assert DaySigned.objects.of(working.dairy).count() == 0


def test_only_reviewers_sign(working: Cast) -> None:
    day_of_the_lot(working)
    seen = field(open_day(working, working.reviewer), "seen")
    answers = {
        who: sign(working, getattr(working, who), seen).status_code
        for who in ("maker", "inspector", "stranger", "reviewer")
    }
    assert answers == {"maker": 403, "inspector": 403, "stranger": 404, "reviewer": 302}


def test_a_signed_day_that_changed_says_so_loudly_and_wants_a_note(working: Cast) -> None:
    _lot, starter = day_of_the_lot(working)
    with at(working.dairy, EVENING):
        sign_day(establishment=working.dairy, proof=working.proof(working.reviewer), day=DAY)
    assert "NEEDS SIGNING AGAIN" not in words(open_day(working, working.reviewer))
    with at(working.dairy, hours(18)):
        moved_event(working, starter, -10)
    page = open_day(working, working.reviewer, hours(18))
    assert "NEEDS SIGNING AGAIN" in words(page)
    assert "Records made since the signature: 1." in words(page)
    seen = field(page, "seen")
    assert sign(working, working.reviewer, seen, hours(18)).status_code == 422
    assert sign(working, working.reviewer, seen, hours(18), note="Starter time corrected").status_code == 302
    after = words(open_day(working, working.reviewer, hours(18)))
    assert "NEEDS SIGNING AGAIN" not in after
    assert "A later signature replaces this one." in after


def test_ones_own_records_are_counted_and_the_page_says_what_that_means(working: Cast) -> None:
    with at(working.dairy, hours(12)):
        explain_check(
            establishment=working.dairy, by=working.owner, slot=day_slot(T0, "PRP1"), why="Nobody was there"
        )
        a_reading(working, day_slot(T0, "PRP1", 1), hours(12), temperature="3.5")
    page = open_day(working, working.owner)
    assert "1 of the 2 records of this day are your own. You cannot review them" in words(page)
    refused = sign(working, working.owner, field(page, "seen"))
    assert "somebody else has to review them" in words(refused)
    with at(working.dairy, EVENING):
        allow_self_review(working, "Two people only")
    page = open_day(working, working.owner)
    assert "self-review is allowed here (Two people only)" in words(page)
    assert sign(working, working.owner, field(page, "seen")).status_code == 302
    assert "1 of them self-reviewed. Reason: Two people only" in words(open_day(working, working.inspector))


def test_a_day_without_production_is_noted_once_and_a_day_with_a_lot_is_not(working: Cast) -> None:
    client = as_person(working.maker)
    with at(working.dairy, hours(1)):
        first = client.post(
            address("day_no_production", "2026-05-14"), {"why": "Market day", "uuid": str(uuid4())}
        )
        second = client.post(
            address("day_no_production", "2026-05-14"), {"why": "Market day again", "uuid": str(uuid4())}
        )
    assert (first.status_code, second.status_code) == (302, 409)
    assert "This was noted already." in words(second)
    assert NoProductionDay.objects.of(working.dairy).get().reason == "Market day"
    assert "No production on this day. Market day" in words(open_day(working, working.inspector))


def test_where_a_lot_was_started_there_was_production(working: Cast) -> None:
    day_of_the_lot(working)
    with at(working.dairy, EVENING):
        refused = as_person(working.maker).post(
            address("day_no_production", DAY.isoformat()), {"why": "A holiday", "uuid": str(uuid4())}
        )
    assert refused.status_code == 409
    assert "A lot was started on this day." in words(refused)


@pytest.mark.parametrize("text", ["2026-5-14", "20260514", "yesterday", "2026-02-30", "0001-01-01"])
def test_an_address_that_names_no_day_is_not_found(working: Cast, text: str) -> None:
    with at(working.dairy, EVENING):
        assert as_person(working.maker).get(f"/near/days/{text}/").status_code == 404


def test_a_day_links_to_its_neighbours_but_not_to_tomorrow(working: Cast) -> None:
    page = open_day(working, working.maker, hours(5)).content.decode()
    assert address("day", "2026-05-13") in page
    assert address("day", "2026-05-15") not in page
    assert address("day", "2026-05-15") in open_day(working, working.maker, hours(30)).content.decode()


def test_a_signature_sent_twice_is_given_once(working: Cast) -> None:
    day_of_the_lot(working)
    seen, same = field(open_day(working, working.reviewer), "seen"), str(uuid4())
    answers = [sign(working, working.reviewer, seen, uuid=same).status_code for _ in range(2)]
    assert answers == [302, 302]
    assert DaySigned.objects.of(working.dairy).count() == 1


def test_no_make_today_is_one_tap_and_is_taken_back_by_another(working: Cast) -> None:
    client = as_person(working.maker)
    with at(working.dairy, hours(1)):
        before = words(client.get(address("today")))
        assert "No make today" in before
        typed = {"why": "No make today", "from": "today", "uuid": str(uuid4())}
        noted = client.post(address("day_no_production", "2026-05-14"), typed)
        assert (noted.status_code, noted["Location"]) == (302, address("today"))
        page = words(client.get(address("today")))
        assert "Stores and ageing lots stay due." in page
        assert "PRP1 Cold store" in page
        undone = {"why": "Undone", "from": "today", "uuid": str(uuid4())}
        for _ in range(2):  # sent twice, stored once
            back = client.post(address("day_production_undo", "2026-05-14"), undone)
            assert (back.status_code, back["Location"]) == (302, address("today"))
        assert "Stores and ageing lots stay due." not in words(client.get(address("today")))
    assert NoProductionUndone.objects.of(working.dairy).count() == 1
    assert NoProductionDay.objects.of(working.dairy).count() == 1


def test_a_day_taken_back_can_be_noted_anew(working: Cast) -> None:
    client = as_person(working.maker)
    with at(working.dairy, hours(1)):
        for why in ("Market day", "Market day after all"):
            typed = {"why": why, "uuid": str(uuid4())}
            assert client.post(address("day_no_production", "2026-05-14"), typed).status_code == 302
            if why == "Market day":
                undone = {"why": "Milk came", "uuid": str(uuid4())}
                client.post(address("day_production_undo", "2026-05-14"), undone)
    assert "No production on this day. Market day after all" in words(open_day(working, working.inspector))


def test_what_was_not_noted_is_not_taken_back(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        refused = as_person(working.maker).post(
            address("day_production_undo", "2026-05-14"), {"why": "x", "uuid": str(uuid4())}
        )
    assert refused.status_code == 409
    assert NoProductionUndone.objects.of(working.dairy).count() == 0
