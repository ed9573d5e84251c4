"""Weights of a lot: yield, loss between weighings, what is usual, and where the pieces are."""

from decimal import Decimal

from records.batches.models import Lot
from records.batches.queries import effective_events
from records.inspection.weights import (
    loss_words,
    piece_balance,
    usual_words,
    weighings,
    yield_words,
)
from tests.builders import a_lot, an_event, at, hours
from tests.cast import Cast
from tests.records.deviations.stage import slow_vat


def lot_of(cast: Cast, code: str, mass: str, hour: float = 3) -> Lot:
    """Make a lot of 212 litres that weighed so much when it was packed."""
    with at(cast.dairy, hours(hour)):
        lot = a_lot(cast, code, started=hours(hour - 0.1))
        an_event(cast, lot, "packed", hours(hour), pieces="280", mass=mass)
    return lot


def found_of(cast: Cast, lot: Lot):  # type: ignore[no-untyped-def]
    """Give the weighings of a lot."""
    return weighings(cast.dairy, lot, list(effective_events(cast.dairy, [lot.pk])))


def test_the_yield_of_a_make_is_told_for_each_weighing(working: Cast) -> None:
    [weighing] = found_of(working, lot_of(working, "TF-1", "33.6"))

    assert yield_words(weighing) == "15.85 kg per 100 L"  # by hand: 33.6 / 212 x 100
    assert (loss_words(weighing), usual_words(weighing)) == ("", "")


def test_the_loss_is_that_of_the_mean_piece_where_some_were_taken_away(working: Cast) -> None:
    lot = lot_of(working, "TF-1", "33.6")
    with at(working.dairy, hours(5)):
        an_event(working, lot, "packed", hours(5), pieces="140", mass="15.12")

    # by hand: 120 g a piece, then 108 g: 10 % lost, though 18.48 kg are missing
    assert [loss_words(one) for one in found_of(working, lot)] == ["", "10.00 %"]


def test_a_gain_asks_to_check_the_scale(working: Cast) -> None:
    lot = lot_of(working, "TF-1", "33.6")
    with at(working.dairy, hours(5)):
        an_event(working, lot, "packed", hours(5), pieces="280", mass="34")

    assert "check the scale" in loss_words(found_of(working, lot)[1])


def test_what_is_usual_is_told_by_earlier_makes_and_a_make_outside_says_so(working: Cast) -> None:
    for number, mass in enumerate(("31.8", "33.92", "36.04")):
        lot_of(working, f"TF-{number}", mass, hour=3 + number)

    [inside] = found_of(working, lot_of(working, "TF-8", "33", hour=8))
    [outside] = found_of(working, lot_of(working, "TF-9", "21.2", hour=9))

    # by hand: 31.8, 33.92 and 36.04 kg of 212 L are 15, 16 and 17 kg per 100 L
    assert inside.usual is not None
    assert (inside.usual.median, inside.usual.lowest, inside.usual.highest) == (16, 15, 17)
    assert "outside" not in usual_words(inside)
    assert usual_words(outside).endswith("this one lies outside")


def test_a_lot_without_milk_or_weight_has_no_yield(working: Cast) -> None:
    with at(working.dairy, hours(3)):
        lot = a_lot(working, started=hours(2.9))

    assert found_of(working, lot) == []


def test_the_pieces_of_a_lot_add_up(working: Cast) -> None:
    stage = slow_vat(working)
    stage.hold()
    stage.evaluate()
    stage.dispose()
    with at(working.dairy, hours(27.5)):
        an_event(working, stage.lot, "packed", hours(27.5), pieces="280", mass="33.6")

    rows = dict(piece_balance(working.dairy, stage.lot).rows())

    made = rows.pop("Made")
    assert made is not None
    rest = [quantity for quantity in rows.values() if quantity is not None]
    assert sum(quantity.pieces for quantity in rest) == made.pieces == 280
    assert sum((quantity.mass for quantity in rest), Decimal(0)) == made.mass
    assert rows["Used for tests"] is not None
    assert rows["Used for tests"].pieces == 8
