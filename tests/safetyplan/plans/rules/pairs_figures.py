"""Pairs on limits against the figures of a profile. Every boundary names where its figure was printed.

Exactly the figure passes; 0.1 beyond does not. °F to °C: °C = (°F - 32) x 5/9, so 35 °F are 1.666... °C and
161 °F are 71.666... °C.
"""

from tests.safetyplan.plans.rules.pairs_hazards import both
from tests.safetyplan.plans.rules.plans import (
    OPEN,
    WORD,
    Change,
    Data,
    Pair,
    aged,
    bound,
    fresh,
    nested,
    pair,
    put,
    put_parameter,
    vat,
    warmth,
    with_limit,
)

US, EU, GB, CODEX, AU, NZ, CA = (fresh(code) for code in ("us_full", "eu", "gb", "codex", "au", "nz", "ca"))
RAW_US, RAW_AU, RAW_CA = (aged(code) for code in ("us_full", "au", "ca"))


def most(code: str, unit: str, value: str, parameter: str) -> Change:
    """Set a limit of at most so warm that answers to a figure."""
    return with_limit(code, warmth(unit, at_most=value), parameter=parameter)


def least(code: str, limit: Data, parameter: str) -> Change:
    """Set a limit that answers to a figure."""
    return with_limit(code, limit, parameter=parameter)


def days(value: str, unit: str = "d") -> Data:
    """Write days of age."""
    return bound("age", "duration", unit, at_least=value)


def warm(value: str, unit: str) -> Data:
    """Write the least warmth of a room."""
    return warmth(unit, at_least=value)


def cold(base: Data, figure: str, printed: str, unit: str, kept: str, beyond: str) -> Pair:
    """Write a pair on the greatest temperature: the figure itself, and 0.1 beyond."""
    return pair(
        "P021",
        f"{printed}: {beyond} {unit}",
        "O1",
        most("O1", unit, beyond, figure),
        most("O1", unit, kept, figure),
        base=base,
    )


MOST = (
    cold(EU, "milk_temperature_most", "Regulation (EC) 853/2004, annex III, section IX", "degC", "8", "8.1"),
    cold(GB, "milk_at_dairy_most", "Regulation (EC) 853/2004 as retained, chapter II", "degC", "6", "6.1"),
    cold(US, "milk_temperature_most", "Pasteurized Milk Ordinance, table of limits", "degF", "45", "45.1"),
    cold(US, "milk_before_setting_most", "7 CFR 58.439", "degF", "45", "45.1"),
    cold(US, "cold_store_most", "Pasteurized Milk Ordinance (from memory)", "degF", "45", "45.1"),
    cold(CODEX, "milk_temperature_most", "CXC 57-2004, annex I (from memory)", "degC", "6", "6.1"),
    cold(AU, "milk_temperature_most", "Standard 4.2.4, division 5", "degC", "5", "5.1"),
    cold(NZ, "milk_temperature_most", "our own suggestion, no source", "degC", "6", "6.1"),
    cold(CA, "cold_store_most", "our own suggestion, no source", "degC", "4", "4.1"),
    # 45 °F are 7.222... °C
    cold(US, "milk_temperature_most", "45 °F in °C", "degC", "7.2", "7.3"),
    # 8 °C are exactly 46.4 °F
    cold(EU, "milk_temperature_most", "8 °C in °F", "degF", "46.4", "46.5"),
)

TIME_OR_COLD = nested(
    "any_of",
    {"kind": "not_after", "part": "used", "event": "starter_added", "hours": "2"},
    warmth(at_most="8"),
)


def age(base: Data, code: str, printed: str, kept: Data, beyond: Data) -> Pair:
    """Write a pair on ageing."""
    figure = "ageing_days" if code == "O1" else "ageing_temperature_least"
    return pair("P021", printed, code, least(code, beyond, figure), least(code, kept, figure), base=base)


AGEING = (
    age(RAW_US, "O1", "21 CFR 133.182(a): 60 days", days("60"), days("59.9")),
    age(RAW_US, "PRP1", "21 CFR 133.182(a): 35 °F", warm("35", "degF"), warm("34.9", "degF")),
    age(RAW_US, "PRP1", "35 °F is not 1.6 °C", warm("1.7", "degC"), warm("1.6", "degC")),
    age(RAW_CA, "O1", "C.R.C. c. 870, B.08.030(1): 60 days", days("60"), days("59")),
    age(RAW_CA, "PRP1", "C.R.C. c. 870, B.08.030(1): 2 °C", warm("2", "degC"), warm("1.9", "degC")),
    age(RAW_AU, "O1", "Standard 4.2.4, clause 16(1)(b): 90 days", days("90"), days("89.9")),
    age(RAW_AU, "PRP1", "Standard 4.2.4, clause 16(1)(b): 7 °C", warm("7", "degC"), warm("6.9", "degC")),
    age(RAW_US, "O1", "60 days in hours", days("1440", "h"), days("1439", "h")),
    age(
        RAW_US,
        "O1",
        "warmth beside the days",
        nested("all_of", days("60"), warm("35", "degF")),
        nested("all_of", days("60"), warm("34", "degF")),
    ),
)

