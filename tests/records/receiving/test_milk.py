"""Loads of milk: what is recorded, what is refused, what has to be answered first."""

from datetime import UTC, date, datetime, timedelta

import pytest

from records.checks.receipts import take_load
from records.deviations.queries import deviations, states
from records.receiving.known import known
from records.receiving.models import MilkLoad, MilkRefused, TreatedAnimal
from records.receiving.queries import balance_of, load_of, load_records
from records.receiving.refusing import (
    NoticeContent,
    correct_refusal,
    note_authority,
    refuse_milk,
)
from records.receiving.reminders import reminders
from records.receiving.services import correct_load, void_load
from records.receiving.supplier_services import (
    CertificateContent,
    TreatmentContent,
    end_treatment,
    note_treatment,
    save_certificate,
    set_approval,
)
from records.receiving.tables import age_words
from safetyplan.calculation.typed import TypedRefusal
from safetyplan.integrity import clock
from safetyplan.integrity.refusals import BadInput, NotAllowed, Refused
from safetyplan.integrity.verification import verify
from tests.builders import hours
from tests.records.receiving.stage import Dairy, refusal

pytestmark = pytest.mark.django_db


def test_the_oldest_milking_counts_for_the_age(door: Dairy) -> None:
    with door.at(0):
        load = door.load(milkings=[hours(-1), hours(-13), hours(-1)])

    assert load.milked_at == hours(-13)
    assert age_words(load) == "13 h 00 min"
    assert not list(verify(door.cast.dairy))


def test_an_age_of_two_days_and_more_is_told_in_days(door: Dairy) -> None:
    with door.at(0):
        load = door.load(milkings=[hours(-49.5)])

    assert age_words(load) == "2 days 1 h"


@pytest.mark.parametrize(
    ("changes", "part"),
    [
        ({"milkings": []}, "milking_1"),
        ({"milkings": [hours(0.1)]}, "milking_1"),
        ({"milkings": [hours(-24 * 15)]}, "milking_1"),
        ({"milkings": [hours(-n) for n in range(1, 15)]}, "milking_1"),
        ({"species": "unicorn"}, "species"),
        ({"volume": "0"}, "volume"),
        ({"volume": "-3"}, "volume"),
        ({"code": " "}, "code"),
        ({"received_at": hours(-3), "milkings": [hours(-4)], "late_reason": ""}, "late_reason"),
        ({"received_at": hours(1)}, "received_at"),
    ],
)
def test_a_receipt_that_cannot_be_is_refused_at_its_field(
    door: Dairy, changes: dict[str, object], part: str
) -> None:
    with door.at(0):
        with pytest.raises((Refused, TypedRefusal)) as caught:
            door.take(**changes)
        door.take()

    assert getattr(caught.value, "part", part) == part
    assert MilkLoad.objects.of(door.cast.dairy).count() == 1


def test_a_late_receipt_is_taken_with_its_reason(door: Dairy) -> None:
    with door.at(0):
        load = door.load(received_at=hours(-3), milkings=[hours(-4)], late_reason="Phone was flat")

    assert load.late
    assert load.late_reason == "Phone was flat"


def test_a_number_that_looks_like_another_is_refused(door: Dairy) -> None:
    with door.at(0):
        door.load("M-10")
        with pytest.raises(BadInput) as caught:
            door.load("m-1O")
        door.load("M-11")

    assert caught.value.part == "code"


def test_only_a_maker_receives_milk(door: Dairy) -> None:
    with door.at(0):
        with pytest.raises(NotAllowed):
            take_load(establishment=door.cast.dairy, by=door.cast.inspector, content=door.content())
        door.load()


def test_used_refused_and_left_are_what_was_received(door: Dairy) -> None:
    with door.at(0.5):
        load = door.load(received_at=hours(0))
        door.fill(door.lot(), load, "120")
        refuse_milk(load=load, content=refusal(0.4, "80"), **door.about)
        found = balance_of(door.cast.dairy, load)

    assert (found.received, found.used, found.refused, found.left) == (300, 120, 80, 100)


def test_no_more_than_is_left_is_used_or_refused(door: Dairy) -> None:
    with door.at(0.5):
        load, lot = door.load(received_at=hours(0)), door.lot()
        door.fill(lot, load, "200")
        with pytest.raises(BadInput, match="100 L are left"):
            refuse_milk(load=load, content=refusal(0.4, "100.5"), **door.about)
        with pytest.raises(BadInput, match="100 L are left"):
            door.fill(door.lot("TF-2"), load, "101")
        refuse_milk(load=load, content=refusal(0.4, "100"), **door.about)
        found = balance_of(door.cast.dairy, load)

    assert found.left == 0


def test_a_refused_load_cannot_go_into_a_vat(door: Dairy) -> None:
    with door.at(0.5):
        load, lot = door.load(refusal=refusal(0)), door.lot()
        with pytest.raises(Refused, match="was refused"):
            door.fill(lot, load, "1")
        door.fill(lot, door.load("M-2", received_at=hours(0.1)), "1")

    assert balance_of(door.cast.dairy, load).wholly_refused


