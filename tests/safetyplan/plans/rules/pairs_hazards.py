"""Pairs on the hazard analysis and on determinations."""

from typing import Any

from tests.safetyplan.plans.rules.plans import (
    CRITICAL,
    WORD,
    Change,
    Data,
    Pair,
    after,
    aged,
    bound,
    control,
    item,
    nested,
    pair,
    put,
    warmth,
)

RAW = aged()


def both(*changes: Change) -> Change:
    """Make several changes."""

    def change(document: Data) -> None:
        for one in changes:
            one(document)

    return change


def later(**values: Any) -> Change:
    """Carry the hazard of the milk to a later step."""
    carried = {"step": "receive", "where": "later_step", "controlled_step": "heat"}
    return put("H1", **{**carried, **values})


def loop(document: Data) -> None:
    """Let the flow go back from packing to the start: rework."""
    steps = item(document, "P")["steps"]
    next(one for one in steps if one["code"] == "pack")["next"] = ["store", "receive"]


def by_ageing(**values: Any) -> Change:
    """Let days of age hold a hazard of the raw-milk cheese."""
    held = {"name": "STEC in the milk", "agent": "stec", "controlled_by": "O1"}
    return put("H1", **{**held, **values})


def limit_of(code: str, limit: Data) -> Change:
    """Change a limit that answers to no figure."""
    return put(code, limit=limit, parameter="")


DAYS = bound("age", "duration", "d", at_least="60")
COOL = warmth("degF", at_least="35")
ACID_TOO = bound("ph", "ph", "pH", at_most="5.3")
HOURS = bound("hold", "duration", "h", at_least="2")

ROWS = (
    pair("P002", "a significant hazard without a control", "H2", put("H2", controlled_by="")),
    pair("P002", "a control that is not in the plan", "H2", put("H2", controlled_by="CCP9")),
    pair(
        "P002",
        "a prerequisite that is not in the plan",
        "H3",
        put("H3", controlled_by="PR-GONE"),
        put("H3", controlled_by="PR"),
    ),
    pair("P003", "no reason", "H5", put("H5", reason=" "), put("H5", reason="Never seen")),
    pair("P026", "carried to no step", "H1", later(controlled_step="smoke"), later()),
    pair("P026", "carried back", "H1", later(step="acidify"), later(step="receive")),
    pair("P026", "carried to its own step", "H1", later(step="heat"), later()),
    pair("P026", "its own step in a loop", "H1", both(loop, later(step="heat")), both(loop, later())),
    pair(
        "P047",
        "later, but where",
        "H1",
        later(controlled_step=""),
        later(controlled_step="", significant=False),
    ),
    pair("P048", "no severity", "H2", put("H2", severity=""), level="warning"),
    pair("P048", "no likelihood", "H5", put("H5", likelihood=" "), level="warning"),
    pair("P048", "neither", "H6", put("H6", severity="", likelihood=""), level="warning"),
    pair(
        "P029",
        "nobody looked at the room",
        "P",
        put("H3", group=""),
        both(put("H3", group=""), put("P", exposed=False)),
    ),
    pair("P029", "no reason given for the room", "P", put("H3", reason=""), put("H3", products=[], step="")),
)

AGEING = (
    pair("P031", "days of age against STEC", "H1", by_ageing(), by_ageing(agent="", name="Mites"), base=RAW),
    pair(
        "P031",
        "named so without an agent",
        "H1",
        by_ageing(agent="", name="Shiga-toxin E. coli O157"),
        base=RAW,
    ),
    pair("P031", "called not significant", "H1", by_ageing(significant=False), base=RAW),
    pair(
        "P031",
        "Listeria, and the key tells",
        "H3",
        put("H3", agent="listeria_monocytogenes", controlled_by="O1"),
        base=RAW,
    ),
    pair(
        "P031",
        "days without the key",
        "H1",
        both(by_ageing(), limit_of("O1", DAYS)),
        both(by_ageing(), limit_of("O1", HOURS)),
        base=RAW,
    ),
    pair(
        "P031",
        "days and warmth",
        "H1",
        both(by_ageing(), limit_of("O1", nested("all_of", DAYS, COOL))),
        both(by_ageing(), limit_of("O1", nested("all_of", DAYS, ACID_TOO))),
        base=RAW,
    ),
    pair(
        "P031",
        "the measure says nothing else",
        "H1",
        put("H1", agent="stec", measure="Ageing for at least 60 days at 35 °F"),
        put("H1", agent="stec", measure="Acid by the hour, salt, and ageing for 60 days"),
        base=RAW,
    ),
)


def tree(code: str, name: str, reason: str = "", **answers: str) -> Change:
    """Answer a decision tree for a hazard."""
    return put(code, determination={"tree": name, "answers": answers, "reason": reason})


LATER = {"q1": "no", "q2": "yes", "q3": "yes"}
CHANGE = {**CRITICAL, "q4": "no"}
SIEVE = control("O2", "oprp", "Sieve", "heat", WORD, after("started"))


def by_oprp(document: Data) -> None:
    """Hold the hazard by an operational prerequisite."""
    document["controls"].append(SIEVE)
    item(document, "H1")["controlled_by"] = "O2"


DETERMINATIONS = (
    pair(
        "P039",
        "no determination",
        "H2",
        lambda d: item(d, "H2").pop("determination") and None,
        level="warning",
    ),
    pair(
        "P039",
        "a tree left in the middle",
        "H2",
        tree("H2", "codex_2022", q1="no", q2="yes"),
        tree("H2", "codex_2022", **CRITICAL),
        level="warning",
    ),
    pair(
        "P040",
        "critical for the tree, not for the plan",
        "H1",
        by_oprp,
        both(by_oprp, tree("H1", "codex_2022", "A sieve is enough: own trial", **CRITICAL)),
    ),
    pair(
        "P040",
        "critical for the plan, routine for the tree",
        "H1",
        tree("H1", "codex_2022", q1="yes"),
        tree("H3", "codex_2022", q1="yes"),
    ),
    pair("P040", "no measure for the tree", "H1", tree("H1", "codex_2022", q1="no", q2="no")),
    pair(
        "P040",
        "later for the tree, here for the plan",
        "H1",
        tree("H1", "codex_2022", **LATER),
        both(later(), tree("H1", "codex_2022", **LATER)),
    ),
    pair("P040", "critical here for the tree, later for the plan", "H1", later()),
    pair(
        "P040",
        "the tree asks for another process",
        "H1",
        tree("H1", "codex_2022", **CHANGE),
        tree("H1", "codex_2022", "The sieve comes next year", **CHANGE),
    ),
    pair(
        "P040",
        "the classic tree too",
        "H1",
        tree("H1", "classic", q1="yes", q2="no", q3="no"),
        tree("H1", "classic", q1="yes", q2="yes"),
    ),
)

PAIRS: tuple[Pair, ...] = (*ROWS, *AGEING, *DETERMINATIONS)
