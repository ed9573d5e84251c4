"""Changes to shared things: made, corrected, changed in their life, ended."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import uuid4

from django.db import transaction
from django.utils.translation import gettext as _

from records.things import kinds
from records.things.models import Change, Ending, Thing, ThingChange, ThingEnded, ThingKind, ThingUse
from records.things.queries import Life, life_of, thing_called, uses
from safetyplan.calculation.codes import parse_code, skeleton
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.establishments.access import WRITERS, require_role
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.queries import latest, replaced
from safetyplan.integrity import canonical, ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import check_observed, clean, in_words, number, reason
from safetyplan.plans.queries import late_after

AMOUNT_UNITS = ("kg", "g", "L", "mL", "percent")
MOST_LINES = 20
WITHOUT_PLAN = 30
"""Minutes after which an entry is late while no plan says so."""


@dataclass(frozen=True)
class RecipeLine:
    """One line of what a thing was made of, as typed; the ingredient names the lot of what was added."""

    what: str
    amount: str = ""
    unit: str = ""
    ingredient: str = ""


@dataclass(frozen=True)
class Birth:
    """What a person says of a thing that was made or taken into use."""

    kind: str
    code: str
    name: str
    begun_at: datetime
    recipe: Sequence[RecipeLine] = ()
    note: str = ""
    late_reason: str = ""


@dataclass(frozen=True)
class ChangeContent:
    """What a person says of something done to a thing."""

    what: str
    done_at: datetime
    amount: str = ""
    unit: str = ""
    ingredient: str = ""
    note: str = ""
    late_reason: str = ""


@dataclass(frozen=True)
class EndContent:
    """What a person says of the end of a thing."""

    how: str
    ended_at: datetime
    why: str
    became: str = ""
    late_reason: str = ""


def tolerance(establishment: Establishment) -> int:
    """Give the minutes after which an entry is late, by the plan in force."""
    return late_after(establishment, WITHOUT_PLAN)


def late(establishment: Establishment, at: datetime, late_reason: str, *, part: str) -> bool:
    """Tell whether a time is entered late; refuse the future, and lateness without a reason."""
    return check_observed(establishment, at, None, tolerance(establishment), late_reason, part=part)


def amount(raw: str, unit: str, *, part: str) -> tuple[str, str]:
    """Read an amount with its unit; empty when nothing was typed."""
    if not raw.strip():
        return "", ""
    if unit not in AMOUNT_UNITS:
        raise BadInput(_("Choose the unit of the amount."), part=part)
    return number(raw, quantity=UNITS[unit].quantity, unit=unit, part=part, confirmed=True).text, unit


def make_thing(
    *, establishment: Establishment, by: Person, birth: Birth, claim: Claim | None = None
) -> Thing:
    """Record that a brine or wash was made, or that a room or vat was taken into use."""
    require_role(establishment, by, *WRITERS)
    if birth.kind not in ThingKind.values:
        raise BadInput(_("Choose what it is."), part="kind")
    with in_words("code"):
        code = parse_code(birth.code)
    with transaction.atomic():
        ledger.lock(establishment)
        twin = thing_called(establishment, code)
        if twin is not None:
            raise BadInput(
                _("This code is the same as, or looks like, %(code)s.") % {"code": twin.code}, part="code"
            )
        row = _birth(establishment, birth, code)
        ledger.append(kind=kinds.THING, row=row, establishment=establishment, author=by, claim=claim)
    return row


def _birth(establishment: Establishment, birth: Birth, code: str) -> Thing:
    name = clean(birth.name, most=120, part="name")
    if not name:
        raise BadInput(_("Give it a name."), part="name")
    return Thing(
        kind=birth.kind,
        code=code,
        code_skeleton=skeleton(code),
        name=name,
        begun_at=birth.begun_at,
        recipe=canonical.dumps(_recipe(birth.recipe)).decode(),
        note=clean(birth.note, part="note"),
        late=late(establishment, birth.begun_at, birth.late_reason, part="begun_at"),
        late_reason=clean(birth.late_reason, part="late_reason"),
    )


def _recipe(lines: Sequence[RecipeLine]) -> list[dict[str, str]]:
    found = []
    for number_of, line in enumerate(lines[:MOST_LINES], start=1):
        part = f"amount_{number_of}"
        what = clean(line.what, most=120, part=f"what_{number_of}")
        text, unit = amount(line.amount, line.unit, part=part)
        ingredient = clean(line.ingredient, most=60, part=f"ingredient_{number_of}")
        if not what and (text or ingredient):
            raise BadInput(_("Say what this is an amount of."), part=f"what_{number_of}")
        if what:
            found.append({"what": what, "amount": text, "unit": unit, "ingredient": ingredient})
    return found


def correct_thing(
    *,
    establishment: Establishment,
    by: Person,
    life: Life,
    birth: Birth,
    why: str,
    claim: Claim | None = None,
) -> Thing:
    """Correct what was recorded of a thing's birth; the first values stay readable. Kind and code stay."""
    require_role(establishment, by, *WRITERS)
    with transaction.atomic():
        ledger.lock(establishment)
        present = fresh(establishment, life)
        if birth.begun_at > min(_touched(establishment, present), default=birth.begun_at):
            raise BadInput(_("Something is recorded of it before this time."), part="begun_at")
        row = _birth(establishment, birth, present.code)
        row.kind, row.first, row.supersedes = present.kind, present.first, present.facts
        row.reason = reason(why)
        ledger.append(kind=kinds.THING, row=row, establishment=establishment, author=by, claim=claim)
    return row


