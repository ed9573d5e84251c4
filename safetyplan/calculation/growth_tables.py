"""Growth of pathogens as data: limits of growth by organism and source, and the sets of the models.

Sources differ; every figure keeps its own and says whether it was read in print or comes from memory. A
range that a source prints for one limit ("7-8 °C") is kept by the end that errs towards the eater.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

Provenance = Literal["read", "memory"]
Range = tuple[Decimal, Decimal]


@dataclass(frozen=True)
class GrowthLimits:
    """Where an organism can grow, as one source has it; None where it says nothing."""

    organism: str
    lowest_c: Decimal
    optimum_c: Range | None
    highest_c: Decimal | None
    lowest_ph: Decimal | None
    optimum_ph: Range | None
    highest_ph: Decimal | None
    lowest_aw: Decimal | None
    source: str
    provenance: Provenance


BAD_BUG = "FDA Bad Bug Book 1992, limits of growth (webharvest.gov)"
ICMSF = "growth limits after ICMSF (meatsci.osu.edu node/138, 139)"
SANCO = "SANCO 2008, guidance on Listeria, lowest of the ranges given (html.scirp.org)"
TOXIN = "limits of toxin formation by S. aureus (docslib.org/doc/10241512)"
TOXIN_WIDER = "limits of toxin formation by S. aureus, appendix of a guidance (fliphtml5)"
TABLE_A2 = "lowest temperature of table A-2, FDA Fish and Fishery Products Guidance (from memory)"


def _range(text: str) -> Range | None:
    if text == "-":
        return None
    low, _, high = text.partition("~")
    return Decimal(low), Decimal(high or low)


def _one(text: str) -> Decimal | None:
    return None if text == "-" else Decimal(text)


def _limits(source: str, rows: str, provenance: Provenance = "read") -> tuple[GrowthLimits, ...]:
    """Rows "organism: T lowest optimum highest, pH lowest optimum highest, aw"; "-" where nothing is said."""
    found = []
    for row in rows.strip().splitlines():
        organism, figures = row.strip().split(": ")
        low, best, high, sour, mild, basic, dry = figures.split()
        found.append(
            GrowthLimits(
                organism=organism,
                lowest_c=Decimal(low),
                optimum_c=_range(best),
                highest_c=_one(high),
                lowest_ph=_one(sour),
                optimum_ph=_range(mild),
                highest_ph=_one(basic),
                lowest_aw=_one(dry),
                source=source,
                provenance=provenance,
            )
        )
    return tuple(found)


LIMITS: tuple[GrowthLimits, ...] = (
    *_limits(
        BAD_BUG,
        """
        salmonella: 6.5 - 47 4.5 - - 0.95
        staphylococcus_aureus: 7 - 45 4.2 - 9.3 0.86
        listeria_monocytogenes: 0 - 45 4.4 - 9.4 0.92
        escherichia_coli: 2.5 - 45 4.6 - 9.5 0.935
        bacillus_cereus: 10 - 49 4.9 - 9.3 0.95
        clostridium_perfringens: 10 - 52 5.5 - 8 0.93
        clostridium_botulinum_proteolytic: 10 - 50 4.7 - - 0.93
        clostridium_botulinum_e: 3.3 - - - - - 0.965
        yersinia_enterocolitica: 1 - 44 4.4 - 9 -
        """,
    ),
    *_limits(
        ICMSF,
        """
        salmonella: 5.2 35~43 46.2 3.8 7~7.5 9.5 0.94
        staphylococcus_aureus: 7 37 48 4.0 6~7 10 0.83
        listeria_monocytogenes: -0.4 37 45 4.4 7 9.4 0.92
        escherichia_coli: 7 35~40 46 4.4 6~7 9 0.95
        bacillus_cereus: 4 30~40 55 5.0 - - 0.93
        clostridium_perfringens: 4 43~47 50 5.5 - - 0.93
        yersinia_enterocolitica: -1.3 25~37 42 4.2 - - -
        """,
    ),
    *_limits(SANCO, "listeria_monocytogenes: -1.5 - - 4.2 - - 0.90"),
    *_limits(TOXIN, "staphylococcus_aureus_toxin: 10 - 46 - - - 0.86"),
    *_limits(TOXIN_WIDER, "staphylococcus_aureus_toxin: 10 - 48 4.5 - 9.6 -"),
    *_limits(
        TABLE_A2,
        """
        campylobacter_jejuni: 30 - - - - - -
        shigella: 6.1 - - - - - -
        vibrio: 5 - - - - - -
        """,
        "memory",
    ),
)
ORGANISMS = tuple(dict.fromkeys(limits.organism for limits in LIMITS))

# Rinds on which pH and water activity rise as the cheese ripens (rule of the plan), and the others.
RISING_RINDS = ("rind_bloomy", "rind_washed", "rind_blue")
OTHER_RINDS = ("rind_none", "rind_dry")


@dataclass(frozen=True)
class Cardinal:
    """A cardinal temperature model of one strain in one medium: °C, optimum rate in 1/h (natural log)."""

    name: str
    lowest_c: Decimal
    optimum_c: Decimal
    highest_c: Decimal
    optimum_rate: Decimal
    source: str


CARDINALS: Mapping[str, Cardinal] = {
    cardinal.name: cardinal
    for cardinal in (
        Cardinal(
            "staphylococcus_aureus",
            Decimal("7.7"),
            Decimal("40.6"),
            Decimal("46.7"),
            Decimal("1.97"),
            "S. aureus 2064, an isolate of ewe's cheese, in broth (Medvedova 2019, PMC6912147; form of the "
            "model from memory)",
        ),
        Cardinal(
            "escherichia_coli_o157_meat",
            Decimal("3.36"),
            Decimal("43.16"),
            Decimal("46.87"),
            Decimal("1.385"),
            "E. coli O157:H7 in ground beef, 10 to 47 °C (Kakagianni 2019): meat, for comparison only",
        ),
    )
}


@dataclass(frozen=True)
class SquareRoot:
    """A square-root model: (b x (T - lowest))², log10 per hour, or a rate at 5 °C in log10 per day.

    Exactly one of slope (b) and rate_at_5 is given. up_to_c: below the optimum; beyond, the form is wrong.
    """

    name: str
    lowest_c: Decimal
    up_to_c: Decimal
    source: str
    slope: Decimal | None = None
    rate_at_5: Decimal | None = None


# both up to 35 °C: the optimum begins at 37 °C for Listeria and at 35 °C for E. coli (ICMSF, above)
SQUARE_ROOTS: Mapping[str, SquareRoot] = {
    model.name: model
    for model in (
        SquareRoot(
            "listeria_monocytogenes",
            Decimal("-1.18"),
            Decimal(35),
            "L. monocytogenes in pasteurised milk: 0.257 log10 per day at 5 °C, lowest -1.18 °C (from "
            "memory; form after FDA/FSIS 2003, appendix 8)",
            rate_at_5=Decimal("0.257"),
        ),
        SquareRoot(
            "escherichia_coli",
            Decimal("5.4235"),
            Decimal(35),
            "E. coli in natural cheese (kosfaj.org 37-4-579, table 1; by elimination of the other tables)",
            slope=Decimal("0.0268"),
        ),
    )
}


@dataclass(frozen=True)
class CardinalPh:
    """A cardinal pH model: lowest, optimum and highest pH of growth."""

    lowest: Decimal
    optimum: Decimal
    highest: Decimal
    source: str


LISTERIA_PH = CardinalPh(
    Decimal("4.71"),
    Decimal("7.1"),
    Decimal("9.61"),
    "L. monocytogenes, cardinal set of Augustin 2005 (from memory)",
)
LISTERIA_LOWEST_AW = Decimal("0.913")
LISTERIA_AW_SOURCE = "gamma concept; lowest aw of L. monocytogenes, Augustin 2005 (both from memory)"

# lag of S. aureus 2064 in milk: ln(1/lag) = a + b/T + c/T², lag in h, T in °C. Its lowest temperature is that
# of the strain in broth, its highest the optimum in milk (38.5 °C; 40.6 °C is that in broth).
LAG = (Decimal("1.973"), Decimal("-87.92"), Decimal("285.09"))
LAG_LOWEST_C, LAG_HIGHEST_C = Decimal("7.7"), Decimal("38.5")
LAG_SOURCE = "S. aureus 2064 in milk, lag by temperature (Medvedova 2009, Czech J Food Sci 27:433)"
