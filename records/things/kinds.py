"""The record kinds of shared things."""

from records.things.models import Thing, ThingChange, ThingEnded, ThingUse
from safetyplan.calculation.codes import skeleton
from safetyplan.integrity.kinds import declare

THING = declare(
    Thing,
    "thing_made",
    "first",
    "kind",
    "code",
    "name",
    "begun_at",
    "recipe",
    "note",
    "late",
    "late_reason",
    "supersedes",
    "reason",
    derived={"code_skeleton": lambda row: skeleton(row.code)},
)
THING_CHANGE = declare(
    ThingChange,
    "thing_changed",
    "thing",
    "what",
    "amount_text",
    "amount_unit",
    "ingredient",
    "done_at",
    "note",
    "late",
    "late_reason",
    "voided",
    "supersedes",
    "reason",
)
THING_ENDED = declare(
    ThingEnded,
    "thing_ended",
    "thing",
    "ended_at",
    "how",
    "why",
    "became",
    "late",
    "late_reason",
    "voided",
    "supersedes",
    "reason",
)
THING_USE = declare(
    ThingUse,
    "thing_used",
    "thing",
    "lot",
    "event",
    "from_at",
    "until_at",
    "pieces",
    "go",
    "place",
    "note",
    "late",
    "late_reason",
    "voided",
    "supersedes",
    "reason",
)
