"""The page of one lot: facts, balance, what happened, checks, readings, deviations, release, dispatch."""

from collections.abc import Collection, Sequence
from datetime import datetime
from typing import Any

from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from records.batches.added import addition_rows
from records.batches.additions import additions_of
from records.batches.models import Lot, LotEvent, PlanApplied
from records.batches.queries import NOTHING, Quantity, applied_plans, standing_events
from records.checks.due import SlotState, lot_states
from records.checks.judging import kept_parts
from records.checks.models import Reading
from records.checks.slots import EXTRA, lot_slot_id
from records.deviations.page import missing_words, summary
from records.deviations.queries import DeviationState
from records.inspection.beside import beside_of
from records.inspection.history import event_lines, reading_lines
from records.inspection.lot_curve import lot_curve, standing
from records.inspection.photo_lines import gallery
from records.inspection.rows import Rows, check_rows, event_rows, reading_rows, start_row
from records.inspection.telling import Teller, on_screen
from records.inspection.weights import (
    PieceBalance,
    loss_words,
    mass_words,
    piece_balance,
    usual_words,
    weighings,
    yield_words,
)
from records.links.rows import link_rows, linked_notices
from records.receiving.load_page import milk_rows
from records.signoff.queries import dispatches, releases, self_reviewed
from records.signoff.release import hindrances, lot_deviations
from records.signoff.tables import lot_state
from safetyplan.calculation.rounding import trim
from safetyplan.establishments.models import Establishment, Role
from safetyplan.integrity import clock
from safetyplan.plans.models import PlanApproved
from safetyplan.plans.queries import in_force
from safetyplan.printing.chart import to_svg


def amount(quantity: Quantity | None) -> str:
    """Write pieces and kilograms."""
    if quantity is None:
        return _("not recorded yet")
    return _("%(pieces)d pieces, %(kg)s kg") % {"pieces": quantity.pieces, "kg": trim(quantity.mass)}


def lot_context(establishment: Establishment, lot: Lot, roles: Collection[str]) -> dict[str, Any]:
    """Give everything the page shows of a lot."""
    teller = on_screen(establishment)
    readings = _rows(establishment, Reading, lot)
    events = _rows(establishment, LotEvent, lot)
    now, slug = clock.now(establishment), establishment.slug
    states = sorted(lot_states(establishment, [lot], now)[lot.pk], key=due_first)
    pieces, standing = piece_balance(establishment, lot), standing_events(establishment, events)
    days = {teller.day(row.observed_at) for row in (*readings, *events)} | {teller.day(lot.started_at)}
    own = self_reviewed(establishment, days)
    applied = applied_plans(establishment, [lot.pk])[lot.pk]
    version = applied[-1].plan_version if applied else lot.plan_version
    return {
        "lot": lot,
        "state": lot_state(establishment, lot),
        "facts": _facts(teller, lot, version),
        "plans": plan_lines(teller, lot, applied),
        "newer_plan": _newer(establishment, version, now),
        "balance": _balance(pieces),
        "found": pieces.found,
        "weights": _weights(establishment, teller, lot, standing),
        "events": [
            start_row(teller, lot, own=str(lot.pk) in own),
            *event_rows(teller, slug, event_lines(establishment, events, own=own), roles),
        ],
        "next_events": _next_events(slug, lot, version, standing) if Role.MAKER in roles else [],
        "checks": check_rows(teller, slug, states, roles, own),
        "extra": _extra_links(slug, lot, version) if Role.MAKER in roles else [],
        "readings": reading_rows(teller, slug, _reading_lines(establishment, readings, own)),
        "gallery": gallery(teller, [*events, *readings]),
        "curve": _curve(lot, readings, standing, version),
        "additions": addition_rows(teller, slug, additions_of(establishment, [lot.pk])),
        "links": link_rows(teller, slug, establishment, lot),
        "linked": linked_notices(establishment, lot),
        "may_link": bool({Role.MAKER, Role.RESPONSIBLE} & set(roles)),
        "deviations": _deviations(lot_deviations(establishment, lot), lot),
        "milk": milk_rows(establishment, lot),
        "hindrances": hindrances(establishment, lot, now),
        **_gone(establishment, teller, lot),
        "days": [day.isoformat() for day in sorted(days)],
        "key": teller.key_rows(),
    }


def _reading_lines(establishment: Establishment, readings: Sequence[Reading], own: set[str]) -> Any:
    return reading_lines(establishment, readings, own=own, beside=beside_of(establishment, readings))


def _rows(establishment: Establishment, model: Any, lot: Lot) -> list[Any]:
    rows = model.objects.of(establishment).filter(lot=lot).select_related("lot")
    return list(rows.order_by("observed_at", "entry__sequence"))


def due_first(state: SlotState) -> tuple[bool, Any]:
    """Order checks by when they are due; those that wait for an event come last."""
    return state.slot.due_at is None, state.slot.due_at or state.slot.closes_at


