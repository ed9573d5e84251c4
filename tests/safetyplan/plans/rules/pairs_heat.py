"""Pairs on heat against the table that a profile names. Every boundary names where its figure was printed."""

from tests.safetyplan.plans.rules.pairs_figures import AU, CA, CODEX, EU, GB, NZ, US, warm
from tests.safetyplan.plans.rules.pairs_hazards import both
from tests.safetyplan.plans.rules.plans import (
    OPEN,
    WORD,
    Data,
    Pair,
    bound,
    nested,
    pair,
    put,
    vat,
    with_limit,
)


def heat(base: Data, printed: str, kept: Data, beyond: Data) -> Pair:
    """Write a pair on a heat treatment."""
    return pair("P021", printed, "CCP1", with_limit("CCP1", beyond), with_limit("CCP1", kept), base=base)


def tube(value: str, unit: str = "degC", seconds: str = "") -> Data:
    """Write the heat of a continuous pasteuriser, with its hold where it is measured."""
    hold = bound("hold", "duration", "s", at_least=seconds)
    return nested("all_of", warm(value, unit), hold) if seconds else warm(value, unit)


HEAT = (
    heat(EU, "853/2004, annex III, section IX, chapter II: 63 °C", vat("30"), vat("30", product="62.9")),
    heat(EU, "853/2004, annex III, section IX, chapter II: 30 min", vat("30"), vat("29.9")),
    heat(
        EU,
        "853/2004, annex III, section IX, chapter II: 72 °C",
        tube("72", seconds="15"),
        tube("71.9", seconds="15"),
    ),
    heat(
        EU,
        "853/2004, annex III, section IX, chapter II: 15 s",
        tube("72", seconds="15"),
        tube("72", seconds="14.9"),
    ),
    heat(EU, "no air space is asked", vat("30", air=None), vat("30", product=None)),
    heat(GB, "853/2004 as retained: 72 °C of a tube", tube("72"), tube("71.9")),
    heat(US, "25 TAC 217.1(68): 145 °F", vat("30", "degF", "145", "150"), vat("30", "degF", "144.9", "150")),
    heat(
        US,
        "air space 5 °F above (from memory)",
        vat("30", "degF", "145", "150"),
        vat("30", "degF", "145", "149.9"),
    ),
    heat(US, "no air space", vat("30", "degF", "145", "150"), vat("30", "degF", "145", None)),
    heat(
        US, "25 TAC 217.1(68): 161 °F is not 71.6 °C", tube("71.7", seconds="15"), tube("71.6", seconds="15")
    ),
    heat(US, "25 TAC 217.1(68): 191 °F for 1 s", tube("191", "degF", "1"), tube("190.9", "degF", "1")),
    heat(CA, "C.R.C. c. 870, B.08.030(1): 61.6 °C", vat("30", product="61.6"), vat("30", product="61.5")),
    heat(CA, "University of Guelph: 16 s at 72 °C", tube("72", seconds="16"), tube("72", seconds="15.9")),
    heat(AU, "standard 4.2.4, clause 15: 72 °C", tube("72", seconds="15"), tube("71.9", seconds="15")),
    # T = 14885 / (log10 14 + 41.97) - 273.1 = 72.13 °C: Australian technical note, January 2013
    heat(AU, "14 s by the Australian formula", tube("72.2", seconds="14"), tube("72.1", seconds="14")),
    heat(CODEX, "CXC 57-2004, annex II (from memory): 63 °C", vat("30"), vat("30", product="62.9")),
    heat(NZ, "as Codex, no text read: 72 °C", tube("72"), tube("71.9")),
    pair(
        "P021",
        "a hold without the key",
        "CCP1",
        put("CCP1", parameter="", limit=vat("29")),
        both(put("CCP1", parameter="", limit=vat("29")), put("P", treatment="thermised")),
    ),
)

RICH = put("P", rich=True)


def rich(base: Data, printed: str, kept: Data, beyond: Data, level: str = "error") -> Pair:
    """Write a pair on a rich product."""
    return pair(
        "P034",
        printed,
        "CCP1",
        both(RICH, with_limit("CCP1", beyond)),
        both(RICH, with_limit("CCP1", kept)),
        level,
        base,
    )


RAISED = (
    rich(
        US,
        "21 CFR 133.3(d), footnote: 150 °F",
        vat("30", "degF", "150", "155"),
        vat("30", "degF", "149.9", "155"),
    ),
    rich(
        US, "air space of a rich product", vat("30", "degF", "150", "155"), vat("30", "degF", "150", "154.9")
    ),
    rich(US, "21 CFR 133.3(d), footnote: 166 °F", tube("166", "degF", "15"), tube("165.9", "degF", "15")),
    rich(CODEX, "more, without a figure (from memory)", vat("30", product="63.1"), vat("30", product="63")),
    # 63 °C and 5 °F of difference (2.777... °C) are 65.78 °C
    rich(EU, "no raise in the table", vat("30", product="65.8"), vat("30", product="65.7"), "warning"),
    pair(
        "P034", "plain milk", "CCP1", both(RICH, with_limit("CCP1", vat("30", "degF", "145", "150"))), base=US
    ),
    pair(
        "P034",
        "no heat limit at all",
        "P",
        both(RICH, put("CCP1", limit=WORD, parameter="")),
        both(RICH, put("CCP1", limit=OPEN)),
        base=US,
    ),
)


PAIRS: tuple[Pair, ...] = (*HEAT, *RAISED)