def test_a_corrected_refusal_keeps_the_first_and_frees_the_milk(door: Dairy) -> None:
    with door.at(0.5):
        load = door.load(received_at=hours(0))
        first = refuse_milk(load=load, content=refusal(0.4), **door.about)
        again = correct_refusal(
            original=first, content=refusal(0.4, "50"), why="Only one can of it", **door.about
        )
        with pytest.raises(Refused, match="already corrected"):
            correct_refusal(original=first, content=refusal(0.4, "60"), why="Once more", **door.about)

    assert balance_of(door.cast.dairy, load).left == 250
    assert MilkRefused.objects.of(door.cast.dairy).count() == 2
    assert again.supersedes == first


def test_a_corrected_receipt_keeps_the_first_and_the_load(door: Dairy) -> None:
    with door.at(0.5):
        load = door.load(received_at=hours(0))
        content = door.content(received_at=hours(0), volume="290")
        newest = correct_load(load=load, content=content, why="Dipstick misread", **door.about)
        with pytest.raises(Refused, match="already corrected"):
            correct_load(load=load, content=content, why="Once more", **door.about)

    assert load_of(door.cast.dairy, load.pk) == newest
    assert [row.volume_text for row in load_records(door.cast.dairy, load.pk)] == ["300", "290"]
    assert newest.identity == load.pk


def test_a_correction_never_says_that_less_came_than_was_used(door: Dairy) -> None:
    with door.at(0.5):
        load = door.load(received_at=hours(0))
        door.fill(door.lot(), load, "200")
        with pytest.raises(BadInput, match="200 L"):
            correct_load(load=load, content=door.content(volume="199"), why="Misread", **door.about)
        correct_load(load=load, content=door.content(volume="200"), why="Misread", **door.about)


def test_a_receipt_is_void_only_while_nothing_of_it_was_used(door: Dairy) -> None:
    with door.at(0.5):
        used, unused = door.load(received_at=hours(0)), door.load("M-2", received_at=hours(0))
        door.fill(door.lot(), used, "200")
        with pytest.raises(Refused, match="put those records right first"):
            void_load(load=used, why="Wrong day", **door.about)
        void_load(load=unused, why="Entered twice", **door.about)
        with pytest.raises(BadInput, match="not known"):
            door.fill(door.lot("TF-2"), unused, "1")

    assert balance_of(door.cast.dairy, load_of(door.cast.dairy, unused.pk)).left == 0  # type: ignore[arg-type]


def test_a_supplier_that_nobody_approved_is_answered_for(door: Dairy) -> None:
    with door.at(0):
        _stands(door, "approved", valid_until=date(2026, 5, 14))
    with door.at(24):
        late = {"received_at": hours(24), "milkings": [hours(20)]}
        with pytest.raises(BadInput, match="approval ended on 2026-05-14") as caught:
            door.take(**late)
        with pytest.raises(BadInput, match="Name the person"):
            door.take(statements={"not_approved": "accepted"}, **late)
        load = door.load(statements={"not_approved": "accepted"}, accepted_by="A. Owner", **late)

    assert caught.value.part == "not_approved"
    assert load.said()[0]["by"] == "A. Owner"


def test_a_suspended_supplier_is_refused_or_deviates(door: Dairy) -> None:
    with door.at(0):
        _stands(door, "suspended")
        with pytest.raises(BadInput, match="is suspended"):
            door.take()
        with pytest.raises(BadInput, match="what becomes of the milk"):
            door.take(statements={"suspended": "refused"})
        refused = door.take(statements={"suspended": "refused"}, refusal=refusal(0, "10"))
        taken = door.take("M-2", statements={"suspended": "taken"})

    assert refused.deviations == []
    assert balance_of(door.cast.dairy, refused.load).wholly_refused
    assert [d.cause for d in taken.deviations] == ["unforeseen"]


def test_a_treated_animal_is_answered_for_while_its_milk_stays_out(door: Dairy) -> None:
    with door.at(0):
        treated = _treat(door, last=hours(-30), until=hours(-5))
        with pytest.raises(BadInput, match="animal No") as caught:
            door.take()
        load = door.load(statements={f"treated_{treated.pk}": "kept_out"})
        mixed = door.take("M-2", statements={f"treated_{treated.pk}": "in_milk"})
        later = door.take("M-3", milkings=[hours(-4)])

    assert caught.value.part == f"treated_{treated.pk}"
    assert load.said()[0]["said"] == "kept_out"
    assert len(mixed.deviations) == 1
    assert later.load.said() == []


def test_milk_comes_in_earlier_only_with_a_reason_of_a_qualified_person(door: Dairy) -> None:
    with door.at(0):
        treated = _treat(door, last=hours(-30), until=hours(30))
        with pytest.raises(NotAllowed):
            end_treatment(original=treated, why="It looks well", **door.about)
        owner = {"establishment": door.cast.dairy, "by": door.cast.owner}
        with pytest.raises(BadInput, match="reason"):
            end_treatment(original=treated, why=" ", **owner)
        end_treatment(original=treated, why="Tested negative by the laboratory", **owner)
    with door.at(2):
        door.take(hour=2, milkings=[hours(1)])


