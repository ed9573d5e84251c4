"""How long food may stay in which warmth, as data: a published table of cumulative exposure.

ALL ROWS ARE FROM MEMORY: the printed tables were not found in a copy that could be read. They are for raw
materials and finished food, not for curd, in which the pH falls and the starter competes.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from safetyplan.calculation.growth_tables import Provenance

SOURCE = (
    "FDA Fish and Fishery Products Hazards and Controls Guidance, appendix 4, table A-2 (from memory, not "
    "verified in print; for cheese guidance only)"
)
SUMMARY_SOURCE = (
    "FDA Fish and Fishery Products Hazards and Controls Guidance, editions of 2011 and 2020, appendix 4, "
    "summary (the bound of 5 h and 12 h from memory)"
)


@dataclass(frozen=True)
class Band:
    """From above `above_f` up to and with the next band's edge (°F), at most so many hours in all."""

    above_f: Decimal
    hours: Decimal


@dataclass(frozen=True)
class Exposure:
    """The bands of one organism, from the coldest; below the first edge it does not grow."""

    organism: str
    bands: tuple[Band, ...]
    provenance: Provenance = "memory"


def _exposure(organism: str, text: str) -> tuple[str, Exposure]:
    """Bands from "39.2:120 43:24": above 39.2 °F 120 h, above 43 °F 24 h.

    The table prints whole degrees ("42-50 F", "51-70 F"); here a band begins right above the end of the one
    before, so that 50.5 °F lies in the warmer band and in no gap.
    """
    pairs = (pair.split(":") for pair in text.split())
    return organism, Exposure(organism, tuple(Band(Decimal(f), Decimal(h)) for f, h in pairs))


EXPOSURES: Mapping[str, Exposure] = dict(
    (
        _exposure("listeria_monocytogenes", "31.3:168 41:24 50:7 70:3 86:1"),
        _exposure("staphylococcus_aureus", "44.6:336 50:12 70:3"),
        _exposure("salmonella", "41.4:48 50:5 70:2"),
        _exposure("escherichia_coli", "43.7:48 50:5 70:2"),
        _exposure("bacillus_cereus", "39.2:120 43:24 59:6 70:3"),
        _exposure("clostridium_perfringens", "50:504 54:24 57:6 70:2"),
        _exposure("clostridium_botulinum_proteolytic", "50:11 70:2"),
        _exposure("clostridium_botulinum_e", "37.9:168 41:48 50:11 70:6"),
        _exposure("campylobacter_jejuni", "86:48 93:12"),
        _exposure("shigella", "43:48 50:5 70:2"),
        _exposure("yersinia_enterocolitica", "29.7:24 50:6 70:2.5"),
        # three species, of which the one that grows coldest gives the first edge
        _exposure("vibrio", "41:504 50:6 70:2 80:1"),
    )
)
