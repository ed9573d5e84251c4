"""Pairs on limits, instruments and times of monitoring, and on products.

That a check must come within the hours a limit allows is plain arithmetic; the hours themselves are invented.
"""

from typing import Any

from tests.safetyplan.plans.rules.pairs_hazards import both
from tests.safetyplan.plans.rules.plans import (
    OPEN,
    WORD,
    Change,
    Data,
    Pair,
    acid,
    after,
    aged,
    bound,
    daily,
    nested,
    pair,
    put,
    put_when,
    warmth,
)

RAW = aged()
COLD = warmth(at_most="4", tolerance="0.5")
WASH = {"kind": "not_after", "part": "made", "hours": "24"}
USED = {"kind": "not_after", "part": "used", "event": "starter_added", "hours": "2"}
AGEING = {
    "kind": "not_before",
    "part": "temperature",
    "event": "packed",
    "days": "60",
    "unit": "degC",
    "at_least": "4",
    "coverage_hours": "12",
}
COUNTED = {**AGEING, "part": "days_at_temperature", "counted": True}
MILK = {
    "kind": "exposure",
    "part": "temperature",
    "unit": "degC",
    "food": "finished_cheese",
    "event": "starter_added",
    "until": None,
    "bands": [{"above": "10", "at_most_minutes": "300"}],
    "longest_gap_minutes": 60,
}


def limit(code: str, document: Data, **more: Any) -> Change:
    """Change a limit that answers to no figure of the profile."""
    return put(code, limit=document, parameter="", **more)


def due(code: str, document: Data, when: Data) -> Change:
    """Change a limit and when its check is due."""
    return both(limit(code, document), put_when(code, when))


def again(code: str, document: Data, minutes: int) -> Change:
    """Change a limit and how soon it is measured again."""
    return limit(code, document, measure_next_minutes=minutes)


INSTRUMENTS = (
    pair("P013", "a limit that no check can show", "PRP2", limit("PRP2", AGEING), limit("PRP2", COUNTED)),
    pair(
        "P013",
        "one inside another",
        "PRP2",
        limit("PRP2", nested("all_of", WORD, AGEING)),
        limit("PRP2", nested("all_of", WORD, COLD)),
    ),
    pair(
        "P023",
        "coarser than the tolerance",
        "O1",
        limit("O1", COLD, resolution="0.6"),
        limit("O1", COLD, resolution="0.5"),
    ),
    pair(
        "P023",
        "coarser than the last digit",
        "CCP2",
        put("CCP2", limit={**acid(("24", "4.60")), "tolerance": "0.1"}, resolution="0.02"),
        put("CCP2", limit={**acid(("24", "4.60")), "tolerance": "0.1"}, resolution="0.01"),
    ),
    pair(
        "P023",
        "whole degrees",
        "O1",
        limit("O1", warmth(at_most="4"), resolution="2"),
        limit("O1", warmth(at_most="4"), resolution="1"),
    ),
    pair(
        "P023",
        "a tenth of a degree",
        "O1",
        limit("O1", warmth(at_most="4.5"), resolution="0.5"),
        limit("O1", warmth(at_most="4.5"), resolution="0.1"),
    ),
    pair(
        "P023",
        "a strip in steps of a hundred",
        "O1",
        limit("O1", bound("strength", "strength_ppm", "ppm", at_least="150"), resolution="100"),
        limit(
            "O1", bound("strength", "strength_ppm", "ppm", at_least="100", at_most="200"), resolution="100"
        ),
    ),
    pair("P023", "the hold of a vat", "CCP1", put("CCP1", resolution="0.5"), put("CCP1", resolution="0.25")),
    pair(
        "P023",
        "inside another, in one unit",
        "O1",
        limit("O1", nested("all_of", COLD, WORD), resolution="1"),
        limit("O1", nested("all_of", COLD, bound("ph", "ph", "pH", at_most="6.8")), resolution="1"),
    ),
)

TIMES = (
    pair(
        "P024",
        "the check may come after the deadline",
        "O1",
        due("O1", USED, after("starter_added", 60, 61)),
        due("O1", USED, after("starter_added", 60, 60)),
    ),
    pair(
        "P024",
        "reached by an hour, inside another limit",
        "O1",
        due("O1", nested("all_of", acid(("6", "5.8")), WORD), after("starter_added", 300, 90)),
        due("O1", nested("all_of", acid(("6", "5.8")), WORD), after("starter_added", 300, 60)),
    ),
    pair(
        "P024",
        "cumulative warmth",
        "O1",
        due("O1", MILK, after("starter_added", 240, 90)),
        due("O1", MILK, after("starter_added", 240, 60)),
    ),
    pair(
        "P024",
        "from another event",
        "O1",
        due("O1", USED, after("starter_added", 240)),
        due("O1", USED, after("packed", 240)),
    ),
    pair(
        "P024",
        "where another way is open",
        "O1",
        due(
            "O1",
            nested("any_of", USED, {**USED, "part": "cooled", "hours": "3"}),
            after("starter_added", 180, 60),
        ),
        due("O1", nested("any_of", USED, COLD), after("starter_added", 180, 60)),
    ),
    pair(
        "P024",
        "a wash looked at too seldom",
        "PRP1",
        due("PRP1", {**WASH, "hours": "23"}, daily("07:00")),
        due("PRP1", WASH, daily("07:00")),
    ),
    pair(
        "P024",
        "the night between two checks",
        "PRP1",
        due("PRP1", {**WASH, "hours": "13"}, daily("07:00", "17:00")),
        due("PRP1", {**WASH, "hours": "14"}, daily("17:00", "07:00")),
    ),
    pair(
        "P024",
        "the hours a reading of ageing covers",
        "PRP1",
        due("PRP1", AGEING, daily("07:00")),
        due("PRP1", AGEING, daily("07:00", "19:00")),
    ),
    pair(
        "P024",
        "the longest gap of an exposure",
        "PRP1",
        due("PRP1", MILK, daily("07:00", "19:00")),
        due("PRP1", {**MILK, "longest_gap_minutes": 720}, daily("07:00", "19:00")),
    ),
    pair(
        "P024",
        "measured again after the next deadline",
        "CCP2",
        again("CCP2", acid(("16", "4.9"), ("24", "4.6")), 481),
        again("CCP2", acid(("16", "4.9"), ("24", "4.6")), 480),
    ),
    pair(
        "P024",
        "measured again after the only deadline",
        "PRP1",
        again("PRP1", WASH, 1441),
        again("PRP1", WASH, 1440),
    ),
)


