"""What a capture page needs: the data block that static/js/capture.js documents."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.http import HttpRequest
from django.middleware.csrf import get_token
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.batches.details import dose_name, has_dose
from records.batches.models import Lot, LotEvent
from records.batches.queries import effective_events, version_of
from records.checks.due import SlotState, facts
from records.checks.models import Reading
from records.checks.places import Place, load_events
from records.checks.slots import (
    LotFacts,
    extra_ordinal,
)
from records.checks.suggesting import suggestions
from records.instruments.models import Instrument
from records.instruments.queries import in_use
from records.instruments.standing import overdue
from safetyplan.calculation.limits.reached_by import ReachedBy
from safetyplan.calculation.limits.shape import Limit, Part
from safetyplan.calculation.sentences import Sentence
from safetyplan.calculation.unit_tables import QUANTITIES, UNITS
from safetyplan.establishments.models import Establishment, EstablishmentDetails
from safetyplan.establishments.queries import details_of
from safetyplan.establishments.services import MASS_UNITS, TEMPERATURE_UNITS, VOLUME_UNITS
from safetyplan.integrity import canonical, clock, seals
from safetyplan.plans.document import STARTED, Control, Detail, Event
from safetyplan.plans.models import PlanApproved
from safetyplan.words import name_words, render

TARGET_CODES = ("plan_target_", "plan_reached_target_")
# What the plan says besides the limit itself: on the form and in the plan, not at the head of a keypad.
ASIDE = (
    *TARGET_CODES,
    "plan_tolerance",
    "plan_window",
    "plan_hold_recorder",
    "plan_hold_agitator",
    "plan_hold_chart",
    "plan_not_before_cover",
    "plan_not_before_counted",
    "plan_not_before_minimum",
    "plan_exposure_gap",
    "sampling_chances",
    "mean_plan_method",
)
Data = dict[str, Any]


# Words ---------------------------------------------------------------------------------------------


def _bare(sentence: Sentence) -> str:
    text = render(sentence).strip().removesuffix(".")
    for heading in (_("Limit:"), _("Target:")):
        text = text.removeprefix(heading).strip()
    return text


def _of_point(limit: Limit, ordinal: int | None) -> list[Sentence]:
    """Give the sentences of one due point; a limit with one point has them all, and so has None."""
    found = list(limit.describe())
    if ordinal is None or not isinstance(limit, ReachedBy):
        return found
    hours = limit.due[ordinal].hours_text
    return [s for s in found if dict(s.params).get("hours", hours) == hours]


def limit_text(limit: Limit, ordinal: int | None) -> str:
    """Write the limit of one due point in few words, for the head of a keypad and for a list."""
    chosen = [s for s in _of_point(limit, ordinal) if not s.code.startswith(ASIDE)]
    text, other = "; ".join(_bare(sentence) for sentence in chosen), _("or")
    return text.replace(":; ", ": ").replace(f"; {other}; ", f" {other} ")


def target_text(limit: Limit, ordinal: int | None) -> str:
    """Write the target of one due point in few words; empty when there is none."""
    return "; ".join(_bare(s) for s in _of_point(limit, ordinal) if s.code.startswith(TARGET_CODES))


def measure_next(minutes: int) -> str:
    """Say when to measure next; empty when the plan does not say."""
    if minutes <= 0:
        return ""
    if minutes % 60 == 0:
        hours = minutes // 60
        return ngettext("Measure again in %(n)d hour.", "Measure again in %(n)d hours.", hours) % {"n": hours}
    return ngettext("Measure again in %(n)d minute.", "Measure again in %(n)d minutes.", minutes) % {
        "n": minutes
    }


def _texts(control: Control, ordinal: int) -> Data:
    return {
        "limit": limit_text(control.limit, ordinal),
        "target": target_text(control.limit, ordinal),
        "outside_heading": "",
        "actions": [{"code": code, "text": text} for code, text in control.corrective_actions],
        "measure_next": measure_next(control.measure_next_minutes),
    }


# Parts ---------------------------------------------------------------------------------------------


def unit_choices(unit: str, details: EstablishmentDetails) -> list[str]:
    """List the units offered for a part: the establishment's own first, then the plan's.

    Only among the units people choose for a whole establishment: a dose in mL stays in mL.
    """
    families = {
        TEMPERATURE_UNITS: details.temperature_unit,
        VOLUME_UNITS: details.volume_unit,
        MASS_UNITS: details.mass_unit,
    }
    for family, preferred in families.items():
        if unit in family:
            both = family if family is TEMPERATURE_UNITS else ()
            return list(dict.fromkeys([preferred, unit, *both]))
    return [unit] if unit else []


def _unit(code: str) -> Data:
    symbol = "" if code in ("", "count") else UNITS[code].symbol
    return {"code": code, "symbol": symbol}


def _part(part: Part, details: EstablishmentDetails) -> Data:
    units = unit_choices(part.unit, details)
    quantity = QUANTITIES.get(part.quantity)
    return {
        "name": part.name,
        "label": render(part.label),
        "entry": part.entry,
        "unit": _unit(units[0] if units else ""),
        "units": [_unit(code) for code in units],
        "negative": quantity is not None and quantity.negative,
        "options": [{"code": option, "label": name_words(option)} for option in part.options],
        "required": part.required,
    }


def _details(event: Event, suggested: Mapping[str, list[Data]]) -> list[Data]:
    """Give the parts of an event; a lot of an ingredient with a dose is two of them, one after the other."""
    found = []
    for detail in event.details:
        measured = detail.entry == "number"
        unit = detail.unit if measured else ""
        part = _detail(detail, detail.name, detail.label, detail.entry, unit)
        found.append({**part, "suggested": suggested.get(detail.of, [])} if detail.of else part)
        if has_dose(detail):
            label = _("%(name)s, dose") % {"name": detail.label}
            found.append(_detail(detail, dose_name(detail), label, "number", detail.unit))
    return found


def _detail(detail: Detail, name: str, label: str, entry: str, unit: str) -> Data:
    quantity = QUANTITIES.get(detail.quantity)
    return {
        "name": name,
        "label": label,
        "entry": "text" if entry in ("ingredient", "thing") else entry,
        "unit": _unit(unit),
        "units": [_unit(unit)] if unit else [],
        "negative": quantity is not None and quantity.negative,
        "options": [{"code": option, "label": option} for option in detail.options],
        "required": detail.required,
    }


def _instruments(tools: Sequence[Instrument], late: Collection[UUID], control: Control) -> Data:
    """Offer the instruments that fit; one whose check is overdue says so."""
    quantities = {part.quantity for part in control.limit.parts() if part.quantity}
    fitting = [tool for tool in tools if tool.quantity in quantities]
    planned = [i for i in fitting if i.name.casefold() == control.instrument.casefold()]
    rows: list[Data] = [{"id": str(i.pk), "label": _told(i, late), "overdue": i.pk in late} for i in fitting]
    if rows:
        rows.append({"id": "", "label": _("not listed"), "overdue": False})
    chosen = str(planned[0].pk) if len(planned) == 1 else ""
    return {
        "instruments": rows,
        "instrument": chosen,
        "overdue_instrument": control.overdue_instrument or "warn",
    }


def _told(instrument: Instrument, late: Collection[UUID]) -> str:
    name = f"{instrument.code} {instrument.name}"
    return _("%(name)s (check overdue)") % {"name": name} if instrument.pk in late else name


# The data block ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Kit:
    """What the data blocks of an establishment share, fetched once for one block or for all of them."""

    slug: str
    base: Data
    details: EstablishmentDetails
    tools: Sequence[Instrument]
    suggested: Mapping[str, list[Data]]
    late: Collection[UUID] = ()


def kit_of(request: HttpRequest, establishment: Establishment) -> Kit:
    """Fetch what the data blocks of an establishment share."""
    details = details_of(establishment)
    base = _base(request, establishment, details)
    tools, now = list(in_use(establishment)), clock.now(establishment)
    late = overdue(establishment, now) if tools else set()
    return Kit(establishment.slug, base, details, tools, suggestions(establishment, now), late)


def _base(request: HttpRequest, establishment: Establishment, details: EstablishmentDetails) -> Data:
    slug = establishment.slug
    due = reverse("today", args=[slug])
    return {
        "claims_url": reverse("claims", args=[slug]),
        "enrol_url": reverse("enrol", args=[slug]),
        "next_url": due,
        "due_url": due,
        "establishment": str(establishment.pk),
        "person": str(request.user.pk),
        "csrf": get_token(request),
        "zone": details.time_zone,
        "server_public_key": seals.opening_of(establishment).public_key,
        "slot": None,
        "control": None,
        "lot": None,
        "plan_version": None,
        "event": None,
        "table": None,
        "texts": {},
        "instruments": [],
        "instrument": None,
        "overdue_instrument": "warn",
        "photo": "",
        "scan_url": reverse("scan", args=[slug]),
        "lot_find_url": reverse("lot_find", args=[slug]),
        "supersedes": None,
        "correction": False,
        "observed_at": None,
    }


def _correction(original: Reading | LotEvent | None) -> Data:
    if original is None:
        return {}
    return {
        "supersedes": str(original.pk),
        "correction": True,
        "observed_at": canonical.instant(original.observed_at),
    }


def reading_data(
    request: HttpRequest,
    establishment: Establishment,
    place: Place,
    slot: str,
    original: Reading | None = None,
) -> Data:
    """Give the data block of a check, of an extra reading, or of the correction of a reading."""
    known = None
    if place.lot is not None:
        known = facts(place.lot, effective_events(establishment, [place.lot.pk]))
    kit = kit_of(request, establishment)
    data = check_data(kit, place, slot, known, clock.now(establishment), original)
    return {**data, **_next_of_load(kit.slug, place)}


def check_data(
    kit: Kit,
    place: Place,
    slot: str,
    known: LotFacts | None,
    now: datetime,
    original: Reading | None = None,
) -> Data:
    """Give the data block of a check from what is fetched already; `known` are the facts of its lot."""
    control, ordinal = place.control, place.name.ordinal
    times = {STARTED: known.started_at, **known.events} if known is not None else {}
    if place.load is not None:
        times = load_events(place.load)
    if place.thing is not None:
        times = place.thing.events
    if ordinal is None:
        ordinal = extra_ordinal(control, known, now)
    return {
        **kit.base,
        "slot": slot,
        "control": control.code,
        "lot": str(place.lot.pk) if place.lot else None,
        "plan_version": str(place.version.pk),
        "parts": [_part(part, kit.details) for part in control.limit.parts()],
        "table": control.limit.judging_table(ordinal, times),
        "texts": _texts(control, ordinal),
        "late_after_minutes": place.version.plan().late_after_minutes,
        "photo": control.photo,
        **_instruments(kit.tools, kit.late, control),
        **_correction(original),
    }


def _next_of_load(slug: str, place: Place) -> Data:
    """Lead from one check of a load to the next one."""
    if place.load is None:
        return {}
    return {"next_url": reverse("load_next", args=[slug, place.load.identity])}


def event_data(
    request: HttpRequest,
    establishment: Establishment,
    lot: Lot,
    event: Event,
    original: LotEvent | None = None,
) -> Data:
    """Give the data block of an event of a lot, or of its correction."""
    version = version_of(establishment, lot)
    return happening_data(kit_of(request, establishment), lot, version, event, original)


def happening_data(
    kit: Kit, lot: Lot, version: PlanApproved, event: Event, original: LotEvent | None = None
) -> Data:
    """Give the data block of an event from what is fetched already; `version` is the one the lot follows."""
    return {
        **kit.base,
        "next_url": reverse("lot", args=[kit.slug, lot.pk]),
        "lot": str(lot.pk),
        "plan_version": str(version.pk),
        "event": event.code,
        "parts": _details(event, kit.suggested),
        "late_after_minutes": version.plan().late_after_minutes,
        "photo": "asked",
        **_correction(original),
    }


def round_data(request: HttpRequest, establishment: Establishment, found: Sequence[SlotState]) -> Data:
    """Give the data block of a round: checks that are confirmed at once."""
    tolerances = [state.plan_version.plan().late_after_minutes for state in found]
    return {
        **kit_of(request, establishment).base,
        "round": [state.slot.id for state in found],
        "parts": [],
        "late_after_minutes": min(tolerances, default=0),
    }
