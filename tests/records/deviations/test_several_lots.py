"""A deviation that concerns several lots: each is held, disposed of and counted by itself."""

from decimal import Decimal

import pytest
from django.db import connection
from django.urls import reverse

from records.batches.models import Lot
from records.batches.queries import Quantity
from records.deviations import kinds
from records.deviations.disposing import Line
from records.deviations.models import AffectedLot, HoldConfirmed, RecallDecision
from records.deviations.queries import open_for_control
from records.deviations.services import add_affected_lot
from records.inspection.services import issue_print
from records.signoff.release import balance, dispatch_lot, hindrances, release_lot
from safetyplan.integrity import guards, index, ledger
from safetyplan.integrity.kinds import register
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.verification import verify
from tests.builders import a_lot, at, hours
from tests.cast import Cast
from tests.records.deviations.lots_stage import CODES, Several, several, sold, three_lots
from tests.records.deviations.stage import signature, slow_vat
from tests.remembering import told_again
from tests.web import signed_in, text_of


@pytest.fixture
def lots(working: Cast) -> list[Lot]:
    """Make three lots."""
    return told_again("three lots", lambda: three_lots(working))


@pytest.fixture
def brine(working: Cast, lots: list[Lot]) -> Several:
    """Open the deviation of a weak brine with the three lots salted in it."""
    return told_again("several lots", lambda: several(working, lots))


def name(case: Several, lot: Lot, why: str = "Same brine, found in the salting book") -> AffectedLot:
    with at(case.cast.dairy, hours(32.5)):
        return add_affected_lot(
            establishment=case.cast.dairy, by=case.cast.maker, deviation=case.deviation, lot=lot, why=why
        )


def refused_release(case: Several, lot: Lot) -> str:
    with at(case.cast.dairy, hours(34)), pytest.raises(Refused) as refusal:
        release_lot(
            establishment=case.cast.dairy,
            proof=case.cast.proof(case.cast.owner),
            lot=lot,
            pieces="1",
            mass_typed="0.12",
        )
    return str(refusal.value)


def test_every_lot_has_to_be_held_and_the_evaluation_waits_for_the_last_one(brine: Several) -> None:
    first, second, third = brine.lots
    brine.hold(first)
    brine.hold(second)
    with pytest.raises(Refused, match="Confirm the hold first"):
        brine.evaluate()
    assert [one.name for one in brine.state().affected if one.unconfirmed] == [third.code]

    brine.hold(third)
    brine.evaluate()

    assert not brine.state().hold_missing


def test_a_hold_names_one_of_the_lots(brine: Several, working: Cast) -> None:
    with at(working.dairy, hours(28)):
        stranger = a_lot(working, "TF-0599", started=hours(27.8))
    with pytest.raises(BadInput, match="Choose the lot"):
        brine.hold(None)
    with pytest.raises(BadInput, match="does not concern this lot"):
        brine.hold(stranger)

    assert brine.hold(brine.lots[0]).lot == brine.lots[0]


def test_a_lot_is_disposed_of_by_itself_and_never_beyond_what_is_held_of_it(brine: Several) -> None:
    first, second, third = brine.lots
    for lot in brine.lots:
        brine.hold(lot)
    brine.evaluate()
    with pytest.raises(BadInput, match="on hold are 100 pieces"):
        brine.dispose(first, Line("destroy", "101", "12"))

    brine.dispose(first)
    brine.dispose(second, Line("release", "60", "7.2"), Line("destroy", "40", "4.8"))

    state = brine.state()
    assert [one.disposed.pieces for one in state.affected] == [100, 100, 0]
    assert (state.held, state.left) == (Quantity(300, Decimal(36)), Quantity(100, Decimal(12)))
    assert [balance(brine.cast.dairy, lot).gone.pieces for lot in (first, second, third)] == [100, 40, 0]


