"""Heat treatment as data: the pairs of time and temperature of each rule, and what organisms withstand.

A pair stands in the unit of its rule; the two columns of a printed table are rounded apart (161 °F is
71.67 °C, printed as 72 °C), so only one of them is kept. A second, older pair of 143 °F for 30 min in
21 CFR 133.118 and 133.188 contradicts 133.3(d) and is left out. No text for New Zealand was found, so there
is no rule of that name. "From memory" in a source: the figure was not seen in print.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True)
class Row:
    """One pair of a rule: the temperature in the unit of the rule, the hold in seconds, its own source."""

    temperature: Decimal
    hold_seconds: Decimal
    source: str


@dataclass(frozen=True)
class Raise:
    """How much more a rule asks of a rich product, and what makes a product rich.

    A trigger that is None or False does not count under that rule. marked: the holds whose rows carry the
    raise in print; on the other rows it is applied all the same, being the stricter reading.
    """

    by: Decimal
    fat_percent: Decimal | None
    solids_percent: Decimal | None
    sweetened: bool
    concentrated: bool
    marked: tuple[Decimal, ...]
    source: str


@dataclass(frozen=True)
class Rule:
    """A rule on pasteurisation: its rows, its raise, and how far above the product the air space must be.

    air_space_above: difference in the unit of the rule, for batch holds; None when the rule has no figure.
    equivalence: other holds by the Australian formula. raise_unknown: the rule asks more of a rich product
    without a figure.
    """

    name: str
    unit: str
    rows: tuple[Row, ...]
    richer: Raise | None = None
    air_space_above: Decimal | None = None
    air_space_source: str = ""
    equivalence: bool = False
    raise_unknown: bool = False


def _rows(source: str, pairs: str) -> tuple[Row, ...]:
    """Rows from text such as "145:1800 161:15"."""
    found = (pair.split(":") for pair in pairs.split())
    return tuple(Row(Decimal(temperature), Decimal(hold), source) for temperature, hold in found)


_CFR_CHEESE = "21 CFR 133.3(d), dairy ingredients of cheese"
_CFR_MILK = "21 CFR 1240.61(b), pairs as in 21 CFR 131.3"
_TEXAS = "25 TAC 217.1(68), figure (A), a state table following the Grade A Pasteurized Milk Ordinance"
_MICHIGAN = "MCL 288.697, section 137 (Michigan)"
_PMO_AIR = "Grade A Pasteurized Milk Ordinance, item 16p (from memory)"
_EU = "Regulation (EC) 853/2004, annex III, section IX, chapter II, part II"
_GB = "Regulation (EC) 853/2004 as retained in Great Britain, annex III, section IX, chapter II, part II"
_CODEX = "CXC 57-2004, annex II, appendix B (from memory)"
_CANADA = "Food and Drug Regulations, C.R.C. c. 870, B.08.030(1)"
_CANADA_16 = (
    "University of Guelph, notes on the making of cheese, hygiene part (a teaching text, not the law)"
)
_AUSTRALIA = "Food Standards Code, standard 4.2.4, clause 15, as quoted by a dairy"
_AUSTRALIA_FORMULA = (
    "Australian technical note on HTST milk pasteurisation, January 2013: "
    "T = 14885 / (log10 t + 41.97) - 273.1"
)

_SEVEN = "145:1800 161:15 191:1.0 194:0.5 201:0.1 204:0.05 212:0.01"
_FIRST_TWO = (Decimal(1800), Decimal(15))
_TEN, _FIVE = Decimal(10), Decimal(5)

RULES: Mapping[str, Rule] = {
    rule.name: rule
    for rule in (
        Rule(
            "us_cheese",
            "degF",
            _rows(_CFR_CHEESE, "145:1800 161:15 191:1.0 204:0.05 212:0.01"),
            Raise(_FIVE, _TEN, None, False, False, _FIRST_TWO, "21 CFR 133.3(d), footnote: fat only"),
            _FIVE,
            _PMO_AIR,
        ),
        Rule(
            "us_milk",
            "degF",
            _rows(_CFR_MILK, _SEVEN),
            Raise(
                _FIVE, _TEN, None, True, False, _FIRST_TWO, "21 CFR 1240.61(b), footnote: fat or sweetener"
            ),
            _FIVE,
            _PMO_AIR,
        ),
        Rule(
            "us_ordinance",
            "degF",
            _rows(_TEXAS, _SEVEN),
            Raise(_FIVE, _TEN, Decimal(18), True, True, _FIRST_TWO, f"{_TEXAS}, note"),
            _FIVE,
            _PMO_AIR,
        ),
        Rule(
            "us_michigan",
            "degF",
            _rows(_MICHIGAN, _SEVEN),
            Raise(
                _FIVE, _TEN, None, True, True, tuple(row.hold_seconds for row in _rows("", _SEVEN)), _MICHIGAN
            ),
            _FIVE,
            _PMO_AIR,
        ),
        Rule("eu_hygiene", "degC", _rows(_EU, "63:1800 72:15")),
        Rule("gb_hygiene", "degC", _rows(_GB, "63:1800 72:15")),
        Rule("codex_hygiene", "degC", _rows(_CODEX, "63:1800 72:15"), raise_unknown=True),
        Rule("canada_law", "degC", (*_rows(_CANADA, "61.6:1800"), *_rows(_CANADA_16, "72:16"))),
        Rule("australia_code", "degC", _rows(_AUSTRALIA, "72:15"), equivalence=True),
    )
}

# T = A / (log10 t + B) - C in °C with t in s; the printed table has the rows 1 to 14 s
EQUIVALENCE_A, EQUIVALENCE_B, EQUIVALENCE_C = 14885.0, 41.97, 273.1
EQUIVALENCE_SHORTEST, EQUIVALENCE_LONGEST, EQUIVALENCE_FAT_BELOW = Decimal(1), Decimal(14), Decimal(10)
EQUIVALENCE_SOURCE = _AUSTRALIA_FORMULA

# what other rules do, where a rule has no figure of its own; shown beside the result and never judged by
PRACTICE_AIR_SPACE_ABOVE: Mapping[str, Decimal] = {"degC": Decimal(3), "degF": _FIVE}
PRACTICE_RICH_FAT_PERCENT, PRACTICE_RICH_SOLIDS_PERCENT = _TEN, Decimal(18)


@dataclass(frozen=True)
class Thermisation:
    """A heat treatment below pasteurisation: where, temperatures in °C, shortest time in seconds, source."""

    where: str
    low_c: Decimal
    high_c: Decimal
    seconds: Decimal
    source: str


THERMISATIONS: tuple[Thermisation, ...] = (
    Thermisation(
        "great_britain",
        Decimal(57),
        Decimal(68),
        Decimal(15),
        "Dairy Products (Hygiene) Regulations 1995, SI 1995/1086, schedule 5 part II (historic); "
        "the phosphatase test stays positive",
    ),
    Thermisation(
        "canada", Decimal(55), Decimal(65), Decimal(16), f"{_CANADA_16}: still raw milk for the 60-day rule"
    ),
    Thermisation(
        "australia",
        Decimal("64.5"),
        Decimal("64.5"),
        Decimal(16),
        "Standard 4.2.4, clause 16(1)(b), text of 2012: only together with 90 days at 7 °C or warmer",
    ),
)


@dataclass(frozen=True)
class PhosphataseLimit:
    """The alkaline phosphatase up to which a test counts as negative, in mU/L; law: False for an opinion."""

    name: str
    milliunits_per_l: Decimal
    exactly_passes: bool
    law: bool
    source: str


_EFSA = "EFSA Journal 2021;19(4):6576"
PHOSPHATASE: Mapping[str, PhosphataseLimit] = {
    limit.name: limit
    for limit in (
        PhosphataseLimit(
            "cow_milk",
            Decimal(350),
            True,
            True,
            f"Regulation (EC) 2074/2005, annex VIa, ISO 11816-1, as restated in {_EFSA}",
        ),
        PhosphataseLimit("goat_milk", Decimal(300), True, False, f"{_EFSA} (an opinion, not law)"),
        PhosphataseLimit("sheep_milk", Decimal(500), True, False, f"{_EFSA} (an opinion, not law)"),
        PhosphataseLimit(
            "us_grade_a", Decimal(350), False, True, "Grade A Pasteurized Milk Ordinance, table 1 (less than)"
        ),
    )
}


@dataclass(frozen=True)
class Organism:
    """The heat resistance of an organism in one medium: D in seconds at `at_c`, z, and the range studied.

    z_c is None where only one temperature was studied, which is then the whole range. pilot_c: the
    temperature at which 15 s in a pilot plant killed more than 6.7 log10 of it, where that was measured.
    above_line: how many times the D of the line the single D measured in the study reach (1: none printed).
    in_milk: False for a figure kept to check the arithmetic, not to be used for milk.
    """

    name: str
    d_s: Decimal
    at_c: Decimal
    z_c: Decimal | None
    low_c: Decimal
    high_c: Decimal
    source: str
    pilot_c: Decimal | None = None
    above_line: Decimal = Decimal(1)
    in_milk: bool = True


def _organism(
    name: str, figures: str, source: str, *, pilot_c: str = "", above_line: str = "1", in_milk: bool = True
) -> tuple[str, Organism]:
    """An organism from text "D at z low high"; z is "-" where it is not known."""
    d_s, at_c, z_c, low_c, high_c = figures.split()
    return name, Organism(
        name,
        Decimal(d_s),
        Decimal(at_c),
        None if z_c == "-" else Decimal(z_c),
        Decimal(low_c),
        Decimal(high_c),
        source,
        Decimal(pilot_c) if pilot_c else None,
        Decimal(above_line),
        in_milk,
    )


_COXIELLA = "IAFP 2016, abstract of paper 11323: D at 71.7 °C only"
PILOT_PLANT_LOG10 = Decimal("6.7")
PILOT_PLANT_SECONDS = Decimal(15)
PILOT_PLANT_SOURCE = "Pearce 2012, J Dairy Sci 95:20, turbulent pilot plant, 15 s, more than 6.7 log10"

ORGANISMS: Mapping[str, Organism] = dict(
    (
        _organism(
            "listeria_whole_milk",
            "0.9 71.7 6.3 52.2 74.4",
            "Bradshaw 1985, J Food Prot 48:743; measured 1683.7 s at 52.2 °C and 0.7 s at 74.4 °C",
            pilot_c="65.5",
            above_line="2.1",
        ),
        _organism(
            "listeria_milks_and_cream",
            "2.7 71.7 - 71.7 71.7",
            "Bradshaw 1987, J Food Prot 50:543; worst D of 0.9 to 2.7 s",
            pilot_c="65.5",
        ),
        _organism(
            "listeria_foods",
            "20 70 7.5 60 85",
            "FDA fish and fishery products guidance, app. 4, table A-3: 6D in 2 min at 70 °C (z from memory)",
            pilot_c="65.5",
        ),
        _organism(
            "salmonella_milk",
            "5.7 62.8 5.29 62.8 68.3",
            "Read 1968, Appl Microbiol, isolates from dry milk; longest D, z from the end points",
            pilot_c="61.5",
            above_line="1.1",
        ),
        _organism(
            "salmonella_senftenberg",
            "1.2 71.7 4.52 65.5 73.9",
            "Read 1968, Appl Microbiol, strain 775W, unusually heat resistant; z by regression",
            above_line="1.5",
        ),
        _organism(
            "staphylococcus_whey",
            "7.2 65.6 6.39 60 68.3",
            "IAFP 2017, abstract of paper 15226, whey of pH 6.5; z from the four printed D (6.1 printed)",
            pilot_c="66.5",
            above_line="1.6",
        ),
        _organism(
            "staphylococcus_milk",
            "52.2 60 9.46 50 75",
            "study of 1977 in milk: D 0.87 min at 60 °C",
            pilot_c="66.5",
        ),
        _organism("coxiella_cow_milk", "1.99 71.7 - 71.7 71.7", _COXIELLA),
        _organism("coxiella_goat_milk", "2.06 71.7 - 71.7 71.7", _COXIELLA),
        _organism("coxiella_camel_milk", "1.43 71.7 - 71.7 71.7", _COXIELLA),
        _organism(
            "escherichia_ground_turkey",
            "113.4 60 6.5 55 65",
            "Juneja and Marmer 1999, Food Res Int 32:23, ground turkey: to check the arithmetic only",
            in_milk=False,
        ),
    )
)

# Kessler, Food Engineering and Dairy Technology, 1981 (from memory): p* is 1 for 15 s at 72 °C with z of 8 °C
PASTEURISATION_EFFECT_SECONDS = Decimal(15)
PASTEURISATION_EFFECT_C = Decimal(72)
PASTEURISATION_EFFECT_Z_C = Decimal(8)
PASTEURISATION_EFFECT_SOURCE = "Kessler 1981, Food Engineering and Dairy Technology (from memory)"
