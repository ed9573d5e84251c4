"""What the pages of shared things show: the list by kind, one thing with its readings, changes and lots."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.batches.queries import open_lots
from records.checks.due import SlotState, Status, thing_states
from records.checks.models import Reading
from records.checks.reach import readings_between
from records.deviations.queries import open_deviations
from records.inspection.beside import beside_of
from records.inspection.history import reading_lines
from records.inspection.rows import check_rows, reading_rows
from records.inspection.telling import Teller, joined, on_screen
from records.things.chart import charts
from records.things.models import ThingChange, ThingKind, ThingUse
from records.things.queries import Life, changes, lives, recipe_of, uses
from records.things.services import age
from records.things.using import MOMENTARY, out_of_order
from safetyplan.calculation.rounding import amount as amount_words
from safetyplan.establishments.models import Establishment
from safetyplan.integrity import clock

SHOWN = timedelta(days=60)
SHORT = timedelta(hours=48)


def age_words(length: timedelta) -> str:
    """Write an age: hours up to two days, then days."""
    if length < SHORT:
        hours = int(length.total_seconds() // 3600)
        return ngettext("%(n)d hour", "%(n)d hours", hours) % {"n": hours}
    return ngettext("%(n)d day", "%(n)d days", length.days) % {"n": length.days}


def list_context(establishment: Establishment, *, every: bool) -> dict[str, Any]:
    """Give the things by kind, those that ended only on demand; queries do not grow with them."""
    now, teller = clock.now(establishment), on_screen(establishment)
    found = [life for life in lives(establishment) if every or life.ended_at is None]
    today = thing_states(establishment, teller.day(now), teller.clock, now)
    by_thing: dict[Any, list[SlotState]] = defaultdict(list)
    for state in today:
        by_thing[state.slot.thing].append(state)
    inside: dict[Any, list[str]] = defaultdict(list)
    for use in uses(establishment).filter(until_at__isnull=True, thing__in=[life.id for life in found]):
        inside[use.thing_id].append(use.lot.code)
    return {
        "groups": [
            {
                "kind": kind,
                "title": kind.label,
                "rows": [
                    _line(establishment, teller, life, by_thing[life.id], inside[life.id], now)
                    for life in found
                    if life.kind == kind
                ],
            }
            for kind in ThingKind
        ],
        "every": every,
    }


def _line(
    establishment: Establishment,
    teller: Teller,
    life: Life,
    states: Sequence[SlotState],
    inside: Sequence[str],
    now: datetime,
) -> dict[str, Any]:
    return {
        "life": life,
        "url": reverse("thing", args=[establishment.slug, life.id]),
        "age": age_words(age(life, now)),
        "begun": teller.time(life.begun_at),
        "ended": teller.time(life.ended_at),
        "how": life.end.get_how_display() if life.end else "",
        "state": _worst(states),
        "lots": inside,
    }


def _worst(states: Sequence[SlotState]) -> str:
    """Give the state that asks for attention first: a bad reading, then a check that is missing or due."""
    results = [str(s.result) for s in states if s.status == Status.RECORDED and s.result]
    for bad in ("outside_limit", "instrument_not_valid", "not_shown"):
        if bad in results:
            return bad
    for status, code in ((Status.MISSING, "not_shown"), (Status.OVERDUE, "overdue"), (Status.DUE, "due")):
        if any(s.status == status for s in states):
            return code
    for result in ("outside_target", "within"):
        if result in results:
            return result
    return ""


def thing_context(establishment: Establishment, life: Life, roles: Sequence[str]) -> dict[str, Any]:
    """Give everything the page of one thing shows."""
    teller, now, slug = on_screen(establishment), clock.now(establishment), establishment.slug
    end = life.ended_at or now
    first = teller.day(max(life.begun_at, end - SHOWN))
    rows = _readings(establishment, life, first, teller.day(end))
    today = [
        s for s in thing_states(establishment, teller.day(now), teller.clock, now) if s.slot.thing == life.id
    ]
    opened = open_deviations(establishment).filter(
        slot__gte=f"thing:{life.id}:", slot__lt=f"thing:{life.id};"
    )
    return {
        "life": life,
        "kind_word": ThingKind(life.kind).label,
        "facts": _facts(teller, life, now),
        "recipe": _recipe(life),
        "state": _worst(today),
        "deviations": list(opened),
        "checks": check_rows(teller, slug, today, roles),
        "charts": _drawn(life, rows),
        "readings": reading_rows(
            teller, slug, reading_lines(establishment, rows, beside=beside_of(establishment, rows))
        ),
        "since": first,
        "changes": [_change(teller, row) for row in _newest_first(changes(establishment, life.id))],
        "goes": _goes(establishment, teller, life),
        "momentary": life.kind in MOMENTARY,
        "calculators": _calculators(slug, life),
        "key": teller.key_rows(),
    }


def _readings(establishment: Establishment, life: Life, first: Any, last: Any) -> list[Reading]:
    """Give the readings of every check of a thing from one day to another."""
    codes = dict.fromkeys(
        Reading.objects.of(establishment)
        .filter(slot__gte=f"thing:{life.id}:", slot__lt=f"thing:{life.id};")
        .order_by()
        .values_list("control", flat=True)
        .distinct()
    )
    found = [r for code in codes for r in readings_between(establishment, life, code, first, last)]
    return sorted(found, key=lambda row: (row.observed_at, row.recorded_at))


def _facts(teller: Teller, life: Life, now: datetime) -> list[tuple[str, str]]:
    rows = [
        (_("Begun"), f"{teller.time(life.begun_at)}, {teller.name(life.first.author_id)}"),
        (_("Age"), age_words(age(life, now))),
        (_("Note"), life.facts.note),
    ]
    if life.facts.reason:
        told = {"at": teller.time(life.first.begun_at), "why": life.facts.reason}
        rows.append((_("Corrected"), _("first recorded as begun %(at)s: %(why)s") % told))
    if life.facts.late:
        rows.append((_("Late entry"), life.facts.late_reason))
    if life.end is not None:
        who = teller.name(life.end.author_id)
        rows.append((_("Ended"), f"{teller.time(life.ended_at)}, {life.end.get_how_display()}, {who}"))
        rows += [(_("Why"), life.end.why), (_("What became of it"), life.end.became)]
    return [(label, value) for label, value in rows if value]


def _recipe(life: Life) -> list[str]:
    lines = []
    for line in recipe_of(life.facts):
        said = amount_words(line["amount"], line["unit"]) if line["amount"] else ""
        lot = _("lot %(lot)s") % {"lot": line["ingredient"]} if line["ingredient"] else ""
        lines.append(" ".join(part for part in (line["what"], said, lot) if part))
    return lines


def _newest_first(rows: Sequence[ThingChange]) -> list[ThingChange]:
    return list(reversed(rows))


def _change(teller: Teller, row: ThingChange) -> dict[str, Any]:
    return {
        "row": row,
        "at": teller.time(row.done_at),
        "what": row.get_what_display(),
        "amount": amount_words(row.amount_text, row.amount_unit) if row.amount_text else "",
        "who": teller.initials(row.author_id),
    }


def _drawn(life: Life, rows: Sequence[Reading]) -> list[tuple[str, SafeString]]:
    return [(title, mark_safe(svg)) for title, svg in charts(life, rows)]


def _goes(establishment: Establishment, teller: Teller, life: Life) -> list[dict[str, Any]]:
    """Give the uses, those of one go together and in their order; the newest first."""
    groups: dict[Any, list[ThingUse]] = defaultdict(list)
    for row in (
        uses(establishment).filter(thing=life.id).order_by("-from_at", "place", "entry__sequence")[:200]
    ):
        groups[row.go if row.place else row.pk].append(row)
    return [
        {
            "rows": [
                {
                    "row": row,
                    "from": teller.time(row.from_at),
                    "until": teller.time(row.until_at),
                    "open": row.until_at is None and life.ended_at is None,
                    "who": teller.initials(row.author_id),
                }
                for row in rows
            ],
            "broken": [(a.code, b.code) for a, b in out_of_order([row.lot for row in rows])]
            if rows[0].place
            else [],
        }
        for rows in groups.values()
    ]


def _calculators(slug: str, life: Life) -> list[tuple[str, str]]:
    if life.kind != ThingKind.BRINE:
        return []
    return [
        (reverse("calculator", args=[slug, "brine", "raise_strength"]), _("How much salt to add")),
        (reverse("calculator", args=[slug, "brine", "dilute"]), _("How much water to add")),
    ]


def use_choices(establishment: Establishment, typed: dict[str, str]) -> list[dict[str, Any]]:
    """Give the open lots for the choice of those that use a thing, the youngest first."""
    teller = on_screen(establishment)
    return [
        {
            "lot": lot,
            "name": f"lot_{lot.pk}",
            "started": teller.time(lot.started_at),
            "typed": typed.get(f"lot_{lot.pk}", ""),
        }
        for lot in sorted(open_lots(establishment), key=lambda lot: lot.started_at, reverse=True)
    ]


def birth_typed(establishment: Establishment, life: Life) -> dict[str, str]:
    """Give the birth of a thing as a person would type it, to be corrected."""
    typed = {
        "name": life.facts.name,
        "note": life.facts.note,
        **_typed_moment(establishment, life.begun_at, "on"),
    }
    for number, line in enumerate(recipe_of(life.facts), start=1):
        typed |= {f"{name}_{number}": line[name] for name in ("what", "amount", "unit", "ingredient")}
    return typed


def change_typed(establishment: Establishment, row: ThingChange) -> dict[str, str]:
    """Give what was done to a thing as a person would type it, to be corrected."""
    return {
        "what": row.what,
        "amount": row.amount_text,
        "unit": row.amount_unit,
        "ingredient": row.ingredient,
        "note": row.note,
        **_typed_moment(establishment, row.done_at, "on"),
    }


def use_typed(establishment: Establishment, row: ThingUse) -> dict[str, str]:
    """Give the times of a use as a person would type them, to be corrected."""
    typed = _typed_moment(establishment, row.from_at, "on")
    return typed | (_typed_moment(establishment, row.until_at, "until") if row.until_at else {})


def _typed_moment(establishment: Establishment, at: datetime, name: str) -> dict[str, str]:
    local = on_screen(establishment).clock.local(at)
    return {f"{name}_date": f"{local:%Y-%m-%d}", f"{name}_time": f"{local:%H:%M}"}


def entry_words(establishment: Establishment, row: ThingChange | ThingUse) -> str:
    """Say in a line what an entry says: what was done when, or from when until when a lot used the thing."""
    teller = on_screen(establishment)
    if isinstance(row, ThingChange):
        said = _change(teller, row)
        return joined([said["what"], said["amount"], row.ingredient, row.note, said["at"]]) + "."
    until = teller.time(row.until_at) if row.until_at else _("still in it")
    return f"{row.lot.code}: {teller.time(row.from_at)} – {until}."