def test_it_is_closed_only_when_every_lot_is_held_and_disposed_of(brine: Several) -> None:
    for lot in brine.lots:
        brine.hold(lot)
    brine.evaluate()
    brine.understand()
    for lot in brine.lots[:2]:
        brine.dispose(lot)
    with pytest.raises(Refused, match="disposition of everything on hold"):
        brine.close()

    brine.dispose(brine.lots[2])

    assert brine.close().self_reviewed is False


def test_a_lot_that_had_left_is_not_held_but_asks_for_a_recall_decision(
    working: Cast, lots: list[Lot]
) -> None:
    sold(working, lots[2])
    case = several(working, lots)
    for lot in lots[:2]:
        case.hold(lot)
    case.evaluate()
    case.understand()
    for lot in lots[:2]:
        case.dispose(lot)
    assert case.state().missing() == ["recall"]
    with pytest.raises(Refused, match="recall decision"):
        case.close()

    case.recall()
    case.close()

    assert not case.state().is_open


def test_a_lot_found_later_is_held_evaluated_and_disposed_of_too(working: Cast, lots: list[Lot]) -> None:
    case = several(working, lots[:1])
    assert case.deviation.lot == lots[0]
    case.hold(None)
    case.evaluate()
    case.understand()
    case.dispose(None)
    assert case.state().missing() == []

    name(case, lots[1])

    assert case.state().missing() == ["hold", "evaluation", "disposition"]
    with pytest.raises(Refused, match="Not finished"):
        case.close()
    case.hold(lots[1])
    with pytest.raises(Refused, match="not evaluated"):
        case.dispose(lots[1])
    case.evaluate()
    case.dispose(lots[1])
    assert case.state().missing() == []


def test_a_sold_lot_found_after_the_recall_decision_asks_for_another(working: Cast, lots: list[Lot]) -> None:
    sold(working, lots[0])
    case = several(working, lots[:1])
    case.recall()
    with pytest.raises(Refused, match="decided already"):
        case.recall()
    sold(working, lots[1])

    name(case, lots[1])

    assert "recall" in case.state().missing()
    case.recall()
    assert "recall" not in case.state().missing()
    assert RecallDecision.objects.of(working.dairy).count() == 2


def test_a_lot_is_named_once_and_with_a_reason(brine: Several) -> None:
    with pytest.raises(BadInput, match="concerns lot TF-0501 already"):
        name(brine, brine.lots[0])
    with at(brine.cast.dairy, hours(28)):
        other = a_lot(brine.cast, "TF-0504", started=hours(27.8))
    with pytest.raises(BadInput, match="Give a reason"):
        name(brine, other, why=" ")

    assert name(brine, other).hold_required


def test_no_lot_of_it_is_released_or_leaves_while_it_is_open(brine: Several) -> None:
    number = brine.deviation.number
    for lot in brine.lots:
        assert f"deviation {number} is open" in refused_release(brine, lot)
        with at(brine.cast.dairy, hours(34)), pytest.raises(Refused, match="may not leave"):
            dispatch_lot(
                establishment=brine.cast.dairy,
                by=brine.cast.maker,
                lot=lot,
                customer="Shop",
                pieces="1",
                mass_typed="0.12",
            )


def test_after_it_is_closed_each_lot_stands_as_it_was_decided(brine: Several) -> None:
    first, second, third = brine.lots
    for lot in brine.lots:
        brine.hold(lot, pieces="90" if lot is third else "100", mass="10.8" if lot is third else "12")
    brine.evaluate()
    brine.understand()
    brine.dispose(first)
    brine.dispose(second, Line("release", "100", "12"))
    brine.dispose(third, Line("release", "90", "10.8"))
    brine.close()

    with at(brine.cast.dairy, hours(35)):
        told = [" ".join(hindrances(brine.cast.dairy, lot, hours(35))) for lot in brine.lots]

    assert "nothing of what was held may be released" in told[0]
    assert f"deviation {brine.deviation.number}" not in told[1]
    assert "only 90 of 100 pieces were held" in told[2]