def _facts(teller: Teller, lot: Lot, version: PlanApproved) -> list[tuple[str, str]]:
    product = version.plan().product(lot.product_code)
    return [
        (_("Product"), f"{lot.product_code} {lot.product_name}"),
        (_("Started"), f"{teller.time(lot.started_at)}, {teller.name(lot.author_id)}"),
        (_("Vat"), lot.vat or "–"),
        (_("Milk"), f"{lot.milk_text} {lot.milk_unit}".strip() or "–"),
        (_("Milk treatment"), product.milk or "–"),
    ]


def plan_lines(teller: Teller, lot: Lot, applied: Sequence[PlanApplied]) -> list[str]:
    """Say which plan version holds for a lot from when; the present one last."""
    told = {"number": lot.plan_version.number, "at": teller.time(lot.started_at)}
    lines = [_("Version %(number)d from the start of the lot, %(at)s") % told]
    for row in applied:
        words = _("Version %(number)d since %(at)s, applied by %(who)s: %(why)s")
        lines.append(
            words
            % {
                "number": row.plan_version.number,
                "at": teller.time(row.recorded_at),
                "who": row.signed_name,
                "why": row.reason,
            }
        )
    return lines


def _newer(establishment: Establishment, version: PlanApproved, now: datetime) -> int | None:
    """Give the number of the version in force when a lot follows an older one."""
    present = in_force(establishment, now)
    return present.number if present is not None and present.number > version.number else None


def _balance(found: PieceBalance) -> list[tuple[str, str]]:
    """Give where the pieces are, with what is released of them."""
    made, *rest = found.rows()
    named = [made, (_("Released"), found.found.released), *rest]
    always = {_("Made"), _("Released"), _("Left"), _("Still here")}
    return [(name, amount(quantity)) for name, quantity in named if name in always or quantity != NOTHING]


def _weights(
    establishment: Establishment, teller: Teller, lot: Lot, standing: Sequence[LotEvent]
) -> list[dict[str, str]]:
    return [
        {
            "at": teller.time(one.at),
            "name": one.name,
            "amount": mass_words(one),
            "yield": yield_words(one),
            "loss": loss_words(one),
            "usual": usual_words(one),
        }
        for one in weighings(establishment, lot, standing)
    ]


def _next_events(
    slug: str, lot: Lot, version: PlanApproved, standing: list[LotEvent]
) -> list[tuple[str, str]]:
    done = {event.event for event in standing}
    planned = version.plan().product(lot.product_code).events
    return [
        (reverse("lot_event", args=[slug, lot.pk, event.code]), event.name)
        for event in planned
        if event.repeats or event.code not in done
    ]


def _extra_links(slug: str, lot: Lot, version: PlanApproved) -> list[tuple[str, str]]:
    """Link to a reading beyond those the plan asks for, one for each control of the lot."""
    plan = version.plan()
    return [
        (reverse("capture", args=[slug, lot_slot_id(lot.pk, c.code, EXTRA)]), f"{c.code} {c.name}")
        for c in plan.controls
        if c.of_lot and lot.product_code in c.products
    ]


def _curve(
    lot: Lot, readings: list[Reading], events: list[LotEvent], version: PlanApproved
) -> SafeString | None:
    scene = lot_curve(lot, readings, events, version)
    if scene is None:
        return None
    measured = [
        f"{part['value']} ({row.observed_at:%H:%M} UTC)"
        for row in standing(readings)
        for part in kept_parts(row)
        if part["name"] == "ph"
    ]
    said = _("Measured values in order: %(values)s. The table of readings below holds the same.")
    words = said % {"values": ", ".join(measured) or _("none")}
    svg = to_svg(scene, _("Curve of lot %(code)s") % {"code": lot.code}, words)
    return mark_safe(svg)


def _deviations(found: list[DeviationState], lot: Lot) -> Rows:
    """Give the deviations of a lot; beside each the other lots that it concerns."""
    return [
        {
            "pk": state.deviation.pk,
            "number": state.deviation.number,
            "description": state.deviation.description,
            "summary": summary(state),
            "missing": missing_words(state.missing()) if state.is_open else [],
            "open": state.is_open,
            "with": [other.code for other in state.lots if other.pk != lot.pk],
            "hold_missing": state.is_open and bool((one := state.of(lot)) and one.unconfirmed),
        }
        for state in sorted(found, key=lambda s: s.deviation.number)
    ]


def _gone(establishment: Establishment, teller: Teller, lot: Lot) -> dict[str, Any]:
    """Give what was released and what has left."""
    released, sent = list(releases(establishment, lot)), list(dispatches(establishment, lot))
    return {
        "releases": [{"row": row, "at": teller.moment(row.recorded_at)} for row in released],
        "dispatches": [
            {"row": row, "at": teller.time(row.left_at), "who": teller.initials(row.author_id)}
            for row in sent
        ],
    }