def test_an_expired_certificate_is_answered_for_until_a_new_one_comes(door: Dairy) -> None:
    with door.at(0):
        _certify(door, date(2026, 5, 13))
        with pytest.raises(BadInput, match="expired on 2026-05-13"):
            door.take()
        _certify(door, date(2027, 5, 13))
        load = door.load()

    assert load.said() == []


def test_what_runs_out_is_reminded_of(door: Dairy) -> None:
    with door.at(0):
        _certify(door, date(2026, 5, 13))
        _certify(door, date(2026, 6, 1), name="Tuberculosis")
        _certify(door, date(2026, 8, 1), name="Leukosis")
        _treat(door, last=hours(-30), until=hours(3))
        found = reminders(door.cast.dairy, known(door.cast.dairy), clock.now(door.cast.dairy))

    assert [one.mark for one in found] == ["overdue", "hold", "due"]
    assert "expired on 2026-05-13" in found[0].text


def test_the_authority_is_waited_for_until_it_was_told(door: Dairy) -> None:
    with door.at(1):
        load = door.load(received_at=hours(0), late_reason="Busy", refusal=refusal(0, late_reason="Busy"))
        asked = NoticeContent("Food authority", "The notice of the district", hours(2))
        notice = note_authority(load=load, content=asked, **door.about)
    with door.at(3):
        before = reminders(door.cast.dairy, known(door.cast.dairy), hours(3))
        told = NoticeContent("Food authority", "The notice of the district", hours(2), hours(2.9), "R 7")
        with pytest.raises(BadInput, match="reason"):
            note_authority(load=load, content=told, supersedes=notice, **door.about)
        note_authority(load=load, content=told, supersedes=notice, why="Told by telephone", **door.about)
        after = reminders(door.cast.dairy, known(door.cast.dairy), hours(3))

    assert [one.mark for one in before] == ["overdue"]
    assert after == []


def test_a_positive_test_that_the_plan_does_not_ask_for_deviates_all_the_same(door: Dairy) -> None:
    with door.at(0):
        taken = door.take(details={"inhibitor": "positive"})
        good = door.take("M-2", details={"inhibitor": "negative"})

    assert [d.slot for d in taken.deviations] == [f"load:{taken.load.pk}::0"]
    assert good.deviations == []
    assert deviations(door.cast.dairy).count() == 1


def _stands(door: Dairy, status: str, **more: object) -> None:
    set_approval(
        establishment=door.cast.dairy,
        by=door.cast.owner,
        supplier=door.supplier,
        status=status,
        why="As the visit showed",
        **more,  # type: ignore[arg-type]
    )


def _treat(door: Dairy, *, last: datetime, until: datetime) -> TreatedAnimal:
    content = TreatmentContent("No. 12", "Antibiotic", last, until)
    return note_treatment(herd=door.herd, content=content, **door.about)


def _certify(door: Dairy, until: date, name: str = "Brucellosis") -> None:
    content = CertificateContent(name, until, "BR 7", herd=door.herd)
    save_certificate(supplier=door.supplier, content=content, **door.about)


def test_the_day_of_an_expiry_still_holds(door: Dairy) -> None:
    assert hours(0) == datetime(2026, 5, 14, 7, tzinfo=UTC)
    with door.at(0):
        _certify(door, date(2026, 5, 14))
        door.load()
    with door.at(24), pytest.raises(BadInput, match="expired"):
        door.take("M-2", 24, milkings=[hours(24) - timedelta(hours=2)])


# Refused at the door: the refusal is the disposition ---------------------------------------------------


def missing_of(door: Dairy) -> list[str]:
    """Give what the only deviation still lacks."""
    (state,) = states(door.cast.dairy, deviations(door.cast.dairy))
    return state.missing()


@pytest.mark.parametrize(
    ("volume", "still"),
    [("", ["action", "cause"]), ("290", ["hold", "action", "cause", "evaluation", "disposition"])],
    ids=["of which nothing was taken", "of which a part was kept"],
)
def test_a_warm_load_asks_for_no_hold_once_it_was_refused(door: Dairy, volume: str, still: list[str]) -> None:
    with door.at(0.5):
        load = door.load(received_at=hours(0))
        door.read(load, "OPRP4", 0.2, temperature="8.4")
        assert missing_of(door) == ["hold", "action", "cause", "evaluation", "disposition"]

        refuse_milk(load=load, content=refusal(0.4, volume), **door.about)

    assert missing_of(door) == still
    assert verify(door.cast.dairy) == []


def test_a_refusal_corrected_to_a_part_asks_for_the_hold_again(door: Dairy) -> None:
    with door.at(0.5):
        load = door.load(received_at=hours(0))
        door.read(load, "OPRP4", 0.2, temperature="8.4")
        first = refuse_milk(load=load, content=refusal(0.4), **door.about)
        correct_refusal(original=first, content=refusal(0.4, "100"), why="Only one can", **door.about)
    assert "hold" in missing_of(door)
