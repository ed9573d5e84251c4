"""Pairs on the frame of a plan, its controls, its procedures, its evidence."""

from tests.safetyplan.plans.rules.pairs_hazards import both
from tests.safetyplan.plans.rules.plans import (
    FILE,
    OPEN,
    WORD,
    Change,
    Data,
    Pair,
    after,
    control,
    item,
    nested,
    pair,
    put,
    put_when,
    with_limit,
)


def no_product(document: Data) -> None:
    """Take the product away, and whatever names it."""
    document.update(products=[], controls=[], hazards=[], validations=[])


def without(part: str) -> Change:
    """Leave a part of the document out."""
    return lambda document: document.pop(part) and None


def monitoring(code: str, **values: str) -> Change:
    """Change what is said of monitoring."""
    return lambda document: item(document, code)["monitoring"].update(values)


def step(code: str, **values: list[str]) -> Change:
    """Change a step of the product."""

    def change(document: Data) -> None:
        steps = item(document, "P")["steps"]
        next(one for one in steps if one["code"] == code).update(values)

    return change


def age_since(event: str) -> Data:
    """Write that something is used at most so long after an event."""
    return {"kind": "not_after", "part": "used", "event": event, "hours": "12"}


def all_oprp(document: Data) -> None:
    """Make every control an operational prerequisite."""
    for one in document["controls"]:
        one["class"] = "oprp"


def another_oprp(document: Data) -> None:
    """Leave one critical control point."""
    item(document, "CCP2")["class"] = "oprp"


def more(one: Data) -> Change:
    """Add a control."""
    return lambda document: document["controls"].append(one)


def form_one(document: Data) -> None:
    """Make it a document of form 1."""
    document["schema"] = 1


def no_kind(kind: str) -> Change:
    """Leave the hazards of one kind out."""
    return lambda document: document.update(
        hazards=[one for one in document["hazards"] if one["kind"] != kind]
    )


RECALL = ("responsible", "consignees", "public", "effectiveness", "disposal")


def recall(**values: str) -> Change:
    """Change the recall procedure."""
    return lambda document: document["recall"].update(values)


def positive(**values: str) -> Change:
    """Change what is done after a positive result."""
    return lambda document: document["positive_action"].update(values)


STRANGER = control("S1", "ccp", "Sieve", "set", WORD, after("started"))

FRAME = (
    pair("P001", "no product", "products", no_product),
    pair("P004", "a product of another plan", "H2", put("H2", products=["P", "Q"])),
    pair("P004", "a control of another plan", "CCP2", put("CCP2", products=["P", "Q"])),
    pair("P005", "a step of another product", "CCP1", put("CCP1", step="smoke")),
    pair("P005", "a hazard at a step of another product", "H1", put("H1", step="smoke")),
    pair(
        "P006",
        "an event nobody records",
        "PRP2",
        put_when("PRP2", after("sold")),
        put_when("PRP2", after("packed")),
    ),
    pair(
        "P006",
        "a limit from an event nobody records",
        "O1",
        with_limit("O1", nested("any_of", age_since("milked"), WORD)),
    ),
    pair(
        "P012",
        "an age since an event on a check of a day",
        "PRP1",
        with_limit("PRP1", age_since("starter_added"), parameter=""),
        with_limit("PRP1", {"kind": "not_after", "part": "made", "hours": "24"}, parameter=""),
    ),
    pair("P014", "a document of form 1", "plan", form_one),
    pair("P043", "no profile", "profile", without("profile"), level="warning"),
    *(
        pair("P044", f"no {kind} hazard", "hazards", no_kind(kind), level="warning")
        for kind in ("biological", "physical", "radiological")
    ),
    pair("P044", "no allergen", "hazards", put("H4", group=""), level="warning"),
    pair("P044", "no residue of medicines", "hazards", put("H7", group=""), level="warning"),
    pair(
        "P044",
        "no chemical hazard",
        "hazards",
        both(put("H4", kind="physical"), put("H7", kind="biological")),
        put("H4", kind="physical"),
        level="warning",
    ),
    pair(
        "P046",
        "a step into nowhere",
        "P",
        step("set", next=["acidify", "smoke"]),
        step("set", next=["acidify", "pack"]),
    ),
)

CONTROLS = (
    pair("P007", "no action", "PRP2", put("PRP2", corrective_actions=[])),
    pair("P008", "no verification", "CCP1", put("CCP1", verification=" "), put("PRP2", verification="")),
    pair(
        "P009",
        "a critical point of a day",
        "PRP1",
        put("PRP1", **{"class": "ccp"}),
        put("PRP1", **{"class": "oprp"}),
    ),
    pair(
        "P010",
        "a check of a lot without a product",
        "PRP2",
        put("PRP2", products=[]),
        put("PRP1", products=[]),
    ),
    pair("P011", "no critical point", "controls", all_oprp, another_oprp, level="warning"),
    pair("P015", "an open limit", "CCP2", with_limit("CCP2", OPEN)),
    pair("P015", "an open limit of a prerequisite", "PRP1", with_limit("PRP1", OPEN)),
    pair("P016", "nobody monitors", "CCP1", monitoring("CCP1", who=""), monitoring("PRP2", who="")),
    pair("P016", "nothing is said of monitoring", "CCP1", monitoring("CCP1", what="", how=" ", who="")),
    pair("P017", "no record", "CCP2", put("CCP2", record=""), put("O1", record="")),
    pair(
        "P049",
        "a critical limit that rests on nothing",
        "CCP2",
        put("CCP2", justification=" ", figure_source=""),
        put("PRP1", justification="", figure_source=""),
    ),
    pair("P049", "a critical limit without a source", "CCP1", put("CCP1", figure_source="")),
    pair(
        "P042",
        "a critical point for no hazard",
        "S1",
        more(STRANGER),
        more({**STRANGER, "class": "oprp"}),
        level="warning",
    ),
)

PROCEDURES = (
    *(
        pair("P028", f"no {key} of a recall", "recall", recall(**{key: ""}), recall(**{key: "x"}))
        for key in RECALL
    ),
    pair("P028", "no recall at all", "recall", without("recall")),
    pair("P030", "nothing after a positive product", "positive_action", positive(product=" ")),
    pair("P030", "nothing after a positive swab", "positive_action", positive(environment="")),
)

EVIDENCE = (
    pair(
        "P037",
        "no validation",
        "CCP2",
        put("E1", controls=["CCP1"]),
        put("CCP2", **{"class": "oprp"}),
        level="warning",
    ),
    pair(
        "P038",
        "expired yesterday",
        "E1",
        put("E1", valid_until="2026-05-13"),
        put("E1", valid_until="2026-05-14"),
        level="warning",
    ),
    pair(
        "P038",
        "a day no calendar has",
        "E1",
        put("E1", valid_until="2026-02-30"),
        put("E1", valid_until=""),
        level="warning",
    ),
    pair(
        "P041",
        "a file that is not here",
        "E1",
        put("E1", file="cd" * 32),
        put("E1", file=FILE),
        level="warning",
    ),
)

PAIRS: tuple[Pair, ...] = (*FRAME, *CONTROLS, *PROCEDURES, *EVIDENCE)
