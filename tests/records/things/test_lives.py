"""The life of a shared thing: made, corrected, changed, ended; each refusal with its twin that is allowed."""

import pytest

from records.things.models import Thing, ThingChange, ThingEnded
from records.things.queries import changes, life_of, lives, living, recipe_of
from records.things.services import (
    Birth,
    ChangeContent,
    EndContent,
    RecipeLine,
    age,
    change_thing,
    correct_thing,
    end_thing,
    make_thing,
    void_entry,
)
from safetyplan.integrity.refusals import BadInput, NotAllowed, Refused
from safetyplan.integrity.verification import verify
from tests.builders import a_lot, at, hours
from tests.cast import Cast
from tests.records.things.stage import a_thing, life_again, minutes, put_in, tend_a_brine


def test_a_brine_is_made_with_its_recipe_and_the_lot_of_its_salt(working: Cast) -> None:
    with at(working.dairy, hours(0)):
        life = a_thing(working)
    assert recipe_of(life.facts)[0] == {
        "what": "Salt",
        "amount": "40",
        "unit": "kg",
        "ingredient": "S-2211",
    }
    assert life.events == {"made": hours(0)}


@pytest.mark.parametrize(
    ("change", "part"),
    [
        ({"kind": "bathtub"}, "kind"),
        ({"code": ""}, "code"),
        ({"code": "b1"}, "code"),
        ({"name": " "}, "name"),
        ({"begun_at": hours(2)}, "begun_at"),
        ({"begun_at": hours(-9)}, "late_reason"),
        ({"recipe": (RecipeLine("Salt", "much", "kg"),)}, "amount_1"),
        ({"recipe": (RecipeLine("Salt", "4", "bucket"),)}, "amount_1"),
        ({"recipe": (RecipeLine("", "4", "kg"),)}, "what_1"),
        ({"note": "\0"}, "note"),
    ],
)
def test_a_birth_that_cannot_be_is_refused_at_its_field(working: Cast, change: dict, part: str) -> None:
    told = {"kind": "brine", "code": "B2", "name": "Second brine", "begun_at": hours(0)}
    with at(working.dairy, hours(0)):
        a_thing(working, code="B1")
        with pytest.raises(BadInput) as refused:
            make_thing(establishment=working.dairy, by=working.maker, birth=Birth(**{**told, **change}))
        assert refused.value.part == part
        made = make_thing(establishment=working.dairy, by=working.maker, birth=Birth(**told))
    assert made.code == "B2"


def test_only_people_who_write_records_make_things(working: Cast) -> None:
    birth = Birth("room", "C2", "Cave 2", hours(0))
    with at(working.dairy, hours(0)):
        with pytest.raises(NotAllowed):
            make_thing(establishment=working.dairy, by=working.inspector, birth=birth)
        make_thing(establishment=working.dairy, by=working.reviewer, birth=birth)
    assert [life.code for life in lives(working.dairy, kind="room")] == ["C2"]