def test_what_is_no_lot_is_held_by_the_litre(working: Cast) -> None:
    case = several(working, [], held_what="Milk of tank 2")
    assert case.deviation.hold_required
    with pytest.raises(BadInput, match="Count the pieces or weigh"):
        case.hold(None, pieces="", mass="")

    case.hold(None, pieces="", mass="", volume_typed="1020")
    case.evaluate()
    with pytest.raises(BadInput, match="on hold are 1020 L"):
        case.dispose(None, Line("divert", "", "", volume="1021"))
    case.dispose(None, Line("divert", "", "", volume="1000"), Line("used_for_test", "", "", volume="20"))
    case.understand()
    case.close()

    assert case.state().disposed == Quantity(0, Decimal(0), Decimal(1020))


def test_a_lot_is_not_measured_in_litres(brine: Several) -> None:
    with pytest.raises(BadInput, match="not measured in litres"):
        brine.hold(brine.lots[0], volume_typed="12")


def test_a_tank_and_the_lots_salted_in_it_are_held_together(working: Cast, lots: list[Lot]) -> None:
    case = several(working, lots, held_what="Brine of tank 1")

    case.hold(None, pieces="", mass="", volume_typed="400")
    for lot in lots:
        case.hold(lot)

    state = case.state()
    assert [one.name for one in state.affected] == ["Brine of tank 1", *CODES]
    assert state.held == Quantity(300, Decimal(36), Decimal(400))
    assert not state.hold_missing


def test_a_lot_another_deviation_took_away_needs_no_hold(brine: Several, working: Cast) -> None:
    first = brine.lots[0]
    for lot in brine.lots:
        brine.hold(lot)
    brine.evaluate()
    brine.dispose(first)

    other = several(working, [first])

    one = other.state().of(first)
    assert one is not None
    assert one.all_left
    assert not other.state().hold_missing


def test_the_list_of_open_items_holds_every_lot_and_is_rebuilt(brine: Several, working: Cast) -> None:
    pk = brine.deviation.pk
    wanted = {(what, pk, lot.pk) for what in ("deviation", "hold") for lot in brine.lots}
    assert wanted | {("deviation", pk, None)} == {
        item for item in index.stored(working.dairy) if item[1] == pk
    }
    for lot in brine.lots:
        brine.hold(lot)
    name(brine, slow_vat(working).lot)
    assert index.stored(working.dairy) == index.rebuilt(working.dairy)
    assert verify(working.dairy) == []


def test_a_record_of_the_first_version_knows_no_lot(brine: Several, working: Cast) -> None:
    stage = slow_vat(working)
    first = register.get("hold_confirmed", 1)
    assert first is not None
    assert first is not kinds.HOLD
    row = HoldConfirmed(
        deviation=stage.deviation,
        place="Store",
        tag="H-7",
        pieces=280,
        mass_text="33.6",
        held_at=hours(27),
        reason="",
    )
    with at(working.dairy, hours(28)):
        ledger.append(kind=first, row=row, establishment=working.dairy, author=working.maker)
        index.close(working.dairy, "hold", stage.deviation.pk)
        index.add(working.dairy, "hold", stage.deviation.pk, stage.lot.pk)
    assert verify(working.dairy) == []
    assert Several(working, [], stage.deviation).state().affected[0].hold == row

    guards.remove(connection)
    with connection.cursor() as cursor:
        sql = "UPDATE records_holdconfirmed SET lot_id = %s WHERE entry_id = %s"
        field = HoldConfirmed._meta.get_field("lot")
        lot = field.get_db_prep_value(brine.lots[0].pk, connection)
        cursor.execute(sql, [lot, field.get_db_prep_value(row.pk, connection)])
    assert (row.entry.sequence, "row") in {(f.sequence, f.code) for f in verify(working.dairy)}


def test_a_control_of_one_of_its_lots_finds_it(working: Cast, lots: list[Lot]) -> None:
    stage = slow_vat(working)
    name(Several(working, [], stage.deviation), lots[0])
    assert open_for_control(working.dairy, lots[0], "CCP2") == stage.deviation
    assert open_for_control(working.dairy, lots[1], "CCP2") is None


