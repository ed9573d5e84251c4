"""Tables of composition and water activity, as data: each row with where it comes from."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

# read: the figure was read where its source says. read_1978: read in the text of 1978 and recalled to be the
# same in the current one, which was not read. memory: recalled, in whole or at one of its edges.
Provenance = Literal["read", "read_1978", "memory"]


@dataclass(frozen=True)
class Band:
    """A class from `low` to `high`; None is open. An edge belongs to it if `low_in` or `high_in` says so."""

    name: str
    low: Decimal | None
    high: Decimal | None
    provenance: Provenance
    low_in: bool = True
    high_in: bool = False

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
    name: str, low: str, high: str, provenance: Provenance, *, low_in: bool = True, high_in: bool = False
) -> Band:
    return Band(name, _at(low), _at(high), provenance, low_in, high_in)


_CODEX_NOW = "Codex CXS 283, current text from memory"
_CODEX_1978 = "Codex standard A-6 of 1978, read in a public extract"

# Moisture on a fat-free basis, %. The bands of the Codex texts overlap; a range printed "49-56" holds both.
FIRMNESS: Mapping[str, Scheme] = {
    "codex_firmness": Scheme(
        "codex_firmness",
        (
            _band("extra_hard", "-", "51", "read_1978"),
            _band("hard", "49", "56", "read_1978", high_in=True),
            _band("firm_semi_hard", "54", "69", "memory", high_in=True),
            _band("soft", "67", "-", "read_1978", low_in=False),
        ),
        f"{_CODEX_NOW}; all but the class 54 to 69 agrees with the text of 1978",
    ),
    "codex_firmness_1978": Scheme(
        "codex_firmness_1978",
        (
            _band("extra_hard", "-", "51", "read"),
            _band("hard", "49", "56", "read", high_in=True),
            _band("semi_hard", "54", "63", "read", high_in=True),
            _band("semi_soft", "61", "69", "read", high_in=True),
            _band("soft", "67", "-", "read", low_in=False),
        ),
        _CODEX_1978,
    ),
    "eu_statistics": Scheme(
        "eu_statistics",
        (
            _band("very_hard", "-", "47", "read"),
            _band("hard", "47", "55", "read"),
            _band("semi_hard", "55", "62", "read"),
            _band("semi_soft", "62", "68", "read"),
            _band("soft", "68", "-", "read"),
        ),
        "Decision 97/80/EC, annex I, classes of the milk statistics",
    ),
}

# Fat in dry matter, %. An edge belongs to the upper class (from memory). The text of 1978 prints "> 60" for
# high, so exactly 60 differs by edition; it prints 45, 25 and 10 in two classes, read here the same way.
FAT: Mapping[str, Scheme] = {
    "codex_fat": Scheme(
        "codex_fat",
        (
            _band("high_fat", "60", "-", "memory"),
            _band("full_fat", "45", "60", "memory"),
            _band("medium_fat", "25", "45", "memory"),
            _band("partially_skimmed", "10", "25", "memory"),
            _band("skim", "-", "10", "read_1978"),
        ),
        f"{_CODEX_NOW}; the figures agree with the text of 1978, not every edge",
    ),
    "codex_fat_1978": Scheme(
        "codex_fat_1978",
        (
            _band("high_fat", "60", "-", "read", low_in=False),
            _band("full_fat", "45", "60", "read", high_in=True),
            _band("medium_fat", "25", "45", "read"),
            _band("low_fat", "10", "25", "read"),
            _band("skim", "-", "10", "read"),
        ),
        _CODEX_1978,
    ),
}


@dataclass(frozen=True)
class Osmotic:
    """An osmotic coefficient (phi) of sodium chloride at 25 °C, at a molality in mol per kg of water."""

    molality: float
    phi: float
    provenance: Provenance = "memory"


# Source: Robinson and Stokes, Electrolyte Solutions; 6 mol/kg read in a manual of a water activity meter.
OSMOTIC = (
    Osmotic(0.0, 1.0),
    Osmotic(0.1, 0.9324),
    Osmotic(0.2, 0.9245),
    Osmotic(0.3, 0.9215),
    Osmotic(0.5, 0.9209),
    Osmotic(0.7, 0.9257),
    Osmotic(1.0, 0.9355),
    Osmotic(1.2, 0.9428),
    Osmotic(2.0, 0.9833),
    Osmotic(2.5, 1.0108),
    Osmotic(3.0, 1.0453),
    Osmotic(4.0, 1.1158),
    Osmotic(5.0, 1.1916),
    Osmotic(6.0, 1.271, "read"),
)
OSMOTIC_SOURCE = (
    "Robinson and Stokes, Electrolyte Solutions, osmotic coefficients at 25 °C (from memory, 6 mol/kg read)"
)

# Water activity minus that at 25 °C, in 1/10000, by temperature (rows) and molality (columns). Source:
# Pitzer equations as computed by PHREEQC with its data base pitzer.dat.
SHIFT_TEMPERATURES = (4.0, 10.0, 15.0, 20.0, 25.0, 30.0)
SHIFT_MOLALITIES = (0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0)
SHIFT = (
    (0.0, 5.34, 17.54, 30.38, 38.49, 37.41, 23.86),
    (0.0, 3.35, 11.07, 19.03, 23.64, 21.93, 11.77),
    (0.0, 2.00, 6.65, 11.35, 13.85, 12.27, 5.29),
    (0.0, 0.89, 2.99, 5.07, 6.06, 5.09, 1.51),
    (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0),
    (0.0, -0.70, -2.41, -4.02, -4.58, -3.29, 0.41),
)
SHIFT_SOURCE = "Pitzer equations, PHREEQC with pitzer.dat (computed)"