def test_a_corrected_birth_keeps_its_key_and_its_first_values(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        life = a_thing(working, begun=hours(0.9))
        birth = Birth("brine", "", "Renamed", hours(0.5))
        correct_thing(establishment=working.dairy, by=working.maker, life=life, birth=birth, why="Earlier")
    again = life_of(working.dairy, life.id)
    assert again is not None
    assert (again.id, again.begun_at, again.title) == (life.id, hours(0.5), "B1 Renamed")
    first = Thing.objects.of(working.dairy).get(pk=life.id)
    assert (first.begun_at, first.name) == (hours(0.9), "The brine")


def test_a_birth_is_not_moved_behind_what_was_done_since(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        life = a_thing(working, begun=hours(0.5))
        done = ChangeContent("salt", hours(0.6), "2", "kg")
        change_thing(establishment=working.dairy, by=working.maker, life=life, content=done)
        about = {"establishment": working.dairy, "by": working.maker, "life": life, "why": "Wrong line"}
        with pytest.raises(BadInput, match="before this time"):
            correct_thing(birth=Birth("brine", "", "The brine", hours(0.7)), **about)
        moved = correct_thing(birth=Birth("brine", "", "The brine", hours(0.6)), **about)
    assert moved.begun_at == hours(0.6)


def test_something_else_done_is_said_in_words(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        about = {
            "establishment": working.dairy,
            "by": working.maker,
            "life": a_thing(working, begun=hours(0.8)),
        }
        with pytest.raises(BadInput) as refused:
            change_thing(content=ChangeContent("other", hours(1)), **about)
        change_thing(content=ChangeContent("other", hours(1), note="Lid mended"), **about)
    assert refused.value.part == "note"


@pytest.mark.parametrize("when", [hours(0.7), hours(3.5)])
def test_nothing_is_done_to_a_thing_outside_its_life(working: Cast, when: object) -> None:
    with at(working.dairy, hours(1)):
        life = a_thing(working, begun=hours(0.8))
    with at(working.dairy, hours(3)):
        about = {"establishment": working.dairy, "by": working.maker, "life": life}
        end_thing(content=EndContent("dumped", hours(3), "Old"), **about)
    with at(working.dairy, hours(4)):
        with pytest.raises(BadInput) as refused:
            change_thing(content=ChangeContent("skimmed", when, late_reason="Forgotten"), **about)
        change_thing(content=ChangeContent("skimmed", hours(2), late_reason="Forgotten"), **about)
    assert refused.value.part == "done_at"


def test_a_corrected_change_stays_readable_and_is_corrected_once(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        about = {
            "establishment": working.dairy,
            "by": working.maker,
            "life": a_thing(working, begun=hours(0.8)),
        }
        first = change_thing(content=ChangeContent("salt", hours(1), "2", "kg"), **about)
        more = ChangeContent("salt", hours(1), "3", "kg")
        with pytest.raises(BadInput):
            change_thing(content=more, supersedes=first, why="", **about)
        change_thing(content=more, supersedes=first, why="Weighed again", **about)
        with pytest.raises(Refused, match="already corrected"):
            change_thing(content=more, supersedes=first, why="Weighed again", **about)
    life = about["life"]
    assert [row.amount_text for row in changes(working.dairy, life.id)] == ["2", "3"]  # type: ignore[attr-defined]


def test_an_end_gives_its_reason_and_comes_once(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        about = {
            "establishment": working.dairy,
            "by": working.maker,
            "life": a_thing(working, begun=hours(0.8)),
        }
        with pytest.raises(BadInput) as refused:
            end_thing(content=EndContent("dumped", hours(1), ""), **about)
        end_thing(content=EndContent("dumped", hours(1), "Too old", "Poured away"), **about)
        with pytest.raises(Refused, match="ended already"):
            end_thing(content=EndContent("dumped", hours(1), "Too old"), **about)
    assert refused.value.part == "why"


def test_a_voided_end_gives_the_thing_its_life_back(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        about = {"establishment": working.dairy, "by": working.maker}
        life = a_thing(working, begun=hours(0.8))
        ended = end_thing(life=life, content=EndContent("retired", hours(1), "Wrong room"), **about)
        assert life_again(working, life).ended_at == hours(1)
        void_entry(row=ended, why="It was cave 3", **about)
        assert life_again(working, life).ended_at is None
        end_thing(life=life, content=EndContent("retired", hours(1), "Closed now"), **about)
    assert ThingEnded.objects.of(working.dairy).count() == 3


def test_a_voided_change_is_kept_and_voided_once(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        about = {"establishment": working.dairy, "by": working.maker}
        life = a_thing(working, begun=hours(0.8))
        row = change_thing(life=life, content=ChangeContent("filtered", hours(1)), **about)
        void_entry(row=row, why="It was the other tank", **about)
        with pytest.raises(Refused):
            void_entry(row=row, why="It was the other tank", **about)
    assert ThingChange.objects.of(working.dairy).count() == 2


def test_things_of_a_time_are_those_that_were_there(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        about = {"establishment": working.dairy, "by": working.maker}
        old = a_thing(working, "preparation", "W1", hours(0.8))
        end_thing(life=old, content=EndContent("used_up", hours(1), "Gone"), **about)
        a_thing(working, "preparation", "W2", hours(1))
    assert [life.code for life in living(working.dairy, hours(0), hours(1))] == ["W1"]
    assert [life.code for life in living(working.dairy, hours(1), hours(2))] == ["W2"]
    assert [life.code for life in living(working.dairy, hours(0.9), hours(2))] == ["W2", "W1"]


def test_the_age_of_a_thing_stops_with_its_end(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        life = a_thing(working, begun=hours(0.8))
        assert age(life, hours(1)) == minutes(12)
        content = EndContent("dumped", hours(1), "Old")
        end_thing(establishment=working.dairy, by=working.maker, life=life, content=content)
    assert age(life_again(working, life), hours(30)) == minutes(12)


def test_a_thing_is_not_ended_before_its_last_use(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        life, lot = a_thing(working, begun=hours(0.8)), a_lot(working, started=hours(0.9))
        put_in(working, life, lot, start=hours(0.95))
        about = {"establishment": working.dairy, "by": working.maker, "life": life}
        with pytest.raises(BadInput, match="TF-0514"):
            end_thing(content=EndContent("dumped", hours(0.9), "Old"), **about)
        end_thing(content=EndContent("dumped", hours(1), "Old"), **about)
    assert life_again(working, life).ended_at == hours(1)


def test_the_whole_life_of_a_brine_verifies(working: Cast) -> None:
    with at(working.dairy, hours(26)):
        lot = a_lot(working, started=hours(25.9))
    tend_a_brine(working, lot)
    assert list(verify(working.dairy)) == []
