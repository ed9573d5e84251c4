"""Events of a lot in a plan, as frozen values: what is recorded, what is asked, when it is usual. Pure."""

from dataclasses import dataclass
from typing import Any

ENTRIES = ("number", "text", "choice", "time", "ingredient", "thing")
# what goes into a vat or onto a cheese and comes in lots of its own
INGREDIENTS = ("culture", "rennet", "salt", "coating", "cloth", "label", "packaging", "other")


@dataclass(frozen=True)
class Detail:
    """One thing asked when an event is recorded.

    entry: number (in `unit`), text, choice (of `options`), time (of day), ingredient (a lot of the kind `of`,
    with its dose in `unit`, if there is one) or thing (a shared thing of the kind `of`).
    """

    name: str
    label: str
    entry: str
    quantity: str = ""
    unit: str = ""
    required: bool = False
    options: tuple[str, ...] = ()
    of: str = ""

    def to_document(self) -> dict[str, Any]:
        """Give the detail as it stands in a plan document."""
        written: dict[str, Any] = {
            "name": self.name,
            "label": self.label,
            "entry": self.entry,
            "quantity": self.quantity,
            "unit": self.unit,
            "required": "yes" if self.required else "no",
        }
        if self.options:
            written["options"] = list(self.options)
        return {**written, "of": self.of} if self.of else written


@dataclass(frozen=True)
class Event:
    """Something that happens to a lot and is recorded with its time.

    repeats: it happens several times, such as turning; every_minutes: how long after one the next is usual, 0
    where the plan does not say. after_event, after_minutes: it is usual so long after that other event.
    """

    code: str
    name: str
    expected_within_hours: int
    details: tuple[Detail, ...]
    repeats: bool = False
    every_minutes: int = 0
    after_event: str = ""
    after_minutes: int = 0