SIDES = (
    pair(
        "P021",
        "a bound on the other side only",
        "O1",
        least("O1", warmth(at_least="1"), "milk_temperature_most"),
        least("O1", warmth(at_least="1", at_most="8"), "milk_temperature_most"),
        base=EU,
    ),
    pair(
        "P021",
        "of several that must be kept the tightest counts",
        "O1",
        least("O1", nested("all_of", warmth(at_most="9"), WORD), "milk_temperature_most"),
        least(
            "O1",
            nested("all_of", warmth(at_most="8"), {**warmth(at_most="30"), "part": "room"}),
            "milk_temperature_most",
        ),
        base=EU,
    ),
    pair(
        "P021",
        "of several ways the loosest counts",
        "O1",
        least(
            "O1",
            nested("any_of", warmth(at_most="8"), {**warmth(at_most="9"), "part": "tank"}),
            "milk_temperature_most",
        ),
        least("O1", TIME_OR_COLD, "milk_temperature_most"),
        base=EU,
    ),
    pair(
        "P021",
        "a figure changed with a reason is what counts",
        "O1",
        both(most("O1", "degC", "10", "milk_temperature_most")),
        both(
            most("O1", "degC", "10", "milk_temperature_most"),
            put_parameter("milk_temperature_most", value="10", reason="On arrival"),
        ),
        base=EU,
    ),
    pair(
        "P021",
        "known by its words without the key",
        "O1",
        put("O1", name="Milk at receipt", limit=warmth(at_most="8.1"), parameter=""),
        put("O1", name="Curd at receipt", limit=warmth(at_most="8.1"), parameter=""),
        base=EU,
    ),
    pair(
        "P021",
        "ageing speaks of milk that was not pasteurised",
        "O1",
        least("O1", days("30"), "ageing_days"),
        both(least("O1", days("30"), "ageing_days"), put("P", treatment="pasteurised")),
        base=RAW_US,
    ),
    # 350 mU/L: Regulation (EC) 2074/2005, annex VIa, as restated by EFSA 2021
    pair(
        "P021",
        "phosphatase",
        "V1",
        put("V1", how="ISO 11816-1, up to 351 mU/l"),
        put("V1", how="at most 350 mU/L"),
        base=EU,
    ),
)


UNITS = (
    pair(
        "P025",
        "another unit, not looser",
        "O1",
        most("O1", "degC", "7.2", "milk_temperature_most"),
        most("O1", "degF", "45", "milk_temperature_most"),
        "warning",
        US,
    ),
    pair(
        "P025",
        "35 °F is not 1.7 °C",
        "PRP1",
        least("PRP1", warm("1.7", "degC"), "ageing_temperature_least"),
        least("PRP1", warm("35", "degF"), "ageing_temperature_least"),
        "warning",
        RAW_US,
    ),
    pair(
        "P025",
        "days in hours",
        "O1",
        least("O1", days("1440", "h"), "ageing_days"),
        least("O1", WORD, "ageing_days"),
        "warning",
        RAW_US,
    ),
    pair(
        "P025",
        "heat in another unit",
        "CCP1",
        with_limit("CCP1", vat("30", product="63", air="66")),
        with_limit("CCP1", vat("30", "degF", "145", "150")),
        "warning",
        US,
    ),
    pair(
        "P025",
        "another quantity",
        "O1",
        least("O1", WORD, "milk_temperature_most"),
        least("O1", OPEN, "milk_temperature_most"),
        base=EU,
    ),
    pair(
        "P025",
        "a pH for a temperature",
        "O1",
        least("O1", bound("ph", "ph", "pH", at_most="6.8"), "cold_store_most"),
        least("O1", warmth(at_most="5"), "cold_store_most"),
        base=EU,
    ),
    pair(
        "P025",
        "heat without a temperature",
        "CCP1",
        with_limit("CCP1", WORD),
        with_limit("CCP1", vat("30")),
        base=EU,
    ),
    pair(
        "P025",
        "a table that is not kept here",
        "legal:heat_rule",
        put_parameter("heat_rule", value="our_state", reason="The state has its own"),
        put_parameter("heat_rule", value="us_milk", reason="The federal table for milk"),
        "warning",
        US,
    ),
)


def without_figure(code: str) -> Change:
    """Take a figure out of the plan's copy of the profile."""

    def change(document: Data) -> None:
        profile = document["profile"]
        profile["parameters"] = [one for one in profile["parameters"] if one["code"] != code]

    return change


def other_profile(document: Data) -> None:
    """Name a profile that is not kept here."""
    document["profile"]["code"] = "own"
    without_figure("cold_store_most")(document)


FIGURES = (
    pair(
        "P045",
        "a figure changed without a reason",
        "legal:ageing_days",
        put_parameter("ageing_days", value="61"),
        put_parameter("ageing_days", value="61", reason="The buyer asks it"),
        base=RAW_US,
    ),
    pair(
        "P045",
        "the unit changed",
        "legal:cold_store_most",
        put_parameter("cold_store_most", unit="degF"),
        put_parameter("cold_store_most", value="5.0"),
        base=EU,
    ),
    pair(
        "P045",
        "words changed",
        "legal:sampling_criteria",
        put_parameter("sampling_criteria", value="none"),
        base=US,
    ),
    pair(
        "P045",
        "a figure taken out",
        "legal:cold_store_most",
        without_figure("cold_store_most"),
        other_profile,
        base=EU,
    ),
)

PAIRS: tuple[Pair, ...] = (*MOST, *AGEING, *SIDES, *UNITS, *FIGURES)
