"""Rule 1 at the end of the day: what may be signed, and what a day without production changes."""

from tests.records.rules.acts import (
    HEATED,
    SOURING,
    STARTED,
    Told,
    explains,
    reads,
    says_no_production,
    signs,
    ticks,
)
from tests.records.rules.attempts import (
    MAY_14,
    NOT_MADE,
    ONLY_REVIEWER,
    WRITING,
    Attempt,
    no,
    told,
)
from tests.records.rules.scene import Shown

SKIPPED: Told = (*SOURING, (26.5, ticks()))
SKIPPED_HEAT: Told = (*STARTED, (4.5, ticks()))
PREREQUISITES: Told = (
    (0.2, reads("OPRP3", temperature="3.8")),
    (0.3, reads("PRP1", day=14, temperature="3.5")),
    (0.4, reads("PRP3", day=14, strength="150")),
    (9.9, reads("PRP1", day=14, ordinal=1, temperature="3.6")),
)
NEARLY_ALL: Told = (*STARTED, *PREREQUISITES[:3])
GAP = Shown("missing", "", (NOT_MADE,))
NO_DEVIATION = Shown("missing")

ROWS = (
    Attempt(
        1,
        "sign the day in the minutes when a gap has no deviation yet",
        NEARLY_ALL,
        4.1,
        signs(),
        ONLY_REVIEWER,
        no("missing at a critical control point without a deviation: CCP1"),
        NO_DEVIATION,
        watch="CCP1",
        day=MAY_14,
    ),
    Attempt(
        1,
        "sign the day with a gap that the clock has not seen yet",
        (*STARTED, *PREREQUISITES),
        17,
        signs(),
        ONLY_REVIEWER,
        told("day signed", "missing hold"),
        GAP,
        watch="CCP1",
        day=MAY_14,
    ),
    Attempt(
        1,
        "sign the day while a prerequisite check is neither recorded nor explained",
        (*HEATED, *PREREQUISITES[:2], *PREREQUISITES[3:]),
        17,
        signs(),
        ONLY_REVIEWER,
        no("neither recorded nor explained: PRP3"),
        Shown("missing"),
        watch="PRP3",
        day=MAY_14,
    ),
    Attempt(
        1,
        "sign the day once the prerequisite check is explained",
        (*HEATED, *PREREQUISITES[:2], *PREREQUISITES[3:], (12, explains("PRP3"))),
        17,
        signs(),
        ONLY_REVIEWER,
        told("day signed"),
        Shown("explained"),
        watch="PRP3",
        day=MAY_14,
    ),
    Attempt(
        1,
        "call the day of the missed check one without production",
        SKIPPED,
        27,
        says_no_production(),
        WRITING,
        told("recorded 0", "missing hold"),
        GAP,
    ),
    Attempt(
        1,
        "call the day on which the lot was started one without production",
        SKIPPED_HEAT,
        5,
        says_no_production(),
        WRITING,
        no("A lot was started on this day"),
        GAP,
        watch="CCP1",
        day=MAY_14,
    ),
)
