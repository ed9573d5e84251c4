"""The page of a correction: what was done after a prerequisite check outside its limit."""

from typing import Any, cast
from uuid import UUID

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from records.batches.posting import MomentForm, claim_of, moment, now_typed, once
from records.checks.corrections import make_correction, states_of, wanted
from records.checks.models import CorrectionMade, Reading
from records.checks.page_data import limit_text, measure_next
from records.checks.places import measured_again, place_of
from records.checks.slots import parse_slot
from records.inspection.beside import taken_at
from records.inspection.telling import on_screen
from records.inspection.words import value_parts
from safetyplan.establishments.access import EVERYONE, WRITERS, get_establishment
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.pages import render_page
from safetyplan.integrity.form_refusals import Typed, check_form, refuse, taking_offers, typed_by
from safetyplan.integrity.refusals import NotAllowed, Refused

FIELDS = {"done_at": "on_time"}


class CorrectionForm(MomentForm):
    """What was done: one of the plan's actions, or in one's own words; and the measurement after it."""

    action_code = forms.CharField(
        label=gettext_lazy("What was done"), required=False, max_length=30, widget=forms.RadioSelect
    )
    text = forms.CharField(
        label=gettext_lazy("In your own words"),
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=gettext_lazy("Needed when it was none of these."),
    )
    no_recheck = forms.CharField(
        label=gettext_lazy("Why it cannot be measured again"),
        required=False,
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=gettext_lazy("Leave empty where you measure again: that reading closes the correction."),
    )

    field_order = ("uuid", "action_code", "text", "on_date", "on_time", "no_recheck")

    def __init__(self, *args: Any, actions: tuple[tuple[str, str], ...], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["on_date"].label, self.fields["on_time"].label = _("Done on"), _("Done at")
        if actions:
            listed = [*actions, ("", _("something else"))]
            self.fields["action_code"].widget = forms.RadioSelect(choices=listed)
        else:
            del self.fields["action_code"]


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def correction(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Show what was done about a reading outside its limit; record it."""
    roles = WRITERS if request.method == "POST" else EVERYONE
    establishment = get_establishment(request, slug, *roles)
    reading: Reading = get_object_or_404(Reading.objects.of(establishment), pk=pk)
    if not wanted(reading):
        return redirect("reading", slug, pk)
    actions = place_of(establishment, reading).control.corrective_actions
    if request.method != "POST":
        form = CorrectionForm(initial=now_typed(establishment), actions=actions)
        return _page(request, establishment, reading, form)
    typed = typed_by(request)
    try:
        check_form(CorrectionForm(request.POST, actions=actions))
        once(request, establishment, lambda: _record(request, establishment, reading, typed, dict(actions)))
    except NotAllowed:
        raise
    except Refused as refusal:
        form = CorrectionForm({**request.POST.dict(), **typed}, actions=actions)
        refuse(form, refusal, FIELDS)
        return _page(request, establishment, reading, form, refusal.status)
    messages.success(request, _("It is recorded what was done."))
    return redirect("correction", slug, pk)


def _record(
    request: HttpRequest,
    establishment: Establishment,
    reading: Reading,
    typed: Typed,
    actions: dict[str, str],
) -> CorrectionMade:
    def act(said: Typed) -> CorrectionMade:
        code = said.get("action_code", "")
        own = said.get("text", "")
        chosen = actions.get(code, "")
        return make_correction(
            establishment=establishment,
            by=cast(Person, request.user),
            reading=reading,
            text=" ".join(part for part in (chosen, own) if part.strip()),
            action_code=code if chosen else "",
            done_at=moment(establishment, said, reason=own),
            no_recheck=said.get("no_recheck", ""),
            claim=claim_of(request, establishment, "correction_made", said, reading=reading.pk),
        )

    return taking_offers(typed, act, fields=FIELDS)


def _page(
    request: HttpRequest, establishment: Establishment, reading: Reading, form: Form, status: int = 200
) -> HttpResponse:
    teller, name = on_screen(establishment), parse_slot(reading.slot)
    control = place_of(establishment, reading).control
    state = states_of(establishment, [reading])[0]
    roles: list[str] = request.roles  # type: ignore[attr-defined]
    place = taken_at(establishment, [reading])[reading.pk]
    context = {
        "reading": reading,
        "correction": state,
        "heading": f"{reading.control} {reading.control_name}{f': {place}' if place else ''}",
        "values": value_parts(teller, reading),
        "limit": limit_text(control.limit, name.ordinal),
        "measure_next": measure_next(control.measure_next_minutes),
        "made": [(row, teller.time(row.done_at), teller.initials(row.author_id)) for row in state.made],
        "good": state.good_since[:1],
        "again": measured_again(establishment, reading),
        "form": form,
        "may_write": bool(set(roles) & set(WRITERS)) and not state.answered,
        "may_measure": Role.MAKER in roles,
        "section": "today",
    }
    return render_page(request, establishment, "records/checks/correction.html", context, status=status)
