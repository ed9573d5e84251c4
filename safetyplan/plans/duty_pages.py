"""The duties of the plan for pages: what they depend on read from the records, shown, noted and signed.

What only the records of the dairy know (deviations that nobody foresaw, the first lots) is passed in.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django import forms
from django.db.models import F
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.people_forms import date_input, typed_date
from safetyplan.establishments.queries import zone_of
from safetyplan.establishments.shown import People
from safetyplan.integrity import clock
from safetyplan.integrity.form_refusals import PlainForm, signature_field
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.signatures import prove
from safetyplan.plans.confirming import note_trigger, sign_duty
from safetyplan.plans.duties import (
    ATTESTATION,
    DUE,
    OUTCOMES,
    OVERDUE,
    REANALYSIS,
    STATUS,
    UPCOMING,
    Done,
    Duty,
    Known,
    Occasion,
    duties,
    settled_at,
    unvalidated,
)
from safetyplan.plans.duty_words import TRIGGERS, duty_words, outcome_words, trigger_words
from safetyplan.plans.models import DutyDone, PlanApproved, ReanalysisTrigger
from safetyplan.plans.parts import Plan
from safetyplan.plans.queries import versions

MAY_NOTE = (Role.MAKER, Role.REVIEWER, Role.QUALIFIED, Role.RESPONSIBLE)
MAY_SIGN = (Role.QUALIFIED, Role.RESPONSIBLE)
HISTORY = 50
BADGES = {UPCOMING: "not_yet_due", DUE: "due", OVERDUE: "overdue"}
NEEDS = {STATUS: "status_by", ATTESTATION: "attestation_window"}


@dataclass(frozen=True)
class Outside:
    """What the records know: occasions that became known after a ledger sequence; the first lots."""

    occasions: Callable[[int], Sequence[Occasion]]
    first_made: Callable[[], Mapping[str, date]]


def gather(establishment: Establishment, outside: Outside) -> Known | None:
    """Give all that the duties of the plan in force depend on; None while no plan is in force."""
    local, now = ZoneTime(zone_of(establishment)), clock.now(establishment)

    def day(at: datetime) -> date:
        return local.local(at).date()

    listed = list(versions(establishment).annotate(at_sequence=F("entry__sequence")))
    version = next((v for v in listed if v.in_force_from <= now), None)
    if version is None:
        return None
    plan, newest = version.plan(), listed[0]
    rows = DutyDone.objects.of(establishment).annotate(at_sequence=F("entry__sequence"))
    done = [Done(row.duty, row.outcome, row.done_on, row.at_sequence) for row in rows]
    settled = settled_at(newest.at_sequence, done)
    noted = ReanalysisTrigger.objects.of(establishment).filter(entry__sequence__gt=settled)
    own = [
        Occasion(row.trigger, row.text, row.happened_on, row.at_sequence)
        for row in noted.annotate(at_sequence=F("entry__sequence"))
    ]
    lots_matter = bool(unvalidated(plan)) or _has(plan, "attestation_window")
    return Known(
        plan=plan,
        today=day(now),
        approved_on=day(newest.recorded_at),
        approved_at=newest.at_sequence,
        begun_on=day(listed[-1].recorded_at),
        done=done,
        occasions=[*own, *outside.occasions(settled)],
        since=_since(listed, day) if unvalidated(plan) else {},
        first_made=outside.first_made() if lots_matter else {},
    )


def _since(listed: Sequence[PlanApproved], day: Callable[[datetime], date]) -> dict[str, date]:
    """Give from when each critical control point is in force."""
    found: dict[str, date] = {}
    for version in reversed(listed):
        for control in version.plan().controls:
            if control.is_ccp:
                found.setdefault(control.code, day(version.in_force_from))
    return found


def _has(plan: Plan, code: str) -> bool:
    parameter = plan.profile.parameter(code) if plan.profile else None
    return parameter is not None and bool(parameter.value.strip())


def duty_lines(found: Sequence[Duty]) -> list[dict[str, Any]]:
    """Give duties as a page shows them."""
    return [
        {
            "title": duty_words(duty.code),
            "badge": BADGES[duty.state],
            "due_on": duty.due_on,
            "opens_on": duty.opens_on,
            "words": duty.words,
            "citation": duty.citation,
        }
        for duty in found
    ]


def near_lines(known: Known | None) -> list[dict[str, Any]]:
    """Give what is due, overdue or close, for the page of today."""
    return duty_lines([duty for duty in duties(known) if duty.is_near]) if known else []


def all_lines(known: Known | None) -> list[dict[str, Any]]:
    """Give every duty, for the reviewer's week and the page of the duties."""
    return duty_lines(duties(known)) if known else []


# Forms ---------------------------------------------------------------------------------------------


