"""Published sampling criteria of cheese and of raw milk, as data with their source.

They are offered for choice, never applied by themselves: which of them binds a dairy is for its regulator.
`provenance` is "read" where the figures were seen in a public copy, "memory" where they were not. Left out on
purpose: the Canadian limits (repealed by SOR/2024-244; the table that followed was not seen) and the
categories of a British survey of raw-milk cheese (below 20, from 100 E. coli per gram), which are no plan.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from safetyplan.calculation.sampling import Plan

Provenance = Literal["read", "memory"]
Aim = Literal["food_safety", "process_hygiene"]
Species = Literal["cow", "other"]
Item = Literal["plate_count", "somatic_cells"]

# A batch with a sample above it is tested for enterotoxin. Source: Regulation (EC) No 2073/2005, annex I,
# 2.2.3 to 2.2.5 (read in copies of 1441/2007).
TOXIN_TEST_ABOVE = Decimal(100_000)


@dataclass(frozen=True)
class Criterion:
    """One criterion for cheese: the plan, in CFU/g, or per sample of `grams` where it is for presence.

    aim: "food_safety" for product on the market, "process_hygiene" for the make. stage: where the samples are
    taken.
    """

    name: str
    organism: str
    plan: Plan
    grams: Decimal | None
    aim: Aim
    stage: str
    source: str
    provenance: Provenance


_EU = "Regulation (EC) No 2073/2005, annex I"
_S27 = "Australia New Zealand Food Standards Code, schedule 27"
_STAPH = "coagulase_positive_staphylococci"
_LISTERIA = "listeria_monocytogenes"
_COLI = "e_coli"
_TOXIN = "staphylococcal_enterotoxins"
_MARKET = "on the market, during shelf life"
_HIGHEST = "when the count is expected to be highest"
_SAFETY: Aim = "food_safety"
_HYGIENE: Aim = "process_hygiene"

# name, organism, plan (n c m M, m and M in CFU/g), grams of a sample tested for presence, aim, stage, source,
# provenance. A row without M has two classes (the annex writes m = M there).
_CHEESE: tuple[tuple[str, str, str, str, Aim, str, str, Provenance], ...] = (
    ("eu_e_coli_heated_milk", _COLI, "5 2 100 1000", "", _HYGIENE, _HIGHEST, f"{_EU}, 2.2.2", "read"),
    ("eu_staph_raw_milk", _STAPH, "5 2 10000 100000", "", _HYGIENE, _HIGHEST, f"{_EU}, 2.2.3", "read"),
    ("eu_staph_mild_or_ripened", _STAPH, "5 2 100 1000", "", _HYGIENE, _HIGHEST, f"{_EU}, 2.2.4", "read"),
    ("eu_staph_fresh", _STAPH, "5 2 10 100", "", _HYGIENE, "end of make", f"{_EU}, 2.2.5", "read"),
    ("eu_listeria_kept_low", _LISTERIA, "5 0 100", "", _SAFETY, _MARKET, f"{_EU}, 1.2 (a)", "read"),
    ("eu_listeria_no_growth", _LISTERIA, "5 0 100", "", _SAFETY, _MARKET, f"{_EU}, 1.3", "read"),
    # until 30 June 2026 before it leaves the producer, from then on the market (Regulation (EU) 2024/2895)
    ("eu_listeria_growth", _LISTERIA, "5 0", "25", _SAFETY, _MARKET, f"{_EU}, 1.2 (b)", "read"),
    ("eu_listeria_infants", _LISTERIA, "10 0", "25", _SAFETY, _MARKET, f"{_EU}, 1.1", "read"),
    # not where ripening time and water activity are shown to leave no risk
    ("eu_salmonella_mild", "salmonella", "5 0", "25", _SAFETY, _MARKET, f"{_EU}, 1.11", "read"),
    # n, 25 g and the stage were read, c was not
    ("eu_enterotoxin", _TOXIN, "5 0", "25", _SAFETY, _MARKET, f"{_EU}, 1.21", "memory"),
    ("anz_e_coli", _COLI, "5 1 10 100", "", _SAFETY, _MARKET, _S27, "read"),
    ("anz_listeria_no_growth", _LISTERIA, "5 0 100", "", _SAFETY, _MARKET, _S27, "memory"),
    ("anz_listeria_growth", _LISTERIA, "5 0", "25", _SAFETY, _MARKET, _S27, "memory"),
    ("anz_salmonella_raw_milk", "salmonella", "5 0", "25", _SAFETY, _MARKET, _S27, "read"),
    # soft and semi-soft, moisture above 39 % and pH above 5.0
    ("anz_salmonella_soft", "salmonella", "5 0", "25", _SAFETY, _MARKET, _S27, "read"),
    ("anz_enterotoxin_raw_milk", _TOXIN, "5 0", "25", _SAFETY, _MARKET, _S27, "read"),
)


def _plan(text: str) -> Plan:
    n, c, *bounds = text.split()
    m, upper = [*map(Decimal, bounds), None, None][:2]
    return Plan(int(n), int(c), m, upper)


CRITERIA: Mapping[str, Criterion] = {
    name: Criterion(
        name, organism, _plan(plan), Decimal(grams) if grams else None, aim, stage, source, provenance
    )
    for name, organism, plan, grams, aim, stage, source, provenance in _CHEESE
}


@dataclass(frozen=True)
class MilkCriterion:
    """A rolling geometric mean of raw milk: `at_most` per ml over `months` calendar months.

    raw_product: for milk whose product is made without any heat treatment.
    """

    name: str
    species: Species
    item: Item
    raw_product: bool
    at_most: Decimal
    months: int
    least_per_month: int
    source: str
    provenance: Provenance


_MILK = "Regulation (EC) No 853/2004, annex III, section IX, chapter I, part III, 3"

# name, species, item, raw product, per ml, months, samples per month. The regulation sets no somatic cell
# count for other species (from memory).
_RAW_MILK: tuple[tuple[str, Species, Item, bool, int, int, int], ...] = (
    ("eu_cow_plate_count", "cow", "plate_count", False, 100_000, 2, 2),
    ("eu_other_plate_count", "other", "plate_count", False, 1_500_000, 2, 2),
    ("eu_other_plate_count_raw", "other", "plate_count", True, 500_000, 2, 2),
    ("eu_cow_somatic_cells", "cow", "somatic_cells", False, 400_000, 3, 1),
)

MILK_CRITERIA: Mapping[str, MilkCriterion] = {
    name: MilkCriterion(name, species, item, raw_product, Decimal(at_most), months, least, _MILK, "read")
    for name, species, item, raw_product, at_most, months, least in _RAW_MILK
}


@dataclass(frozen=True)
class LastOfCriterion:
    """Raw milk of one producer, sample by sample: at most `most` of the last `of` above `above` per ml."""

    name: str
    item: Item
    above: Decimal
    most: int
    of: int
    source: str
    provenance: Provenance


# The figures were read in a handbook table and a university page; that action follows three of the last five
# is from memory. Goat's and sheep's cell counts differ between editions and are left out.
_ORDINANCE = "Grade A Pasteurized Milk Ordinance, raw milk of one producer, and section 6"

# name, item, per ml
_LAST_OF: tuple[tuple[str, Item, int], ...] = (
    ("us_plate_count", "plate_count", 100_000),
    ("us_cow_somatic_cells", "somatic_cells", 750_000),
)

LAST_OF_CRITERIA: Mapping[str, LastOfCriterion] = {
    name: LastOfCriterion(name, item, Decimal(above), 2, 5, _ORDINANCE, "memory")
    for name, item, above in _LAST_OF
}
