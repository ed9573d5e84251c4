"""What was typed about a control, read for the document of the plan; every refusal at its field. Pure."""

import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from safetyplan.calculation.limits.reached_by import ReachedBy
from safetyplan.calculation.open_limit import OpenLimit
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean
from safetyplan.plans.document_keys import CLOCK
from safetyplan.plans.document_parts import MOST_POINTS
from safetyplan.plans.editing.controls_forms import unit_of
from safetyplan.plans.editing.frame import Data, free_code
from safetyplan.plans.editing.limit_values import read_difference, read_span
from safetyplan.plans.parts import CLASSES, Control, Plan
from safetyplan.plans.reading import MOST_MINUTES

CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,19}")
BEGINNINGS = {"ccp": "CCP", "oprp": "OPRP", "prp": "PRP"}
NEEDED = ("name", "what", "how", "who")
MOST_POINT = 60
RECORDED = ("recording", "photo", "overdue_instrument", "before_event")
TEXTS = {"verification": 500, "record": 200, "justification": 2000, "figure_source": 500}
Typed = Mapping[str, Any]


def read_minutes(raw: str, part: str) -> int:
    """Read a time with its unit, in whole minutes: 90 min, 24 h, 2 d."""
    if not any(letter.isalpha() for letter in raw) and raw.strip() != "0":
        raise BadInput(_("Say min or h with it, such as 90 min or 24 h."), part=part)
    minutes = Decimal(read_span(raw, "min", part, confirmed=True))
    if minutes != int(minutes):
        raise BadInput(_("Only whole minutes here."), part=part)
    if minutes > MOST_MINUTES:
        raise BadInput(_("At most %(most)d min.") % {"most": MOST_MINUTES}, part=part)
    return int(minutes)


def read_times(raw: str) -> list[str]:
    """Read times of day, with commas or blanks between them."""
    found = [written.zfill(5) for written in raw.replace(",", " ").replace(";", " ").split()]
    for time in found:
        if not CLOCK.fullmatch(time):
            raise BadInput(
                _("“%(time)s” is no time of day. Write it like 06:30.") % {"time": time[:20]}, part="times"
            )
    if not found:
        raise BadInput(_("Give at least one time of day, such as 07:00."), part="times")
    if len(set(found)) < len(found):
        raise BadInput(_("One of the times stands here twice."), part="times")
    return found


def read_when(typed: Typed, control: Control | None) -> Data:
    """Read when the check is due; a limit that names its own times decides."""
    kind = typed["when_kind"]
    _check_kind(kind, control)
    if kind == "limit_points":
        return {"kind": kind}
    windows = {}
    for name, key in (("before", "window_before_minutes"), ("late", "window_after_minutes")):
        if not typed[name].strip():
            raise BadInput(_("Say how far from the due time it may be measured, such as 60 min."), part=name)
        windows[key] = read_minutes(typed[name], name)
    if kind == "daily":
        each = {"each": typed["each"]} if typed["each"] else {}
        times = read_times(typed["times"])
        return {"kind": kind, "days": typed["days"] or "every", "times": times, **windows, **each}
    after = read_minutes(typed["after"], "after") if typed["after"].strip() else 0
    if kind == "load":
        return {"kind": kind, "after_minutes": after, **windows}
    if not typed["event"]:
        raise BadInput(_("Choose the event from which the time is counted."), part="event")
    return {"kind": kind, "event": typed["event"], "after_minutes": after, **windows}


def _check_kind(kind: str, control: Control | None) -> None:
    if not kind:
        raise BadInput(_("Choose when the check is due."), part="when_kind")
    if control is None or isinstance(control.limit, OpenLimit):
        return
    names_times = isinstance(control.limit, ReachedBy)
    if names_times and kind != "limit_points":
        message = _("The limit names its own times, and the check follows them. Change them in the limit.")
        raise BadInput(message, part="when_kind")
    if not names_times and kind == "limit_points":
        raise BadInput(_("The limit names no times. Choose another way."), part="when_kind")


def read_points(raw: str, kind: str) -> list[str]:
    """Read the points at which a daily check is measured, one on each line."""
    points = [clean(line, most=MOST_POINT, part="points") for line in raw.splitlines() if line.strip()]
    if points and kind != "daily":
        message = _("Only a check at times of the day has points. Choose that way, or take the points out.")
        raise BadInput(message, part="points")
    if len(points) > MOST_POINTS:
        raise BadInput(_("At most %(most)d points.") % {"most": MOST_POINTS}, part="points")
    if len(set(points)) < len(points):
        raise BadInput(_("One of the points stands here twice."), part="points")
    return points


