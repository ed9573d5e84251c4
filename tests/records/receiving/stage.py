"""A dairy that buys milk: an approved supplier with a herd of goats, and a plan that checks each load.

The test's day is 14 May 2026. The load comes in at 07:00 UTC (hour 0), from the milkings of the evening
before and of the morning. Its inhibitor test (CCP3) has to be there before the starter.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from records.batches.models import Lot, LotEvent
from records.batches.services import EventContent
from records.checks.events import record_lot_event
from records.checks.models import Reading
from records.checks.receipts import Taken, fill_lot, take_load
from records.checks.services import ReadingContent
from records.checks.slots import load_slot_id
from records.deviations.models import Deviation
from records.deviations.queries import deviations, states
from records.receiving.models import Herd, MilkLoad, Supplier
from records.receiving.refusing import RefusalContent
from records.receiving.services import LoadContent
from records.receiving.supplier_services import save_herd, save_supplier, set_approval
from tests.builders import a_lot, a_reading, at, hours
from tests.cast import Cast
from tests.records.rules.limits import MONITORING, bound, document

AT_RECEIPT = {
    "kind": "load",
    "after_minutes": 0,
    "window_before_minutes": 60,
    "window_after_minutes": 240,
}


def of_load(code: str, rank: str, name: str, limit: dict[str, Any], **more: Any) -> dict[str, Any]:
    """Write a check of each load."""
    found: dict[str, Any] = {
        "code": code,
        "class": rank,
        "name": name,
        "products": ["TF", "TL"],
        "step": "receive",
        "limit": limit,
        "monitoring": {**MONITORING, "when": AT_RECEIPT},
        "corrective_actions": [{"code": f"{code}-1", "text": "Do not use the milk; tell the supplier"}],
        "measure_next_minutes": 30,
        "verification": "Records reviewed weekly",
        "record": "Receiving log",
        "justification": "The dairy's own reason",
        "figure_source": "Common practice, no source",
        "provenance": "own",
    }
    return found | more


def plan() -> dict[str, Any]:
    """Give the demonstration's plan with checks of each load."""
    found = document()
    residue = {"kind": "attribute", "part": "inhibitor", "options": ["negative", "positive"]}
    smell = {"kind": "attribute", "part": "smell", "options": ["clean", "off"], "accepted": ["clean"]}
    age = {"kind": "not_after", "part": "used", "event": "milked", "hours": "48"}
    found["controls"] += [
        of_load(
            "CCP3",
            "ccp",
            "Inhibitor test",
            {**residue, "accepted": ["negative"]},
            before_event="starter_added",
        ),
        of_load(
            "OPRP4", "oprp", "Milk at the door", bound("temperature", "temperature", "degC", at_most="6")
        ),
        of_load("OPRP5", "oprp", "Milk age", age),
        of_load("PRP4", "prp", "Smell", smell),
    ]
    hazard = dict(next(h for h in found["hazards"] if h["controlled_by"] == "CCP1"))
    found["hazards"].append(
        {
            **hazard,
            "code": "H20",
            "kind": "chemical",
            "group": "drug_residue",
            "agent": "",
            "name": "residues of medicines",
            "removed_by_reheating": False,
            "controlled_by": "CCP3",
            "where": "this_step",
            "controlled_step": "",
            "determination": {
                "tree": "codex_2022",
                "answers": {"q1": "no", "q2": "yes", "q3": "no", "q4": "yes"},
            },
        }
    )
    for part in ("verifications", "validations"):
        row = next(r for r in found[part] if "CCP1" in r["controls"])
        row["controls"] = [*row["controls"], "CCP3"]
    return found


