"""Growth of pathogens as data: limits of growth by organism and source, and the sets of the models.

Sources differ; every figure keeps its own, and the lowest is the one that errs towards the eater.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True)
class GrowthLimits:
    """Where an organism can grow, as one source has it; None where it says nothing."""

    organism: str
    lowest_c: Decimal
    highest_c: Decimal | None
    lowest_ph: Decimal | None
    lowest_aw: Decimal | None
    source: str


BAD_BUG = "FDA Bad Bug Book 1992, limits of growth (webharvest.gov)"
ICMSF = "growth limits after ICMSF (meatsci.osu.edu node/138, 139)"
SANCO = "SANCO 2008, guidance on Listeria, lowest of the ranges given (html.scirp.org)"


def _limits(source: str, rows: str) -> tuple[GrowthLimits, ...]:
    """Rows "organism low high pH aw"; "-" where the source says nothing."""
    found = []
    for row in rows.strip().splitlines():
        organism, *figures = row.split()
        low, high, ph, aw = (None if figure == "-" else Decimal(figure) for figure in figures)
        found.append(GrowthLimits(organism, low or Decimal(0), high, ph, aw, source))
    return tuple(found)


LIMITS: tuple[GrowthLimits, ...] = (
    *_limits(
        BAD_BUG,
        """
        salmonella 6.5 47 4.5 0.95
        staphylococcus_aureus 7 45 4.2 0.86
        listeria_monocytogenes 0 45 4.4 0.92
        escherichia_coli 2.5 45 4.6 0.935
        bacillus_cereus 10 49 4.9 0.95
        clostridium_perfringens 10 52 5.5 0.93
        clostridium_botulinum_proteolytic 10 50 4.7 0.93
        clostridium_botulinum_e 3.3 - - 0.965
        yersinia_enterocolitica 1 44 4.4 -
        """,
    ),
    *_limits(
        ICMSF,
        """
        salmonella 5.2 46.2 3.8 0.94
        staphylococcus_aureus 7 48 4.0 0.83
        listeria_monocytogenes -0.4 45 4.4 0.92
        escherichia_coli 7 46 4.4 0.95
        bacillus_cereus 4 55 5.0 0.93
        clostridium_perfringens 4 50 5.5 0.93
        yersinia_enterocolitica -1.3 42 4.2 -
        """,
    ),
    *_limits(SANCO, "listeria_monocytogenes -1.5 - 4.2 0.90"),
)
ORGANISMS = tuple(dict.fromkeys(limits.organism for limits in LIMITS))


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
            "S. aureus 2064, an isolate of ewe's cheese, in broth (PMC6912147)",
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
    """A square-root model: (b x (T - lowest))², log10 per hour, or a rate at 5 °C in log10 per day."""

    name: str
    lowest_c: Decimal
    up_to_c: Decimal
    source: str
    slope: Decimal | None = None
    rate_at_5: Decimal | None = None


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

# lag of S. aureus 2064 in milk: ln(1/lag) = a + b/T + c/T², lag in h, T in °C
LAG = (Decimal("1.973"), Decimal("-87.92"), Decimal("285.09"))
LAG_LOWEST_C, LAG_HIGHEST_C = Decimal("7.7"), Decimal("38.5")
LAG_SOURCE = "S. aureus 2064 in milk, lag by temperature (PMC6912147)"