def _touched(establishment: Establishment, life: Life) -> list[datetime]:
    """Give the earliest instants at which something was done to or with a thing."""
    first_use = uses(establishment).filter(thing=life.id).values_list("from_at", flat=True)[:1]
    done = latest(ThingChange.objects.of(establishment)).filter(thing=life.id, voided=False)
    first_change = done.order_by("done_at").values_list("done_at", flat=True)[:1]
    return [*first_use, *first_change, *([life.ended_at] if life.ended_at else [])]


def fresh(establishment: Establishment, life: Life) -> Life:
    """Give a thing as it stands now, inside the transaction."""
    found = life_of(establishment, life.id)
    assert found is not None
    return found


def refuse_outside(life: Life, at: datetime, *, part: str) -> None:
    """Refuse an instant outside the life of a thing."""
    if at < life.begun_at:
        raise BadInput(_("This is before %(thing)s was begun.") % {"thing": life.title}, part=part)
    if life.ended_at is not None and at > life.ended_at:
        raise BadInput(_("This is after the end of %(thing)s.") % {"thing": life.title}, part=part)


def refuse_replaced(row: ThingChange | ThingEnded | ThingUse | None) -> None:
    """Refuse to correct an entry that a later one replaced, or that was voided."""
    if row is None:
        return
    if replaced(row):
        raise Refused(_("This entry was already corrected. Correct the newest one."))
    if row.voided:
        raise Refused(_("This entry was voided."))


def change_thing(
    *,
    establishment: Establishment,
    by: Person,
    life: Life,
    content: ChangeContent,
    supersedes: ThingChange | None = None,
    why: str = "",
    claim: Claim | None = None,
) -> ThingChange:
    """Record something done to a thing, or correct such an entry with a reason."""
    require_role(establishment, by, *WRITERS)
    if content.what not in Change.values:
        raise BadInput(_("Choose what was done."), part="what")
    with transaction.atomic():
        ledger.lock(establishment)
        refuse_replaced(supersedes)
        refuse_outside(fresh(establishment, life), content.done_at, part="done_at")
        text, unit = amount(content.amount, content.unit, part="amount")
        note = clean(content.note, part="note")
        if content.what == Change.OTHER and not note:
            raise BadInput(_("Say what was done."), part="note")
        row = ThingChange(
            thing=life.first,
            what=content.what,
            amount_text=text,
            amount_unit=unit,
            ingredient=clean(content.ingredient, most=60, part="ingredient"),
            done_at=content.done_at,
            note=note,
            late=late(establishment, content.done_at, content.late_reason or why, part="done_at"),
            late_reason=clean(content.late_reason, part="late_reason"),
            voided=False,
            supersedes=supersedes,
            reason=reason(why) if supersedes else "",
        )
        ledger.append(kind=kinds.THING_CHANGE, row=row, establishment=establishment, author=by, claim=claim)
    return row


def end_thing(
    *,
    establishment: Establishment,
    by: Person,
    life: Life,
    content: EndContent,
    claim: Claim | None = None,
) -> ThingEnded:
    """Record the end of a thing, with the reason and what became of it. Its uses end with it."""
    require_role(establishment, by, *WRITERS)
    if content.how not in Ending.values:
        raise BadInput(_("Choose how it ended."), part="how")
    with transaction.atomic():
        ledger.lock(establishment)
        present = fresh(establishment, life)
        if present.end is not None:
            raise Refused(_("%(thing)s has ended already.") % {"thing": present.title})
        refuse_outside(present, content.ended_at, part="ended_at")
        _refuse_used_later(establishment, present, content.ended_at)
        row = ThingEnded(
            thing=present.first,
            ended_at=content.ended_at,
            how=content.how,
            why=reason(content.why, part="why"),
            became=clean(content.became, part="became"),
            late=late(establishment, content.ended_at, content.late_reason, part="ended_at"),
            late_reason=clean(content.late_reason, part="late_reason"),
            voided=False,
        )
        ledger.append(kind=kinds.THING_ENDED, row=row, establishment=establishment, author=by, claim=claim)
    return row


def _refuse_used_later(establishment: Establishment, life: Life, at: datetime) -> None:
    later = uses(establishment).filter(thing=life.id, from_at__gt=at).first()
    if later is not None:
        raise BadInput(_("Lot %(lot)s used it after this time.") % {"lot": later.lot.code}, part="ended_at")


def void_entry(
    *,
    establishment: Establishment,
    by: Person,
    row: ThingChange | ThingEnded | ThingUse,
    why: str,
    claim: Claim | None = None,
) -> ThingChange | ThingEnded | ThingUse:
    """Void an entry that should not be there; it stays readable, with the reason."""
    require_role(establishment, by, *WRITERS)
    with transaction.atomic():
        ledger.lock(establishment)
        refuse_replaced(row)
        twin = type(row)(**{f.attname: getattr(row, f.attname) for f in row._meta.concrete_fields})
        twin.entry_id, twin.voided, twin.supersedes_id, twin.reason = uuid4(), True, row.pk, reason(why)
        kind = {ThingChange: kinds.THING_CHANGE, ThingEnded: kinds.THING_ENDED, ThingUse: kinds.THING_USE}
        ledger.append(kind=kind[type(row)], row=twin, establishment=establishment, author=by, claim=claim)
    return twin


def age(life: Life, at: datetime) -> timedelta:
    """Give the age of a thing at an instant, or at its end."""
    return min(at, life.ended_at or at) - life.begun_at
