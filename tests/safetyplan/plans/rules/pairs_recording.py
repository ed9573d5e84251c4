"""Pairs on how a check is recorded, on loads of milk and shared things, and on what waits for a check."""

from tests.safetyplan.plans.rules.pairs_hazards import both
from tests.safetyplan.plans.rules.plans import (
    WORD,
    Change,
    Data,
    Pair,
    after,
    control,
    daily,
    item,
    pair,
    put,
    put_when,
)

SINCE_MILKING: Data = {"kind": "not_after", "part": "used", "event": "milked", "hours": "2"}
LOAD: Data = {"kind": "load", "after_minutes": 0}


def gate(code: str, event: str) -> Change:
    """Write the event that must wait for a check."""
    return put(code, before_event=event)


def events(*hours: tuple[str, int]) -> Change:
    """Write the events of the product in their order, each with the hours in which it is expected."""
    made = [{"code": code, "name": code, "expected_within_hours": within} for code, within in hours]
    return lambda document: item(document, "P").update(events=made)


def instrument(name: str) -> Change:
    """Name the instrument of the check of the milk, which refuses one that is overdue."""

    def change(document: Data) -> None:
        item(document, "O1")["overdue_instrument"] = "block"
        item(document, "O1")["monitoring"]["instrument"] = name

    return change


def second_product(document: Data) -> None:
    """Add a product that never gets a starter."""
    other = {**item(document, "P"), "code": "Q", "name": "Other", "events": []}
    document["products"].append(other)


def load_check(rank: str, before: str, **more: object) -> Change:
    """Add the test of the milk, due on each load."""
    tested = control("T1", rank, "Inhibitors", "receive", WORD, LOAD, **{"before_event": before, **more})
    return lambda document: document["controls"].append(tested)


def thing_check(step: str, *products: str) -> Change:
    """Add a daily check of each brine."""
    when = {**daily("07:00"), "each": "brine"}
    checked = control("T2", "oprp", "Brine", step, WORD, when, products=list(products))
    return lambda document: document["controls"].append(checked)


def used_in(late: int) -> Change:
    """Write that milk is used within 2 h of its receipt, looked at up to some minutes after it."""
    used = {"kind": "not_after", "part": "used", "event": "received", "hours": "2"}
    when = {"kind": "load", "after_minutes": 60, "window_after_minutes": late}
    return both(put_when("O1", when), put("O1", limit=used, parameter="", products=[]))


STARTER, PACKED = ("starter_added", 8), ("packed", 96)

PAIRS: tuple[Pair, ...] = (
    pair(
        "P050",
        "a critical point by exception",
        "CCP1",
        put("CCP1", recording="by_exception"),
        both(put("CCP1", recording="each_value"), put("PRP1", recording="by_exception")),
    ),
    pair(
        "P006",
        "milk used within hours of its milking, on a lot that has none",
        "O1",
        both(put("O1", limit=SINCE_MILKING, parameter=""), put_when("O1", after("started"))),
        both(put("O1", limit=SINCE_MILKING, parameter=""), put_when("O1", LOAD)),
    ),
    pair("P024", "milk looked at after its time", "O1", used_in(61), used_in(60)),
    pair(
        "P052",
        "a critical test of the milk that nothing waits for",
        "T1",
        load_check("ccp", ""),
        load_check("ccp", "starter_added"),
        level="warning",
    ),
    pair(
        "P053",
        "an event that one of the products does not have",
        "CCP1",
        both(second_product, put("CCP1", products=["P", "Q"], before_event="starter_added")),
        both(second_product, put("CCP1", before_event="starter_added")),
    ),
    pair(
        "P053",
        "an event that no product has",
        "T1",
        load_check("oprp", "sold", products=[]),
        both(second_product, load_check("oprp", "starter_added", products=[])),
    ),
    pair(
        "P053",
        "a check of a day before an event of a lot",
        "PRP1",
        gate("PRP1", "starter_added"),
        gate("PRP2", "packed"),
    ),
    pair(
        "P054",
        "a check that waits for the very event",
        "PRP2",
        gate("PRP2", "packed"),
        both(gate("PRP2", "packed"), put_when("PRP2", after("starter_added"))),
    ),
    pair(
        "P054",
        "a check that waits for a later event",
        "PRP2",
        gate("PRP2", "starter_added"),
        both(gate("PRP2", "starter_added"), put_when("PRP2", after("started"))),
    ),
    pair(
        "P054",
        "a check due a minute after the event is expected",
        "CCP1",
        both(events(STARTER, PACKED), gate("CCP1", "starter_added"), put_when("CCP1", after("started", 481))),
        both(events(STARTER, PACKED), gate("CCP1", "starter_added"), put_when("CCP1", after("started", 480))),
    ),
    pair(
        "P054",
        "a pH reached only after packing",
        "CCP2",
        both(events(STARTER, ("packed", 31)), gate("CCP2", "packed")),
        both(events(STARTER, ("packed", 32)), gate("CCP2", "packed")),
    ),
    pair(
        "P055",
        "a brine that nothing uses",
        "T2",
        thing_check(""),
        thing_check("set"),
        level="warning",
    ),
    pair(
        "P055",
        "a brine of no product",
        "T2",
        thing_check(""),
        thing_check("", "P"),
        level="warning",
    ),
    pair(
        "P056",
        "an instrument that cannot be overdue",
        "O1",
        instrument(" "),
        instrument("thermometer"),
        level="warning",
    ),
)