def product(**values: Any) -> Change:
    """Change the product."""
    return put("P", **values)


def label(text: str) -> Change:
    """Change the label."""
    return product(label=text)


def language(code: str, text: str) -> Change:
    """Write the plan in another language, with its label."""
    return both(lambda document: document.update(language=code), label(text))


def without_phosphatase(document: Data) -> None:
    """Leave the verification by phosphatase out."""
    document["verifications"] = []


EGG = {"allergens": ["milk", "egg"]}
SEMI_HARD = aged("eu")
CODEX = aged("codex")

PRODUCTS = (
    pair(
        "P027",
        "the allergen is not on the label",
        "P",
        product(**EGG),
        product(**EGG, label="Contains: MILK, Egg."),
    ),
    pair("P027", "only a part of a word", "P", label("Contains buttermilk"), label("contains MILK")),
    pair("P027", "no allergen at all", "P", product(allergens=[]), product(allergens=["milk"])),
    pair(
        "P027",
        "an allergen of two words",
        "P",
        product(allergens=["tree nuts"], label="Tree-nuts, milk"),
        product(allergens=["tree nuts"], label="Contains tree  Nuts."),
    ),
    pair(
        "P035",
        "a shelf life without evidence",
        "P",
        product(shelf_life_evidence=" "),
        product(shelf_life_evidence="", shelf_life_days=0),
        "warning",
    ),
    # "made with raw milk": Regulation (EC) 853/2004, annex III, section IX, chapter IV (from memory)
    pair(
        "P036",
        "not in the words of the profile",
        "P",
        label("Raw milk. Contains milk."),
        label("MADE with raw  milk"),
        base=SEMI_HARD,
    ),
    pair(
        "P036", "nothing of raw milk", "P", label("Goat milk cheese"), label("Of raw goat’s milk"), base=CODEX
    ),
    pair(
        "P036",
        "pasteurised is not raw",
        "P",
        label("Pasteurised milk"),
        label("Unpasteurized milk"),
        base=CODEX,
    ),
    pair("P036", "raw, but what", "P", label("Raw. Contains milk."), label("Raw. Raw ewe milk."), base=CODEX),
    pair(
        "P036",
        "thermised milk need not",
        "P",
        label("Contains milk"),
        product(label="Contains milk", treatment="thermised"),
        base=CODEX,
    ),
    pair(
        "P036",
        "another language",
        "P",
        language("de", "Mit Rohmilch"),
        product(treatment="thermised"),
        "warning",
        RAW,
    ),
)

# about 6 h: common practice, after a trial of one uncooked semi-hard cheese (J Food Prot 2006)
EARLY = (
    pair(
        "P032",
        "only a pH at 24 h",
        "P",
        limit("CCP2", acid(("24", "5.3"))),
        limit("CCP2", acid(("6", "5.8"))),
        "warning",
        RAW,
    ),
    pair(
        "P032",
        "later than 7 h",
        "P",
        limit("CCP2", acid(("7.1", "5.8"))),
        limit("CCP2", acid(("7", "5.8"))),
        "warning",
        RAW,
    ),
    pair(
        "P032",
        "before 5 h",
        "P",
        limit("CCP2", acid(("4.9", "6.0"))),
        limit("CCP2", acid(("5", "6.0"))),
        "warning",
        RAW,
    ),
    pair(
        "P032",
        "no acid at all",
        "P",
        both(limit("CCP2", WORD), put_when("CCP2", after("starter_added", 360))),
        both(
            limit("CCP2", bound("ph", "ph", "pH", at_most="5.8")),
            put_when("CCP2", after("starter_added", 360)),
        ),
        "warning",
        RAW,
    ),
    pair(
        "P032",
        "while the limit is open nobody can tell",
        "P",
        limit("CCP2", acid(("24", "5.3"))),
        limit("CCP2", OPEN),
        "warning",
        RAW,
    ),
    pair(
        "P032",
        "a blue is another cheese",
        "P",
        both(limit("CCP2", acid(("24", "5.3"))), product(family="washed_curd", treatment="thermised")),
        both(limit("CCP2", acid(("24", "5.3"))), product(family="blue")),
        "warning",
        RAW,
    ),
    pair(
        "P033",
        "no phosphatase",
        "P",
        without_phosphatase,
        both(without_phosphatase, product(treatment="thermised")),
    ),
    pair("P033", "of another product", "P", put("V1", controls=["CCP9"]), put("V1", controls=["CCP1"])),
    pair(
        "P033",
        "another verification",
        "P",
        put("V1", kind="milk_test"),
        both(put("V1", kind="milk_test"), limit("PRP2", {**WORD, "part": "phosphatase"})),
    ),
)

PAIRS: tuple[Pair, ...] = (*INSTRUMENTS, *TIMES, *PRODUCTS, *EARLY)
