"""Whatever is done with a load, used + refused + left is what was received, and nothing falls below 0."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from records.batches.milk import correct_milk, put_milk
from records.receiving.models import LotMilk, MilkRefused
from records.receiving.queries import balance_of, load_of
from records.receiving.refusing import correct_refusal, refuse_milk
from records.receiving.services import correct_load
from safetyplan.integrity.refusals import Refused
from tests.builders import hours
from tests.records.receiving.stage import Dairy, refusal

pytestmark = pytest.mark.django_db
VOLUMES = st.decimals(min_value=Decimal("0.1"), max_value=Decimal(400), places=1)
STEPS = st.lists(
    st.tuples(st.sampled_from(["use", "refuse", "less", "again", "receipt"]), VOLUMES), max_size=8
)


@dataclass
class Told:
    """The balance kept by hand: what was received, each use and each refusal as it stands."""

    received: Decimal
    used: list[Decimal]
    refused: list[Decimal]

    def fits(self) -> bool:
        return sum(self.used) + sum(self.refused) <= self.received


def change(door: Dairy, told: Told, rows: dict[str, list[Any]], step: str, volume: Decimal) -> None:
    """Do one thing with the load and by hand; where it is refused, nothing changes by hand either."""
    load, text = load_of(door.cast.dairy, rows["load"][0]), str(volume)
    assert load is not None
    after = Told(told.received, [*told.used], [*told.refused])
    if step == "use":
        lot = rows["lots"][len(told.used)]
        made: Any = lambda: put_milk(lot=lot, load=load.identity, volume=text, **door.about)  # noqa: E731
        after.used.append(volume)
    elif step == "refuse":
        made = lambda: refuse_milk(load=load, content=refusal(0.4, text), **door.about)  # noqa: E731
        after.refused.append(volume)
    elif step == "less" and told.used:
        made = lambda: correct_milk(original=rows["use"][-1], volume=text, why="Misread", **door.about)  # noqa: E731
        after.used[-1] = volume
    elif step == "again" and told.refused:
        content = refusal(0.4, text)
        made = lambda: correct_refusal(  # noqa: E731
            original=rows["refuse"][-1], content=content, why="Misread", **door.about
        )
        after.refused[-1] = volume
    elif step == "receipt":
        again = door.content(volume=text)
        made = lambda: correct_load(load=load, content=again, why="Misread", **door.about)  # noqa: E731
        after.received = volume
    else:
        return
    try:
        with transaction.atomic():
            row = made()
    except Refused:
        assert not after.fits()
        return
    assert after.fits()
    told.received, told.used, told.refused = after.received, after.used, after.refused
    if isinstance(row, LotMilk):
        rows["use"] = [*rows["use"][: len(told.used) - 1], row]
    if isinstance(row, MilkRefused):
        rows["refuse"] = [*rows["refuse"][: len(told.refused) - 1], row]


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=STEPS)
def test_the_balance_is_what_is_told_by_hand(door: Dairy, steps: list[tuple[str, Decimal]]) -> None:
    with transaction.atomic(), door.at(0.5):
        load = door.load(received_at=hours(0))
        lots = [door.lot(f"TF-{number}") for number in range(len(steps))]
        rows: dict[str, list[Any]] = {"load": [load.pk], "lots": lots, "use": [], "refuse": []}
        told = Told(Decimal(300), [], [])
        for step, volume in steps:
            change(door, told, rows, step, volume)
        newest = load_of(door.cast.dairy, load.pk)
        assert newest is not None
        found = balance_of(door.cast.dairy, newest)

        assert (found.received, found.used, found.refused) == (
            told.received,
            sum(told.used),
            sum(told.refused),
        )
        assert found.left == told.received - sum(told.used) - sum(told.refused)
        assert found.left >= 0
        transaction.set_rollback(True)
