"""Links between lots: never in a circle, never more than there is; what is open on one shows on the other."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from records.batches.models import Lot
from records.deviations.disposing import Line, dispose
from records.deviations.models import Disposition
from records.deviations.queries import open_deviations
from records.links.models import LotLink
from records.links.queries import (
    linked_deviations,
    links,
    lots_after,
    lots_before,
    mass_left,
    rework_left,
    volume_left,
)
from records.links.services import LinkContent, correct_link, withdraw_link
from records.signoff.release import balance, hindrances, release_lot
from safetyplan.integrity import clock
from safetyplan.integrity.refusals import BadInput, NotAllowed, Refused
from tests.builders import HOLD_PARTS, a_link, a_lot, a_reading, an_event, at, hours, lot_slot
from tests.cast import Cast
from tests.records.deviations.stage import Stage, cold_vat, slow_vat
from tests.safetyplan.integrity.every_kind import rolled_back


def lots_of(cast: Cast, count: int) -> list[Lot]:
    """Start some lots of 212 litres each."""
    return [a_lot(cast, f"TF-{number}") for number in range(count)]


def packed(cast: Cast, code: str, pieces: str = "100", mass: str = "12") -> Lot:
    """Make a lot that was counted."""
    lot = a_lot(cast, code)
    an_event(cast, lot, "packed", clock.now(cast.dairy), pieces=pieces, mass=mass)
    return lot


def test_whey_of_one_lot_goes_into_another_and_both_know(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        cheese, ricotta = lots_of(working, 2)

        a_link(working, cheese, ricotta, hours(0.5), "180")

    assert lots_after(working.dairy, [cheese.pk]) == {ricotta.pk}
    assert lots_before(working.dairy, [ricotta.pk]) == {cheese.pk}
    assert volume_left(working.dairy, cheese) == 32


@pytest.mark.parametrize(("typed", "left"), [("212", "0"), ("212.5", "212"), ("300", "212")])
def test_no_more_whey_goes_over_than_there_was_milk(working: Cast, typed: str, left: str) -> None:
    with at(working.dairy, hours(0.5)):
        cheese, ricotta = lots_of(working, 2)
        if left == "0":
            a_link(working, cheese, ricotta, hours(0.5), typed)
            assert volume_left(working.dairy, cheese) == 0
            return

        with pytest.raises(BadInput) as refused:
            a_link(working, cheese, ricotta, hours(0.5), typed)

    assert (refused.value.part, str(refused.value)) == ("quantity", f"There is no more than {left} L of it.")


def test_what_went_over_before_counts(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        cheese, first, second = lots_of(working, 3)
        a_link(working, cheese, first, hours(0.5), "200")

        with pytest.raises(BadInput, match="no more than 12 L"):
            a_link(working, cheese, second, hours(0.5), "13")
        a_link(working, cheese, second, hours(0.5), "12")


def test_a_lot_never_goes_into_itself_or_in_a_circle(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        first, second, third = lots_of(working, 3)
        a_link(working, first, second, hours(0.5), "10")
        a_link(working, second, third, hours(0.5), "10")

        for source, target in ((first, first), (third, first), (second, first)):
            with pytest.raises(BadInput) as refused:
                a_link(working, source, target, hours(0.5), "1")
            assert refused.value.part == "other"
        a_link(working, first, third, hours(0.5), "1")


@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_links_close_no_circle_and_give_no_more_than_there_is(working: Cast, data: st.DataObject) -> None:
    with rolled_back(), at(working.dairy, hours(0.5)):
        lots = lots_of(working, 4)
        for _number in range(data.draw(st.integers(3, 9))):
            source, target = data.draw(st.sampled_from(lots)), data.draw(st.sampled_from(lots))
            quantity = str(data.draw(st.integers(1, 150)))
            try:
                a_link(working, source, target, hours(0.5), quantity)
            except BadInput:
                continue
        kept = [(link.from_lot_id, link.to_lot_id, int(link.quantity_text)) for link in links(working.dairy)]

    order: list[object] = []
    rest = {lot.pk for lot in lots}
    while rest:  # sorted by repeatedly taking out what nothing goes into: possible only without a circle
        free = {lot for lot in rest if not any(t == lot and s in rest for s, t, _q in kept)}
        assert free, "a circle"
        order += free
        rest -= free
    assert all(sum(q for s, _t, q in kept if s == lot.pk) <= 212 for lot in lots)


@pytest.mark.parametrize(
    ("changes", "part", "words"),
    [
        ({"quantity": ""}, "quantity", ""),
        ({"quantity": "-3"}, "quantity", ""),
        ({"quantity": "0"}, "quantity", "Say how much went over."),
        ({"quantity": "a lot"}, "quantity", ""),
        ({"kind": "butter"}, "kind", "Choose what went over."),
        ({"pieces": "3"}, "pieces", "Milk and whey have no pieces."),
        ({"linked": hours(-1)}, "linked_at", "This is before both lots were started."),
        ({"linked": hours(3)}, "linked_at", "This time lies in the future."),
    ],
)
def test_a_link_that_cannot_be_is_refused_by_its_field(
    working: Cast, changes: dict[str, object], part: str, words: str
) -> None:
    said = {"linked": hours(0.5), "quantity": "10", **changes}
    with at(working.dairy, hours(0.5)):
        cheese, ricotta = lots_of(working, 2)

        with pytest.raises(BadInput) as refused:
            a_link(working, cheese, ricotta, **said)  # type: ignore[arg-type]

    assert refused.value.part == part
    assert words in str(refused.value)
    assert not LotLink.objects.of(working.dairy).exists()


def test_only_makers_and_the_responsible_person_link_lots(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        cheese, ricotta = lots_of(working, 2)
        link = a_link(working, cheese, ricotta, hours(0.5), "10")

        with pytest.raises(NotAllowed):
            withdraw_link(establishment=working.dairy, by=working.reviewer, original=link, why="Not so")
        withdraw_link(establishment=working.dairy, by=working.owner, original=link, why="Not so")


def test_a_correction_frees_what_it_replaces_and_the_first_stays(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        cheese, ricotta = lots_of(working, 2)
        link = a_link(working, cheese, ricotta, hours(0.5), "200")
        right = LinkContent("whey", "210", hours(0.5))
        about = {"establishment": working.dairy, "by": working.maker, "original": link, "content": right}

        correct_link(why="Read from the wrong tank", **about)

        assert volume_left(working.dairy, cheese) == 2
        assert [
            row.quantity_text for row in LotLink.objects.of(working.dairy).order_by("entry__sequence")
        ] == [
            "200",
            "210",
        ]
        with pytest.raises(Refused, match="already corrected"):
            correct_link(why="Once more", **about)


def test_a_withdrawn_link_ties_nothing(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        cheese, ricotta = lots_of(working, 2)
        link = a_link(working, cheese, ricotta, hours(0.5), "200")
        about = {"establishment": working.dairy, "by": working.maker, "original": link}
        with pytest.raises(BadInput):
            withdraw_link(why="", **about)

        void = withdraw_link(why="It went to the pigs", **about)

        assert volume_left(working.dairy, cheese) == 212
        assert lots_after(working.dairy, [cheese.pk]) == set()
        with pytest.raises(Refused, match="withdrawn"):
            withdraw_link(why="Again", **{**about, "original": void})


def test_what_is_blended_in_leaves_the_balance_of_its_lot(working: Cast) -> None:
    with at(working.dairy, hours(0.4)):
        source, target = packed(working, "TF-1"), packed(working, "TF-2")
        with pytest.raises(BadInput, match="no more than 12 kg"):
            a_link(working, source, target, hours(0.4), "12.1", kind="blended")
        with pytest.raises(BadInput, match="no more than 100 of it"):
            a_link(working, source, target, hours(0.4), "1", kind="blended", pieces="101")

        a_link(working, source, target, hours(0.4), "2.4", kind="blended", pieces="20")

    found = balance(working.dairy, source)
    assert found.here is not None
    assert (found.here.pieces, str(found.here.mass)) == (80, "9.6")
    assert found.releasable.pieces == 80


def test_a_lot_that_was_not_counted_has_nothing_to_give(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        source, target = lots_of(working, 2)
        with pytest.raises(Refused, match="not recorded yet"):
            a_link(working, source, target, hours(0.5), "1", kind="blended")
    assert mass_left(working.dairy, source) is None


# Holds and deviations ------------------------------------------------------------------------------


def test_what_is_open_on_either_lot_is_asked_about_before_the_link(working: Cast) -> None:
    stage = slow_vat(working)
    with at(working.dairy, hours(27)):
        ricotta = a_lot(working, "TF-W", started=hours(26.9))
        with pytest.raises(BadInput) as refused:
            a_link(working, ricotta, stage.lot, hours(27), "10")
        assert refused.value.part == "known"
        assert f"{stage.deviation.number}: " in str(refused.value)

        link = a_link(working, ricotta, stage.lot, hours(27), "10", known=True)

    assert link.known == f"[{stage.deviation.number}]"


def test_whey_of_a_lot_on_hold_opens_a_deviation_of_the_lot_that_received_it(working: Cast) -> None:
    stage = slow_vat(working)
    with at(working.dairy, hours(27)):
        ricotta = a_lot(working, "TF-W", started=hours(26.9))

        a_link(working, stage.lot, ricotta, hours(27), "100", known=True)

    opened = open_deviations(working.dairy).get(lot=ricotta)
    assert opened.hold_required
    assert "on hold by deviation" in opened.description


def test_a_later_deviation_shows_on_the_lot_made_of_it_and_keeps_it_from_release(working: Cast) -> None:
    with at(working.dairy, hours(2)):
        ricotta = a_lot(working, "TF-W", started=hours(1.9))
    before_hindrances = hindrances(working.dairy, ricotta, hours(27))
    stage = _slow_vat_whose_whey_went_into(working, ricotta)

    [linked] = linked_deviations(working.dairy, ricotta)
    assert (linked.state.deviation.pk, linked.before) == (stage.deviation.pk, True)
    added = set(hindrances(working.dairy, ricotta, hours(27))) - set(before_hindrances)
    assert any(stage.lot.code in fault for fault in added)


def _slow_vat_whose_whey_went_into(cast: Cast, ricotta: Lot) -> Stage:
    with at(cast.dairy, hours(2)):
        lot = a_lot(cast, started=hours(1.9))
        a_link(cast, lot, ricotta, hours(2), "100")
        an_event(cast, lot, "starter_added", hours(2))
    with at(cast.dairy, hours(26)):
        found = a_reading(cast, lot_slot(lot, "CCP2"), hours(26), ph="4.71")
    assert found.deviation is not None
    return Stage(cast, lot, found.deviation)


def test_a_deviation_of_the_lot_made_of_it_shows_on_the_first_one(working: Cast) -> None:
    with at(working.dairy, hours(1.5)):
        milk = a_lot(working, "TF-M", started=hours(1.4))
    stage = slow_vat(working)
    with at(working.dairy, hours(27)):
        a_link(working, milk, stage.lot, hours(27), "10", known=True)

    [linked] = linked_deviations(working.dairy, milk)
    assert (linked.state.deviation.pk, linked.before) == (stage.deviation.pk, False)


def reworked(stage: Stage, method: str) -> Disposition:
    """Hold, evaluate and give a part of a lot to rework."""
    stage.hold()
    stage.evaluate()
    with at(stage.dairy, hours(27)):
        return dispose(
            establishment=stage.dairy,
            proof=stage.cast.proof(stage.cast.owner),
            deviation=stage.deviation,
            lines=[Line("rework", "100", "12", method=method), Line("destroy", "180", "21.6")],
        )


def test_held_product_goes_on_only_as_its_disposition_says(working: Cast) -> None:
    stage = cold_vat(working)
    with at(working.dairy, hours(27)):
        target = a_lot(working, "TF-R", started=hours(26.9))
        with pytest.raises(Refused, match="only what a disposition gives to rework"):
            a_link(working, stage.lot, target, hours(27), "12", kind="rework", known=True)
    allowed = reworked(stage, "heat")
    about = {"kind": "rework", "known": True, "disposition": allowed}
    with at(working.dairy, hours(27)):
        with pytest.raises(BadInput, match="no more than 12 kg"):
            a_link(working, stage.lot, target, hours(27), "12.5", **about)
        with pytest.raises(BadInput, match="does not allow it"):
            a_link(working, stage.lot, target, hours(27), "1", **{**about, "kind": "blended"})

        a_link(working, stage.lot, target, hours(27), "12", pieces="100", **about)

    assert (rework_left(working.dairy, allowed).pieces, rework_left(working.dairy, allowed).mass) == (0, 0)


def test_a_slow_vat_is_never_reworked_by_heat(working: Cast) -> None:
    stage = slow_vat(working)

    with pytest.raises(Refused, match="heating does not remove"):
        reworked(stage, "heat")
    assert not Disposition.objects.of(working.dairy).exists()


def test_a_disposition_of_another_lot_allows_nothing(working: Cast) -> None:
    first, second = cold_vat(working, "TF-1"), cold_vat(working, "TF-2")
    allowed = reworked(first, "heat")
    with at(working.dairy, hours(27)):
        target = a_lot(working, "TF-R", started=hours(26.9))
        with pytest.raises(BadInput, match="does not allow it"):
            a_link(
                working, second.lot, target, hours(27), "1", kind="rework", known=True, disposition=allowed
            )


def a_good_lot(cast: Cast, code: str) -> Lot:
    """Make a lot of which every critical control point is shown, counted at 27 hours."""
    with at(cast.dairy, hours(0.1)):
        lot = a_lot(cast, code)
    with at(cast.dairy, hours(2)):
        a_reading(cast, lot_slot(lot, "CCP1"), hours(1.6), **HOLD_PARTS)
        an_event(cast, lot, "starter_added", hours(2))
    with at(cast.dairy, hours(26)):
        a_reading(cast, lot_slot(lot, "CCP2"), hours(26), ph="4.5")
    with at(cast.dairy, hours(27)):
        an_event(cast, lot, "packed", hours(27), pieces="100", mass="12")
    return lot


def test_release_asks_about_what_is_open_on_lots_made_with_this_one(working: Cast) -> None:
    good = a_good_lot(working, "TF-M")
    stage = slow_vat(working)
    with at(working.dairy, hours(28)):
        a_link(working, good, stage.lot, hours(28), "10", known=True)
        about = {"establishment": working.dairy, "lot": good, "pieces": "100", "mass_typed": "12"}
        with pytest.raises(BadInput) as refused:
            release_lot(proof=working.proof(working.owner), **about)
        assert refused.value.part == "note"
        assert stage.lot.code in str(refused.value)

        release_lot(proof=working.proof(working.owner), note="Only the room was cold", **about)