@dataclass(frozen=True)
class Dairy:
    """The people, the supplier and the herd."""

    cast: Cast
    supplier: Supplier
    herd: Herd

    @property
    def about(self) -> dict[str, Any]:
        """Give what a service is told when the maker acts."""
        return {"establishment": self.cast.dairy, "by": self.cast.maker}

    def at(self, hour: float) -> Any:
        """Set the clock to an hour of the test's day."""
        return at(self.cast.dairy, hours(hour))

    def content(self, code: str = "M-1", hour: float = 0, **changes: Any) -> LoadContent:
        """Say what the maker says of a load."""
        said: dict[str, Any] = {
            "supplier": self.supplier.pk,
            "herd": self.herd.pk,
            "species": "goat",
            "milkings": [hours(hour - 13), hours(hour - 1)],
            "received_at": hours(hour),
            "volume": "300",
            "code": code,
            "tank": "Tank 1",
            "late_reason": "Wet hands",
        }
        return LoadContent(**said | changes)

    def take(self, code: str = "M-1", hour: float = 0, **changes: Any) -> Taken:
        """Receive a load."""
        return take_load(content=self.content(code, hour, **changes), **self.about)

    def load(self, code: str = "M-1", hour: float = 0, **changes: Any) -> MilkLoad:
        """Receive a load; give it."""
        return self.take(code, hour, **changes).load

    def read(self, load: MilkLoad, control: str, hour: float, **parts: str) -> Any:
        """Record a check of a load."""
        slot = load_slot_id(load.identity, control, 0)
        return a_reading(self.cast, slot, hours(hour), late_reason="Wet hands", **parts)

    def lot(self, code: str = "TF-1", hour: float = 0.5) -> Lot:
        """Start a lot."""
        return a_lot(self.cast, code, started=hours(hour))

    def fill(self, lot: Lot, load: MilkLoad, volume: str = "100") -> list[Deviation]:
        """Put milk of a load into a lot; give the deviations this opened."""
        return fill_lot(lot=lot, load=load.identity, volume=volume, **self.about)[1]

    def starter(self, lot: Lot, hour: float) -> tuple[LotEvent, list[Deviation]]:
        """Add the starter to a lot."""
        content = EventContent(
            event="starter_added",
            observed_at=hours(hour),
            details=({"name": "culture", "raw": "MA K81", "unit": "", "confirmed": False},),
            late_reason="Wet hands",
        )
        return record_lot_event(lot=lot, content=content, **self.about)

    def held(self) -> set[str]:
        """Name the lots that an open deviation holds."""
        found = states(self.cast.dairy, deviations(self.cast.dairy))
        return {one.lot.code for s in found for one in s.affected if one.lot and one.hold_required}


def refusal(hour: float, volume: str = "", **changes: Any) -> RefusalContent:
    """Say what the maker says of milk that is refused."""
    said: Mapping[str, Any] = {
        "outcome": "returned",
        "why": "Smells of silage",
        "told": "The farmer",
        "refused_at": hours(hour),
        "volume": volume,
    }
    return RefusalContent(**{**said, **changes})


def open_dairy(cast: Cast, name: str = "Hill Farm") -> Dairy:
    """Record the supplier and its herd, and approve it."""
    about = {"establishment": cast.dairy, "by": cast.maker}
    supplier = save_supplier(name=name, gives_milk=True, **about)
    herd = save_herd(supplier=supplier, name="The goats", species="goat", **about)
    set_approval(
        establishment=cast.dairy, by=cast.owner, supplier=supplier, status="approved", why="Visited in April"
    )
    return Dairy(cast, supplier, herd)


def causes(found: Sequence[Deviation]) -> list[str]:
    """Name what opened some deviations."""
    return [str(one.cause) for one in found]


def day(moment: datetime) -> str:
    """Name the day of an instant."""
    return moment.date().isoformat()


def content_of(reading: Reading, **parts: str) -> ReadingContent:
    """Say a reading again with other values."""
    return ReadingContent(
        slot=reading.slot,
        observed_at=reading.observed_at,
        parts=[{"name": name, "raw": raw, "unit": "", "confirmed": False} for name, raw in parts.items()],
        late_reason="Wet hands",
    )
