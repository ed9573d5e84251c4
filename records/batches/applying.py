"""The page that applies the plan version in force to open lots: what it would do, and the signature."""

from collections.abc import Sequence
from typing import Any, cast
from uuid import UUID

from django import forms
from django.http import HttpRequest
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from records.batches.models import Lot
from records.batches.posting import OnceForm, claim_of
from records.batches.queries import lots, open_lots
from records.inspection.words import state_word
from records.signoff.applying import Applied, Outlook, apply_plan, outlooks
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.shown import People
from safetyplan.integrity import clock
from safetyplan.integrity.form_refusals import signature_field
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.signatures import prove
from safetyplan.plans.models import PlanApproved
from safetyplan.plans.queries import in_force, versions

ALL = "all"


class ApplyForm(OnceForm):
    """Which lots, why, and the signature; `lots` is drawn by the page beside what would change."""

    version = forms.CharField(widget=forms.HiddenInput, max_length=10)
    reason = forms.CharField(
        label=gettext_lazy("Why the new version holds for these lots"),
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    password = signature_field()


def context(establishment: Establishment, form: forms.Form, chosen: Sequence[str] = ()) -> dict[str, Any]:
    """Give everything the page shows."""
    now = clock.now(establishment)
    version = in_force(establishment, now)
    found = outlooks(establishment, open_lots(establishment), version, now) if version else []
    waiting = [outlook for outlook in found if not outlook.refusal]
    others = [o for o in found if o.refusal and version and o.present.pk != version.pk]
    people = People(establishment)
    return {
        "version": version,
        "since": people.when(version.in_force_from) if version else "",
        "form": form,
        "lots": [_line(people, outlook, chosen) for outlook in waiting],
        "others": [(outlook.lot, outlook.present.number, outlook.refusal) for outlook in others],
        "following": sum(1 for o in found if version and o.present.pk == version.pk),
        "all_chosen": ALL in chosen,
    }


def _line(people: People, outlook: Outlook, chosen: Sequence[str]) -> dict[str, Any]:
    return {
        "lot": outlook.lot,
        "started": people.when(outlook.lot.started_at),
        "number": outlook.present.number,
        "changes": [change.sentence() for change in outlook.changes],
        "warnings": _warnings(people, outlook),
        "chosen": str(outlook.lot.pk) in chosen,
    }


def _warnings(people: People, outlook: Outlook) -> list[str]:
    """Say which deviations the act would open."""
    read = [
        _("%(control)s, read %(at)s: %(state)s by the new version. %(said)s")
        % {
            "control": f"{second.place.control.code} {second.place.control.name}",
            "at": people.when(second.reading.observed_at),
            "state": state_word(str(second.judgement.state)),
            "said": second.said,
        }
        for second in outlook.missed
    ]
    not_made = [
        _("%(control)s: asked for by the new version, its time is over and nothing was recorded.")
        % {"control": f"{state.slot.control.code} {state.slot.control.name}"}
        for state in outlook.not_made
    ]
    return [*read, *not_made]


def chosen_of(request: HttpRequest) -> list[str]:
    """Give the lots that were ticked, and "all" where that was."""
    return [str(value) for value in request.POST.getlist("lots")]


def _lots(establishment: Establishment, chosen: Sequence[str], version: PlanApproved) -> list[Lot]:
    """Find the lots that were ticked; with "all" every open lot to which the version can be applied."""
    if ALL in chosen:
        found = outlooks(establishment, open_lots(establishment), version, clock.now(establishment))
        return [outlook.lot for outlook in found if not outlook.refusal]
    try:
        keys = {UUID(value) for value in chosen}
    except ValueError as error:
        raise BadInput(_("Choose lots of the list."), part="lots") from error
    listed = list(lots(establishment).filter(pk__in=keys))
    if len(listed) != len(keys):
        raise BadInput(_("Choose lots of the list."), part="lots")
    return listed


def apply(request: HttpRequest, establishment: Establishment) -> Applied:
    """Apply what was ticked, as the page showed it."""
    typed = request.POST
    number = typed.get("version", "")
    shown = versions(establishment).filter(number=int(number)).first() if number.isdecimal() else None
    if shown is None:
        raise BadInput(_("This form is not complete. Load the page again."))
    chosen = chosen_of(request)
    person = cast(Person, request.user)
    proof = prove(establishment=establishment, person=person, password=typed.get("password", ""))
    said = {"version": number, "reason": typed.get("reason", ""), "lots": " ".join(chosen)}
    return apply_plan(
        establishment=establishment,
        proof=proof,
        lots=_lots(establishment, chosen, shown),
        version=shown,
        why=said["reason"],
        claim=claim_of(request, establishment, "plan_applied", said),
    )


def done_words(applied: Applied) -> str:
    """Say what was done."""
    count, number = len(applied.rows), applied.rows[0].plan_version.number
    words = ngettext(
        "Version %(number)d now holds for %(count)d lot.",
        "Version %(number)d now holds for %(count)d lots.",
        count,
    ) % {"number": number, "count": count}
    if not applied.deviations:
        return words
    opened = len(applied.deviations)
    more = ngettext(
        "%(opened)d deviation was opened: see what is on hold.",
        "%(opened)d deviations were opened: see what is on hold.",
        opened,
    ) % {"opened": opened}
    return f"{words} {more}"