def put_recording(typed: Typed, data: Data) -> None:
    """Put how the check is recorded into the document of a control; what is left empty is left out."""
    kind = typed["when_kind"]
    if typed["before_event"] and kind == "daily":
        message = _("Only a check of a lot or of a load of milk can come before an event of a lot.")
        raise BadInput(message, part="before_event")
    if typed["before_event"] and kind == "after_event" and typed["before_event"] == typed["event"]:
        message = _("The check waits for this very event, so it cannot come before it.")
        raise BadInput(message, part="before_event")
    said = {"points": read_points(typed["points"], kind), **{name: typed[name] for name in RECORDED}}
    for name, value in said.items():
        data.pop(name, None)
        data |= {name: value} if value else {}


def read_actions(raw: str, before: Iterable[Mapping[str, str]], code: str) -> list[Data]:
    """Read corrective actions, one on each line.

    A line that reads as before keeps its code; a changed one keeps that of its place; a new one gets a code
    that none of them had.
    """
    lines = [line.strip() for line in raw.splitlines() if line.strip()]
    old = list(before)
    left = {action["code"]: action["text"] for action in old}
    codes: list[str] = []
    for line in lines:
        same = next((known for known, text in left.items() if text == line), "")
        left.pop(same, None)
        codes.append(same)
    numbered = iter(_new_codes([action["code"] for action in old], code))
    for place, found in enumerate(codes):
        if not found:
            there = old[place]["code"] if place < len(old) else ""
            codes[place] = there if there in left else next(numbered)
            left.pop(there, None)
    return [{"code": known, "text": line} for known, line in zip(codes, lines, strict=True)]


def _new_codes(used: list[str], code: str) -> Iterable[str]:
    number = 0
    while True:
        number += 1
        if f"{code}-{number}" not in used:
            yield f"{code}-{number}"


def read_resolution(raw: str, control: Control | None) -> str:
    """Read the smallest step of the instrument, in the unit of the limit."""
    if not raw.strip():
        return ""
    if control is not None and raw.strip() == control.resolution:
        return control.resolution
    found = read_difference(raw, unit_of(control) or "ratio", "resolution", signed=False)
    if Decimal(found) <= 0:
        raise BadInput(_("The smallest step is above zero."), part="resolution")
    return found


def check_place(plan: Plan, products: list[str], step: str) -> None:
    """Refuse a step that one of the products does not have."""
    for code in products:
        if step and plan.product(code).step(step) is None:
            message = _("%(product)s has no such step.") % {"product": plan.product(code).name}
            raise BadInput(message, part="step")


def put(typed: Typed, plan: Plan, control: Control | None, data: Data) -> None:
    """Put what was typed into the document of a control, which has its code and its limit already."""
    if typed["rank"] not in CLASSES:
        raise BadInput(_("Choose the class."), part="rank")
    for name in NEEDED:
        if not typed[name].strip():
            raise BadInput(_("This is missing."), part=name)
    check_place(plan, typed["products"], typed["step"])
    data |= {"class": typed["rank"], "name": clean(typed["name"], part="name")}
    data |= {"products": list(typed["products"]), "step": typed["step"]}
    monitoring = {name: clean(typed[name], part=name) for name in ("what", "how", "who", "instrument")}
    data["monitoring"] = {**monitoring, "when": read_when(typed, control)}
    actions = read_actions(
        clean(typed["actions"], most=5000, part="actions"), data.get("corrective_actions", ()), data["code"]
    )
    data["corrective_actions"] = actions
    next_one = typed["measure_next"].strip()
    data["measure_next_minutes"] = read_minutes(next_one, "measure_next") if next_one else 0
    data["resolution"] = read_resolution(typed["resolution"], control)
    data |= {name: clean(typed[name], most=most, part=name) for name, most in TEXTS.items()}
    data["provenance"] = typed["provenance"]
    put_recording(typed, data)


def new_code(typed: str, rank: str, data: Data) -> str:
    """Read the code of a new control, or make it from its class."""
    code = typed.strip()
    others = [*data["controls"], *data.get("prerequisites", ())]
    if not code:
        return free_code(others, BEGINNINGS.get(rank, "C"))
    if not CODE.fullmatch(code):
        message = _("Letters, digits and - only, a letter or digit first, at most 20.")
        raise BadInput(message, part="code")
    if code in {item["code"] for item in others}:
        raise BadInput(_("This code is used already."), part="code")
    return code


def open_limit() -> Data:
    """The place of a limit that nobody has set yet."""
    return {
        "kind": "open",
        "prompt": _("Decide what must be kept here, and where the figure comes from."),
        "sources": [],
        "suggests": "",
    }


def named_by(plan: Plan, code: str) -> list[tuple[str, str, str]]:
    """List what names a control: the screen it is changed on, its code, its name."""
    hazards = [("plan_hazard", h.code, h.name) for h in plan.hazards if h.controlled_by == code]
    checks = [("plan_verification", v.code, v.name) for v in plan.verifications if code in v.controls]
    evidence = [("plan_validation", v.code, v.text) for v in plan.validations if code in v.controls]
    return [*hazards, *checks, *evidence]
