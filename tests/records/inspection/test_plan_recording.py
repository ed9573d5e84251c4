"""How a check is recorded, on paper: in the table of controls, whatever the kind of its slot."""

from typing import Any

import pytest

from records.inspection.plan_tables import control_grid
from safetyplan.plans.document import read
from tests.records.inspection.long_plan import demonstration_plan


def row_with(when: dict[str, Any] | None = None, **more: Any) -> str:
    """Give the row of the cold store in the table of controls, with something more asked of it."""
    plan = demonstration_plan()
    control = next(c for c in plan["controls"] if c["code"] == "PRP1")
    control["monitoring"]["when"] |= when or {}
    control |= more
    rows = control_grid(read(plan), "prp", {}).rows
    found = next(row for row in rows if row.cells[0].text.startswith("PRP1"))
    return "\n".join(cell.text for cell in found.cells)


SAID: tuple[tuple[dict[str, Any], str], ...] = (
    ({"points": ["Door", "Back wall"]}, "Points: Door; Back wall"),
    ({"recording": "by_exception"}, "By exception: only what is not in order is written down."),
    ({"photo": "asked"}, "A photo is asked for."),
    ({"photo": "required"}, "A photo is required."),
    ({"overdue_instrument": "block"}, "No reading with an instrument that was not checked in time."),
    ({"before_event": "starter_added"}, "Must show control before “Starter added”."),
    ({"when": {"each": "room"}}, "Every day, in each room at 07:00, 17:00"),
    ({"when": {"kind": "load"}}, "At the receipt of each load"),
)


@pytest.mark.parametrize(("more", "said"), SAID, ids=[said for _more, said in SAID])
def test_what_the_plan_asks_of_a_record_is_printed_and_otherwise_not(more: dict[str, Any], said: str) -> None:
    assert said in row_with(**more)
    assert said not in row_with()