class TriggerForm(PlainForm):
    """Something new that asks for a reanalysis."""

    trigger = forms.ChoiceField(label=gettext_lazy("What is new"), choices=list(TRIGGERS.items()))
    text = forms.CharField(
        label=gettext_lazy("In a few words"),
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=gettext_lazy("What it is, and which product or step it touches."),
    )
    happened_on = forms.CharField(label=gettext_lazy("Since"), max_length=20, widget=date_input())


class DutyForm(PlainForm):
    """A duty that was done, with what came of it, and the signature."""

    what = forms.ChoiceField(label=gettext_lazy("What was done, and what came of it"))
    text = forms.CharField(
        label=gettext_lazy("What was looked at, and why it came out so"),
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    done_on = forms.CharField(label=gettext_lazy("Done on"), max_length=20, widget=date_input())
    password = signature_field()

    def __init__(self, *args: Any, plan: Plan | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["what"].choices = _choices(plan)  # type: ignore[attr-defined]


def _choices(plan: Plan | None) -> list[tuple[str, list[tuple[str, str]]]]:
    """Offer what the plan's profile asks for: a reanalysis always, the rest where its dates are given."""
    wanted = [
        duty
        for duty in OUTCOMES
        if duty == REANALYSIS or (plan is not None and _has(plan, NEEDS.get(duty, "")))
    ]
    return [
        (duty_words(duty), [(f"{duty}:{outcome}", outcome_words(outcome)) for outcome in OUTCOMES[duty]])
        for duty in wanted
    ]


def _day(text: str, part: str) -> date:
    day = typed_date(text, part=part)
    if day is None:
        raise BadInput(_("Give the date."), part=part)
    return day


def note(establishment: Establishment, by: Person, typed: Mapping[str, str]) -> ReanalysisTrigger:
    """Note what a form says is new."""
    return note_trigger(
        establishment=establishment,
        by=by,
        trigger=typed.get("trigger", ""),
        text=typed.get("text", ""),
        happened_on=_day(typed.get("happened_on", ""), "happened_on"),
    )


def sign(establishment: Establishment, by: Person, typed: Mapping[str, str]) -> DutyDone:
    """Sign what a form says was done."""
    duty, _colon, outcome = typed.get("what", "").partition(":")
    if outcome not in OUTCOMES.get(duty, ()):
        raise BadInput(_("Choose what was done."), part="what")
    done_on = _day(typed.get("done_on", ""), "done_on")
    proof = prove(establishment=establishment, person=by, password=typed.get("password", ""))
    return sign_duty(
        establishment=establishment,
        proof=proof,
        duty=duty,
        outcome=outcome,
        text=typed.get("text", ""),
        done_on=done_on,
    )


def page(
    establishment: Establishment,
    known: Known | None,
    roles: Sequence[str],
    bound: Mapping[str, forms.Form] | None = None,
) -> dict[str, Any]:
    """Give everything the page of the duties shows."""
    plan = known.plan if known else None
    local = ZoneTime(zone_of(establishment))
    today = local.local(clock.now(establishment)).date().isoformat()
    made: dict[str, forms.Form] = {
        "trigger": TriggerForm(initial={"happened_on": today}, auto_id="trigger_%s"),
        "duty": DutyForm(plan=plan, initial={"done_on": today}, auto_id="duty_%s"),
    }
    return {
        "section": "plan",
        "known": known,
        "duties": all_lines(known),
        "forms": {**made, **(bound or {})},
        "may_note": bool(set(MAY_NOTE) & set(roles)),
        "may_sign": bool(set(MAY_SIGN) & set(roles)),
        "history": _history(establishment),
    }


def _history(establishment: Establishment) -> list[dict[str, Any]]:
    """Give what was signed and noted, the newest first."""
    people = People(establishment)
    signed = DutyDone.objects.of(establishment).annotate(at_sequence=F("entry__sequence"))
    noted = ReanalysisTrigger.objects.of(establishment).annotate(at_sequence=F("entry__sequence"))
    rows = [
        *(
            {
                "sequence": row.at_sequence,
                "day": row.done_on,
                "title": duty_words(row.duty),
                "outcome": outcome_words(row.outcome),
                "text": row.text,
                "signed": True,
                "shown": people.shown(row),
            }
            for row in signed.order_by("-at_sequence")[:HISTORY]
        ),
        *(
            {
                "sequence": row.at_sequence,
                "day": row.happened_on,
                "title": trigger_words(row.trigger),
                "outcome": "",
                "text": row.text,
                "signed": False,
                "shown": people.shown(row),
            }
            for row in noted.order_by("-at_sequence")[:HISTORY]
        ),
    ]
    return sorted(rows, key=lambda row: -row["sequence"])[:HISTORY]
