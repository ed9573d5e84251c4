"""Pages of people, their training and devices, and of the establishment's details."""

from dataclasses import asdict
from typing import Any, cast
from uuid import UUID
from zoneinfo import available_timezones

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from safetyplan.establishments import people_changes as changes
from safetyplan.establishments.access import EVERYONE, get_establishment
from safetyplan.establishments.models import Credential, Establishment, Membership, Person, Role
from safetyplan.establishments.people_forms import AddForm, ChangeForm, DetailsForm, TrainingForm
from safetyplan.establishments.people_page import change_initial, may, people_page, person_page, same_person
from safetyplan.establishments.queries import details_of, memberships
from safetyplan.establishments.services import add_person, revoke_credential
from safetyplan.integrity.form_refusals import check_form, refuse
from safetyplan.integrity.refusals import NotAllowed, Refused

TRAINERS = (Role.ADMINISTRATOR, Role.QUALIFIED)


def _person(request: HttpRequest) -> Person:
    return cast(Person, request.user)


def _roles(request: HttpRequest) -> list[str]:
    found: list[str] = request.roles  # type: ignore[attr-defined]
    return found


@login_required
@require_safe
def people(request: HttpRequest, slug: str) -> HttpResponse:
    """List the people with their roles, training and devices."""
    establishment = get_establishment(request, slug)
    context = {
        "section": "plan",
        "people": people_page(establishment),
        "may_change": may(_roles(request), Role.ADMINISTRATOR),
    }
    return render(request, "establishments/people.html", context)


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def person_add(request: HttpRequest, slug: str) -> HttpResponse:
    """Give a new person a login and roles."""
    establishment = get_establishment(request, slug, Role.ADMINISTRATOR)
    form = AddForm(request.POST) if request.method == "POST" else AddForm()
    status = 200
    if request.method == "POST":
        try:
            check_form(form)
            typed = form.cleaned_data
            member = changes.member_spec(typed)
            login = {"username": typed["username"], "password": typed["password"]}
            added = add_person(establishment=establishment, by=_person(request), member=member, **login)
            messages.success(request, _("%(name)s can sign in now.") % {"name": added.printed_name})
            return redirect("people", slug)
        except Refused as refusal:
            refuse(form, refusal)
            status = refusal.status
    context = {"section": "plan", "form": form}
    return render(request, "establishments/person_add.html", context, status=status)


def _member(establishment: Establishment, pk: UUID) -> Membership:
    found = memberships(establishment).select_related("person").filter(person=pk).first()
    if found is None:
        raise Http404
    return found


def _person_page(
    request: HttpRequest, establishment: Establishment, member: Membership, status: int = 200, **bound: Any
) -> HttpResponse:
    roles, own = _roles(request), same_person(member, _person(request))
    change = ChangeForm(initial=change_initial(member)) if may(roles, Role.ADMINISTRATOR) else None
    context = {
        **person_page(establishment, member),
        "change": change,
        "train": TrainingForm(auto_id="training_%s") if may(roles, *TRAINERS) else None,
        "may_revoke": own or may(roles, Role.ADMINISTRATOR),
        "sees_login": may(roles, Role.ADMINISTRATOR),
        **bound,
    }
    return render(request, "establishments/person.html", context, status=status)


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def person(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Show one person; change name, roles or activity."""
    writing = request.method == "POST"
    establishment = get_establishment(request, slug, *((Role.ADMINISTRATOR,) if writing else EVERYONE))
    member = _member(establishment, pk)
    if not writing:
        return _person_page(request, establishment, member)
    form = ChangeForm(request.POST)
    try:
        check_form(form)
        changed = changes.change(establishment, _person(request), member, form.cleaned_data)
    except NotAllowed:
        raise
    except Refused as refusal:
        refuse(form, refusal)
        return _person_page(request, establishment, member, status=refusal.status, change=form)
    messages.success(request, _("The change is recorded.") if changed else _("Nothing was changed."))
    return redirect("person", slug, pk)


@login_required
@require_POST
def training_add(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Record a training of a person."""
    establishment = get_establishment(request, slug, *TRAINERS)
    member = _member(establishment, pk)
    form = TrainingForm(request.POST, auto_id="training_%s")
    try:
        check_form(form)
        changes.train(establishment, _person(request), member.person, form.cleaned_data)
    except NotAllowed:
        raise
    except Refused as refusal:
        refuse(form, refusal)
        return _person_page(request, establishment, member, status=refusal.status, train=form)
    messages.success(request, _("The training is recorded."))
    return redirect("person", slug, pk)


@login_required
@require_POST
def credential_revoke(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Stop taking records signed on a device."""
    establishment = get_establishment(request, slug)
    credential: Any = get_object_or_404(Credential.objects.of(establishment), pk=pk)
    member = _member(establishment, credential.person_id)
    try:
        revoke_credential(
            establishment=establishment,
            by=_person(request),
            credential=credential,
            reason=request.POST.get("reason", "")[:300],
        )
    except NotAllowed:
        raise
    except Refused as refusal:
        return _person_page(request, establishment, member, status=refusal.status, refused=refusal.message)
    messages.success(request, _("The device can record no more for this person."))
    return redirect("person", slug, credential.person_id)


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def details(request: HttpRequest, slug: str) -> HttpResponse:
    """Show name, address and ways of working of the establishment; change them."""
    writing = request.method == "POST"
    establishment = get_establishment(request, slug, *((Role.ADMINISTRATOR,) if writing else EVERYONE))
    if not writing:
        initial = asdict(changes.details_spec(details_of(establishment)))
        return _details_page(request, establishment, DetailsForm(initial=initial), 200)
    form = DetailsForm(request.POST)
    try:
        check_form(form)
        changed = changes.change_details_once(establishment, _person(request), form.cleaned_data)
    except NotAllowed:
        raise
    except Refused as refusal:
        refuse(form, refusal)
        return _details_page(request, establishment, form, refusal.status)
    messages.success(request, _("The change is recorded.") if changed else _("Nothing was changed."))
    return redirect("details", slug)


def _details_page(
    request: HttpRequest, establishment: Establishment, form: DetailsForm, status: int
) -> HttpResponse:
    context = {
        "section": "plan",
        "form": form,
        "present": details_of(establishment),
        "zones": sorted(available_timezones()),
        "may_change": may(_roles(request), Role.ADMINISTRATOR),
    }
    return render(request, "establishments/details.html", context, status=status)
