"""The classes of cheese by composition, as data: each band with its edges and where it comes from."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True)
class Band:
    """A class from `low` to `high`; None is open. An edge belongs to it if `low_in` or `high_in` says so."""

    name: str
    low: Decimal | None
    high: Decimal | None
    low_in: bool = True
    high_in: bool = False
    memory: bool = False

    def holds(self, value: Decimal) -> bool:
        """Whether a value lies in the class."""
        above = self.low is None or value > self.low or (self.low_in and value == self.low)
        below = self.high is None or value < self.high or (self.high_in and value == self.high)
        return above and below


@dataclass(frozen=True)
class Scheme:
    """A set of classes of one quantity, with its source. Classes may overlap."""

    name: str
    bands: tuple[Band, ...]
    source: str


def _at(text: str) -> Decimal | None:
    return None if text == "-" else Decimal(text)


def _band(
    name: str, low: str, high: str, *, low_in: bool = True, high_in: bool = False, memory: bool = False
) -> Band:
    return Band(name, _at(low), _at(high), low_in, high_in, memory)


# Moisture on a fat-free basis, %. The bands of the Codex texts overlap.
FIRMNESS: Mapping[str, Scheme] = {
    "codex_firmness": Scheme(
        "codex_firmness",
        (
            _band("extra_hard", "-", "51"),
            _band("hard", "49", "56", high_in=True),
            _band("firm_semi_hard", "54", "69", high_in=True, memory=True),
            _band("soft", "67", "-", low_in=False),
        ),
        "Codex CXS 283, firmness by moisture on a fat-free basis (the class 54 to 69 from memory)",
    ),
    "codex_firmness_1978": Scheme(
        "codex_firmness_1978",
        (
            _band("extra_hard", "-", "51"),
            _band("hard", "49", "56", high_in=True),
            _band("semi_hard", "54", "63", high_in=True),
            _band("semi_soft", "61", "69", high_in=True),
            _band("soft", "67", "-", low_in=False),
        ),
        "Codex standard A-6 of 1978, as in a public copy",
    ),
    "eu_statistics": Scheme(
        "eu_statistics",
        (
            _band("very_hard", "-", "47"),
            _band("hard", "47", "55"),
            _band("semi_hard", "55", "62"),
            _band("semi_soft", "62", "68"),
            _band("soft", "68", "-"),
        ),
        "Decision 97/80/EC, classes of the milk statistics",
    ),
}

_LOWER_FAT = (
    _band("medium_fat", "25", "45"),
    _band("partially_skimmed", "10", "25"),
    _band("skim", "-", "10"),
)
# Fat in dry matter, %. An edge belongs to the upper class (from memory); the text of 1978 has high above 60.
FAT: Mapping[str, Scheme] = {
    "codex_fat": Scheme(
        "codex_fat",
        (_band("high_fat", "60", "-", memory=True), _band("full_fat", "45", "60"), *_LOWER_FAT),
        "Codex CXS 283, fat in dry matter (the edges from memory)",
    ),
    "codex_fat_1978": Scheme(
        "codex_fat_1978",
        (
            _band("high_fat", "60", "-", low_in=False),
            _band("full_fat", "45", "60", high_in=True),
            *_LOWER_FAT,
        ),
        "Codex standard A-6 of 1978, as in a public copy",
    ),
}
