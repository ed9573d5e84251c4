"""What the forms of a shared thing do: what was typed into the services, and what is said afterwards."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, cast
from uuid import UUID

from django.http import HttpRequest
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.batches.models import Lot
from records.batches.posting import claim_of, moment
from records.batches.queries import lots
from records.checks.thing_records import Used, change_use, correct_birth, use_thing
from records.things import forms
from records.things.models import ThingChange, ThingUse
from records.things.queries import Life
from records.things.services import (
    Birth,
    ChangeContent,
    EndContent,
    RecipeLine,
    change_thing,
    end_thing,
    make_thing,
)
from records.things.using import MOMENTARY, UseContent, end_use, out_of_order
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity.form_refusals import Typed, taking_offers
from safetyplan.integrity.refusals import BadInput

FIELDS: Mapping[str, str] = {
    part: "on_time" for part in ("begun_at", "done_at", "ended_at", "from_at", "until_at", "observed_at")
}
USE_FIELDS: Mapping[str, str] = {**FIELDS, "until_at": "until_time"}


def _late(said: Typed) -> str:
    return said.get("late_reason", "") or said.get("reason", "")


def _about(
    request: HttpRequest,
    establishment: Establishment,
    kind: str,
    said: Typed,
    life: Life | None,
    **more: object,
) -> Any:
    told = {"thing": life.id, **more} if life else more
    return {
        "establishment": establishment,
        "by": cast(Person, request.user),
        "claim": claim_of(request, establishment, kind, said, **told),
    }


def birth(establishment: Establishment, said: Typed, kind: str) -> Birth:
    """Read a birth as typed."""
    numbers = range(1, forms.RECIPE_LINES + 1)
    lines = [
        RecipeLine(*(said.get(f"{name}_{number}", "") for name in ("what", "amount", "unit", "ingredient")))
        for number in numbers
    ]
    return Birth(
        kind=kind,
        code=said.get("code", ""),
        name=said.get("name", ""),
        begun_at=moment(establishment, said, reason=_late(said)),
        recipe=lines,
        note=said.get("note", ""),
        late_reason=_late(said),
    )


def make(request: HttpRequest, establishment: Establishment, typed: Typed) -> object:
    """Make the thing that was typed."""

    def act(said: Typed) -> object:
        about = _about(request, establishment, "thing_made", said, None)
        return make_thing(birth=birth(establishment, said, said.get("kind", "")), **about)

    return taking_offers(typed, act, fields=FIELDS)


def correct(request: HttpRequest, establishment: Establishment, life: Life, typed: Typed) -> object:
    """Correct the birth of a thing as typed."""

    def act(said: Typed) -> object:
        about = _about(request, establishment, "thing_made", said, life)
        told = birth(establishment, said, life.kind)
        return correct_birth(life=life, birth=told, why=said.get("reason", ""), **about)

    return taking_offers(typed, act, fields=FIELDS)


def changed(establishment: Establishment, said: Typed) -> ChangeContent:
    """Read what was done to a thing as typed."""
    return ChangeContent(
        what=said.get("what", ""),
        done_at=moment(establishment, said, reason=_late(said)),
        amount=said.get("amount", ""),
        unit=said.get("unit", ""),
        ingredient=said.get("ingredient", ""),
        note=said.get("note", ""),
        late_reason=_late(said),
    )


def change(request: HttpRequest, establishment: Establishment, life: Life, typed: Typed) -> object:
    """Record what was done to a thing as typed."""

    def act(said: Typed) -> object:
        about = _about(request, establishment, "thing_changed", said, life)
        return change_thing(life=life, content=changed(establishment, said), **about)

    return taking_offers(typed, act, fields=FIELDS)


def end(request: HttpRequest, establishment: Establishment, life: Life, typed: Typed) -> object:
    """Record the end of a thing as typed."""

    def act(said: Typed) -> object:
        content = EndContent(
            how=said.get("how", ""),
            ended_at=moment(establishment, said, reason=_late(said)),
            why=said.get("why", ""),
            became=said.get("became", ""),
            late_reason=_late(said),
        )
        return end_thing(
            life=life, content=content, **_about(request, establishment, "thing_ended", said, life)
        )

    return taking_offers(typed, act, fields=FIELDS)


def chosen_lots(establishment: Establishment, typed: Typed) -> tuple[list[Lot], bool]:
    """Give the lots that were chosen, and whether their order was given: every one has a place of its own."""
    places = {key[4:]: text.strip() for key, text in typed.items() if key.startswith("lot_") and text.strip()}
    try:
        keys = {UUID(key): text for key, text in places.items()}
    except ValueError as error:
        raise BadInput(_("Choose lots of the list."), part="lots") from error
    found = list(lots(establishment).filter(pk__in=list(keys)))
    if len(found) != len(keys):
        raise BadInput(_("Choose lots of the list."), part="lots")
    numbers = {key: int(text) for key, text in keys.items() if text.isascii() and text.isdigit()}
    if not numbers:
        return sorted(found, key=lambda lot: lot.code), False
    if len(set(numbers.values())) < len(keys):
        raise BadInput(_("Give each lot its own place in the order: 1, 2, 3 …"), part="lots")
    return sorted(found, key=lambda lot: numbers[lot.pk]), True


def use(request: HttpRequest, establishment: Establishment, life: Life, typed: Typed) -> Used:
    """Record the use that was typed."""

    def act(said: Typed) -> Used:
        found, in_order = chosen_lots(establishment, said)
        content = UseContent(
            from_at=moment(establishment, said, reason=_late(said)),
            pieces=said.get("pieces", ""),
            note=said.get("note", ""),
            late_reason=_late(said),
            in_order=in_order,
        )
        about = _about(request, establishment, "thing_used", said, life)
        return use_thing(life=life, lots=found, content=content, **about)

    return taking_offers(typed, act, fields=FIELDS)


def out(
    request: HttpRequest, establishment: Establishment, life: Life, row: ThingUse, typed: Typed
) -> object:
    """Record that a lot was taken out, as typed."""

    def act(said: Typed) -> object:
        until = moment(establishment, said, reason=_late(said))
        about = _about(request, establishment, "thing_used", said, life)
        return end_use(use=row, life=life, until_at=until, late_reason=_late(said), **about)

    return taking_offers(typed, act, fields=FIELDS)


def correct_change(
    request: HttpRequest, establishment: Establishment, life: Life, row: ThingChange, typed: Typed
) -> object:
    """Record what was done to a thing as it is now typed, in place of what was recorded."""

    def act(said: Typed) -> object:
        about = _about(request, establishment, "thing_changed", said, life, corrects=row.pk)
        content = changed(establishment, said)
        return change_thing(life=life, content=content, supersedes=row, why=said.get("reason", ""), **about)

    return taking_offers(typed, act, fields=FIELDS)


def correct_use(
    request: HttpRequest, establishment: Establishment, life: Life, row: ThingUse, typed: Typed
) -> Used:
    """Record the times of a use as they are now typed."""

    def act(said: Typed) -> Used:
        why = said.get("reason", "")
        start = moment(establishment, said, reason=why)
        until = start if life.kind in MOMENTARY else None
        if said.get("until_date", "").strip() or said.get("until_time", "").strip():
            until = moment(establishment, said, reason=why, name="until")
        about = _about(request, establishment, "thing_used", said, life, corrects=row.pk)
        return change_use(life=life, use=row, from_at=start, until_at=until, why=why, **about)

    return taking_offers(typed, act, fields=USE_FIELDS)


def warnings(used: Used) -> list[str]:
    """Say what a use that was recorded calls attention to."""
    rows: Sequence[ThingUse] = used.rows
    said = [
        _("Not young before old: lot %(old)s was done before the younger lot %(young)s.")
        % {"old": first.code, "young": then.code}
        for first, then in (out_of_order([row.lot for row in rows]) if rows[0].place else ())
    ]
    opened = {d.pk: d for d in [*used.deviations, *([used.order.deviation] if used.order else [])] if d}
    numbers = ", ".join(str(d.number) for d in opened.values())
    return [
        *said,
        *([_("Deviation %(numbers)s concerns these lots.") % {"numbers": numbers}] if opened else []),
    ]


@dataclass(frozen=True)
class Task:
    """One form of a thing: its fields, what it does, its title and what is said when it is done."""

    form: Callable[..., Any]
    act: Callable[[HttpRequest, Establishment, Life, Typed], object]
    title: "str | Promise"
    button: "str | Promise"
    done: "str | Promise"


TASKS: Mapping[str, Task] = {
    "change": Task(
        forms.ChangeForm,
        change,
        gettext_lazy("Something was done"),
        gettext_lazy("Record it"),
        gettext_lazy("It is recorded."),
    ),
    "end": Task(
        forms.EndForm,
        end,
        gettext_lazy("Dumped or taken out of use"),
        gettext_lazy("Record the end"),
        gettext_lazy("The end is recorded."),
    ),
    "correct": Task(
        forms.CorrectBirthForm,
        correct,
        gettext_lazy("Correct the birth"),
        gettext_lazy("Record the correction"),
        gettext_lazy("The correction is recorded; the first values stay readable."),
    ),
    "use": Task(
        forms.UseForm,
        use,
        gettext_lazy("Lots that use it"),
        gettext_lazy("Record the use"),
        gettext_lazy("The use is recorded."),
    ),
}
