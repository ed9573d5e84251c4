"""The page of one deviation: its steps in order, who did each, what is missing, who may do it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.forms import Form
from django.utils.translation import gettext as _

from records.batches.queries import NOTHING, version_of
from records.checks import looked_back
from records.deviations import forms
from records.deviations.affected import Affected, lines_of, quantity
from records.deviations.closing import doers
from records.deviations.models import Cause, Deviation, Disposition, Outcome
from records.deviations.queries import DeviationState, lots_concerned, state_of
from records.deviations.unforeseen import lot_choices
from safetyplan.calculation.rounding import amount
from safetyplan.establishments.access import WRITERS
from safetyplan.establishments.models import Establishment, Role
from safetyplan.establishments.queries import details_of
from safetyplan.establishments.shown import People, Shown
from safetyplan.integrity import clock
from safetyplan.integrity.form_claims import new_uuid
from safetyplan.plans.document import Control, Plan
from safetyplan.plans.queries import in_force

RIGHTS: Mapping[str, tuple[str, ...]] = {
    "lot": WRITERS,
    "hold": WRITERS,
    "action": WRITERS,
    "evaluate": (Role.QUALIFIED,),
    "dispose": (Role.RESPONSIBLE,),
    "cause": WRITERS,
    "recall": (Role.RESPONSIBLE,),
    "close": (Role.REVIEWER,),
    "attach": WRITERS,
}
FORMS: Mapping[str, type[Form]] = {
    "lot": forms.AffectedLotForm,
    "hold": forms.HoldForm,
    "action": forms.ActionForm,
    "evaluate": forms.EvaluationForm,
    "dispose": forms.DispositionForm,
    "cause": forms.CauseForm,
    "recall": forms.RecallForm,
    "close": forms.CloseForm,
    "attach": forms.AttachForm,
}
NEEDED_FOR = {"evaluate": "evaluation", "dispose": "disposition"}


@dataclass
class Step:
    """One step of the work on a deviation."""

    name: str
    title: str
    rows: list[Shown]
    missing: bool
    why_not: str
    form: Form | None = None
    unfolded: bool = False


@dataclass(frozen=True)
class Viewer:
    """Who looks at the page."""

    person: UUID
    roles: tuple[str, ...]


def missing_words(names: list[str]) -> list[str]:
    """Say what is missing before a deviation can be closed."""
    words = {
        "hold": _("the hold is not confirmed"),
        "action": _("no corrective action"),
        "evaluation": _("the product is not evaluated"),
        "disposition": _("not everything on hold is disposed of"),
        "cause": _("no cause and prevention"),
        "recall": _("no recall decision"),
    }
    return [words[name] for name in names]


def plan_of(establishment: Establishment, deviation: Deviation) -> Plan | None:
    """Give the plan that a deviation is judged by: the one its first lot followed when it was opened.

    Without a lot its reading's, else the one in force then.
    """
    lots = lots_concerned(establishment, [deviation])[deviation.pk]
    if lots:
        return version_of(establishment, lots[0], deviation.entry.sequence).plan()
    if deviation.reading is not None:
        return deviation.reading.plan_version.plan()
    version = in_force(establishment, deviation.recorded_at)
    return version.plan() if version else None


def control_of(establishment: Establishment, deviation: Deviation) -> Control | None:
    """Give the control of the plan that a deviation belongs to."""
    plan = plan_of(establishment, deviation) if deviation.control else None
    return plan.control(deviation.control) if plan else None


def summary(state: DeviationState) -> str:
    """Name where a deviation stands, as a state code of the pages."""
    if not state.is_open:
        return "closed"
    if state.hold_missing:
        return "hold_required"
    if not state.holds:
        return "open"
    return "disposed" if state.left == NOTHING and state.dispositions else "hold"


def summary_of(one: Affected, state: DeviationState) -> str:
    """Name where one lot of a deviation stands, as a state code of the pages."""
    if not state.is_open:
        return "closed"
    if one.unconfirmed:
        return "hold_required"
    if one.hold is None:
        return "open"
    return "disposed" if one.left == NOTHING and one.dispositions else "hold"


def _why_not(name: str, state: DeviationState, viewer: Viewer) -> str:
    """Say why this person cannot do a step now; '' when they can."""
    if not state.is_open:
        return _("This deviation is closed.")
    if not set(viewer.roles) & set(RIGHTS[name]):
        roles = ", ".join(str(Role(role).label) for role in RIGHTS[name])
        return _("This is for: %(roles)s.") % {"roles": roles}
    return _not_yet(name, state)


def _not_yet(name: str, state: DeviationState) -> str:
    if name == "hold" and not can_hold(state):
        return _("Part of this hold was disposed of already: the count cannot change now.")
    if name == "evaluate" and state.hold_missing:
        return _("Confirm the hold first: evaluate what stands apart and counted.")
    if name == "dispose" and not state.holds:
        return _("Nothing is confirmed on hold: confirm the hold first.")
    if name == "dispose" and state.left == NOTHING:
        return _("Everything on hold is disposed of.")
    if name == "dispose" and not can_dispose(state):
        return _("The product was not evaluated yet: a qualified individual does that first.")
    if name == "recall" and state.recall is not None and not state.recall_missing:
        return _("The recall was decided.")
    return ""


def can_hold(state: DeviationState) -> list[Affected]:
    """Give what a hold may be confirmed of, or counted again: nothing that was disposed of in part."""
    return [one for one in state.affected if not one.dispositions]


def can_dispose(state: DeviationState) -> list[Affected]:
    """Give what may be disposed of now: on hold, evaluated, and not yet decided."""
    return [one for one in state.affected if one.hold and one.left != NOTHING and state.evaluated(one)]


def form_of(name: str, establishment: Establishment, state: DeviationState, *sent: Any, **given: Any) -> Form:
    """Make the form of a step; those that are about one lot offer the lots for which they can be used."""
    if name in ("hold", "dispose"):
        chosen = can_hold(state) if name == "hold" else can_dispose(state)
        given |= {"affected": chosen or state.affected, "several": len(state.affected) > 1}
    if name == "lot":
        named = (
            set() if sent else {str(lot.pk) for lot in state.lots}
        )  # sent twice, it was named by the first
        given["lots"] = [(key, words) for key, words in lot_choices(establishment) if key not in named]
    return FORMS[name](*sent, **{**given, "auto_id": f"{name}_%s"})


def now_parts(people: People, at: datetime) -> dict[str, str]:
    """Give the present local date and time for a form."""
    local = people.clock.local(at)
    return {"done_date": f"{local:%Y-%m-%d}", "done_time": f"{local:%H:%M}"}


def _initial(name: str, state: DeviationState, now: dict[str, str]) -> dict[str, Any]:
    if name == "dispose":
        return {"seen": len(state.dispositions)}
    if name == "hold" and len(state.affected) > 1:
        following = next((one.key for one in can_hold(state) if one.unconfirmed), "")
        return {"lot": following, **now}
    if name == "hold" and state.hold is not None:
        hold = state.hold
        return {"place": hold.place, "tag": hold.tag, **now}
    return now if name in ("hold", "action") else {}


def disposition_lines(disposition: Disposition) -> list[dict[str, str]]:
    """Write the lines of a disposition."""
    methods = {str(code): str(label) for code, label in forms.METHODS if code}
    written = []
    for line in lines_of(disposition):
        label = str(Outcome(line["outcome"]).label)
        if line["method"]:
            label = f"{label} {methods[line['method']]}"
        shown = {"what": label, "pieces": str(line["pieces"]), "mass": line["mass"]}
        written.append({**shown, "volume": line.get("volume", "")})
    return written


def _steps(
    establishment: Establishment, state: DeviationState, people: People, viewer: Viewer
) -> dict[str, Step]:
    now = now_parts(people, clock.now(establishment))
    titles: dict[str, tuple[str, list[Any]]] = {
        "lot": (_("Lots"), []),
        "hold": (_("Hold"), state.holds),
        "action": (_("Corrective action"), state.actions),
        "evaluate": (_("Evaluation"), state.evaluations),
        "attach": (_("Documents"), state.files),
        "dispose": (_("Disposition"), state.dispositions),
        "cause": (_("Cause and prevention"), state.causes),
        "recall": (_("Recall decision"), state.recalls),
        "close": (_("Review and closure"), [state.closure] if state.closure else []),
    }
    missing = state.missing() if state.is_open else []
    steps = {}
    for name, (title, rows) in titles.items():
        why_not = _why_not(name, state, viewer)
        step = Step(name, title, people.each(rows), NEEDED_FOR.get(name, name) in missing, why_not)
        if not why_not:
            step.form = form_of(name, establishment, state, initial=_initial(name, state, now))
        steps[name] = step
    return steps


def _unfold(steps: dict[str, Step], state: DeviationState, bound: Mapping[str, Form]) -> None:
    """Open the form of what comes next for this person, and the one that was refused."""
    for name, form in bound.items():
        steps[name].form, steps[name].unfolded = form, True
    steps["close"].unfolded |= not state.missing()
    order = [steps[name] for name in ("hold", "evaluate", "dispose", "recall", "cause")]
    following = next((step for step in order if step.missing and step.form), None)
    if following is not None:
        following.unfolded = True


def _happened(deviation: Deviation, people: People) -> dict[str, Any]:
    reading = deviation.reading
    value = amount(reading.value_text, reading.unit) if reading and reading.value_text else ""
    return {
        "value": value,
        "reading": reading,
        "reading_by": people.name(reading.author_id) if reading else "",
        "measured": people.when(reading.observed_at) if reading else "",
        "opened": people.shown(deviation),
    }


def deviation_page(
    establishment: Establishment,
    deviation: Deviation,
    viewer: Viewer,
    bound: Mapping[str, Form] | None = None,
) -> dict[str, Any]:
    """Give everything the page shows; `bound` holds the form that was refused."""
    state = state_of(establishment, deviation)
    people = People(establishment)
    steps = _steps(establishment, state, people, viewer)
    _unfold(steps, state, bound or {})
    control = control_of(establishment, deviation)
    return {
        "section": "week",
        "deviation": deviation,
        "state": state,
        "summary": summary(state),
        "steps": steps,
        "cause_words": Cause(deviation.cause).label,
        "happened": _happened(deviation, people),
        "planned": _planned(control, state) if not steps["action"].why_not else [],
        "missing": missing_words(state.missing()),
        "own": viewer.person in doers(state),
        "self_review": details_of(establishment).self_review_reason,
        "recall_asked": state.recall_asked,
        "affected": [_affected(one, state, people) for one in state.affected],
        "named": _named(state, people),
        "sent": sum(one.sent for one in state.affected),
        "several": len(state.affected) > 1,
        "to_set_apart": [one.name for one in state.affected if one.unconfirmed and one.lot],
        "refused": [one.name for one in state.affected if one.refused],
        "things_to_hold": [one.name for one in state.affected if one.unconfirmed and not one.lot],
        **_looked_back(establishment, deviation, people),
        "calculations": people.each(state.calculations),
        "may_calculate": state.is_open and bool(set(viewer.roles) & set(WRITERS)),
        **_amounts(state),
        **_rows(steps, people),
    }


def _looked_back(establishment: Establishment, deviation: Deviation, people: People) -> dict[str, Any]:
    """Give the readings that a failed instrument made not valid, recomputed, and its checks around them."""
    rows = looked_back.readings_of(establishment, [deviation.pk])[deviation.pk]
    if not rows:
        return {"looked_back": [], "checks": []}
    return {
        "looked_back": [
            (
                words,
                [
                    {
                        "row": row,
                        "when": people.when(row.reading.observed_at),
                        "read": looked_back.read_words(row.reading),
                        "true": looked_back.recomputed_words(row),
                    }
                    for row in chosen
                ],
            )
            for words, chosen in looked_back.by_rank(rows)
        ],
        "checks": [
            {"row": check, "when": people.when(check.checked_at), "entered": people.when(check.recorded_at)}
            for check in looked_back.checks_around(establishment, rows)
        ],
    }


def _affected(one: Affected, state: DeviationState, people: People) -> dict[str, Any]:
    """Give one lot of the deviation, or what is held that is no lot, as the page shows it."""
    subject = f"{state.deviation.number}/{one.lot.pk}" if one.named and one.lot else str(state.deviation.pk)
    return {
        "one": one,
        "state": summary_of(one, state),
        "word": _("Nothing here") if state.is_open and one.all_left and not one.hold else "",
        "holds": [(shown, people.when(shown.row.held_at)) for shown in people.each(one.holds)],
        "tag": subject,
        **_amounts(one),
    }


def _named(state: DeviationState, people: People) -> list[dict[str, Any]]:
    """Say why each lot was named, by whom and when; lots named together for one reason together."""
    found: dict[tuple[str, str, str], list[str]] = {}
    for one in state.affected:
        if one.named is not None:
            shown = people.shown(one.named)
            found.setdefault((one.named.reason, shown.who, shown.when), []).append(one.name)
    return [
        {"codes": codes, "why": why, "who": who, "when": when} for (why, who, when), codes in found.items()
    ]


def _amounts(state: DeviationState | Affected) -> dict[str, str]:
    litres = isinstance(state, Affected) and state.in_litres
    return {
        name: quantity(found, litres=litres)
        for name, found in (("held", state.held), ("left", state.left), ("disposed", state.disposed))
    }


def _rows(steps: dict[str, Step], people: People) -> dict[str, Any]:
    return {
        "actions": [(shown, people.when(shown.row.done_at)) for shown in steps["action"].rows],
        "dispositions": [(shown, disposition_lines(shown.row)) for shown in steps["dispose"].rows],
    }


def _planned(control: Control | None, state: DeviationState) -> list[dict[str, str]]:
    """List the planned actions, each with its own form identity, and whether it was done."""
    done = {action.action_code for action in state.actions}
    actions = control.corrective_actions if control else ()
    return [
        {"code": code, "text": text, "uuid": new_uuid(), "done": "yes" if code in done else ""}
        for code, text in actions
    ]