def test_the_page_shows_every_lot_and_the_sum(brine: Several) -> None:
    brine.hold(brine.lots[0])
    page = text_of(brine.get())
    assert "Set all of these lots apart now, tag each and count it: TF-0502, TF-0503." in page
    for code in CODES:
        assert code in page
    assert "Together" in page
    assert "Salted in it since the last good reading." in page


def test_the_form_of_a_hold_asks_which_lot(brine: Several) -> None:
    typed = {"place": "Store", "tag": "H-1", "pieces": "100", "mass": "12"}
    now = {"done_date": "2026-05-15", "done_time": "17:30"}
    refused = brine.post(brine.cast.maker, "hold", **typed, **now)
    taken = brine.post(brine.cast.maker, "hold", lot=str(brine.lots[1].pk), **typed, **now)

    assert refused.status_code == 422
    assert "Choose the lot." in text_of(refused)
    assert taken.status_code == 302
    assert [one.held.pieces for one in brine.state().affected] == [0, 100, 0]


def test_the_form_of_a_disposition_offers_what_is_evaluated_and_held(brine: Several) -> None:
    for lot in brine.lots:
        brine.hold(lot)
    brine.evaluate()
    brine.dispose(brine.lots[0])
    lot = brine.lots[2]
    page = text_of(brine.get())
    form = page[page.index('id="dispose"') :]
    assert f'value="{brine.lots[0].pk}"' not in form
    assert f'value="{lot.pk}"' in form

    typed = signature(seen="1", lot=str(lot.pk), pieces_destroy="100", mass_destroy="12")
    assert brine.post(brine.cast.owner, "dispose", **typed).status_code == 302
    assert [one.disposed.pieces for one in brine.state().affected] == [100, 0, 100]


def test_a_further_lot_is_named_on_the_page_once(brine: Several, working: Cast) -> None:
    with at(working.dairy, hours(28)):
        other = a_lot(working, "TF-0504", started=hours(27.8))
    typed = {"lot": str(other.pk), "why": "Same brine", "uuid": "4b4b6b1c-0000-4000-8000-000000000001"}
    assert brine.post(working.maker, "lot", **{**typed, "lot": ""}).status_code == 422
    for _again in range(2):
        assert brine.post(working.maker, "lot", **typed).status_code == 302
    assert AffectedLot.objects.of(working.dairy).filter(lot=other).count() == 1


def test_today_week_list_and_the_lots_show_every_lot(brine: Several, working: Cast) -> None:
    browser = signed_in(working.owner)
    slug = working.dairy.slug
    with at(working.dairy, hours(34)):
        pages = [text_of(browser.get(reverse(view, args=[slug]))) for view in ("today", "week", "deviations")]
        lot_page = text_of(browser.get(reverse("lot", args=[slug, brine.lots[0].pk])))
    for page in pages:
        for code in CODES:
            assert code in page
    assert "It concerns these lots too: TF-0502, TF-0503" in " ".join(lot_page.split())
    assert "HOLD REQUIRED" in lot_page


def test_each_lot_has_its_own_hold_tag_and_prints(brine: Several, working: Cast) -> None:
    for lot in brine.lots:
        brine.hold(lot)
    number = brine.deviation.number
    with at(working.dairy, hours(35)):
        for lot in brine.lots:
            issue_print(
                establishment=working.dairy, by=working.owner, what="tag", subject=f"{number}/{lot.pk}"
            )
        issue_print(establishment=working.dairy, by=working.owner, what="lot", subject=str(brine.lots[0].pk))
        other = slow_vat(working).lot
        with pytest.raises(BadInput, match="no such"):
            issue_print(
                establishment=working.dairy, by=working.owner, what="tag", subject=f"{number}/{other.pk}"
            )
        visit = text_of(signed_in(working.owner).get(reverse("visit", args=[working.dairy.slug])))
    assert f"Hold tag, deviation {number}, TF-0503" in visit
