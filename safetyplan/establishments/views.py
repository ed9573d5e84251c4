"""Signing in and out, the choice of an establishment, and the first run of an empty installation."""

from typing import cast

from django.contrib.auth import login, logout
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render, resolve_url
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from safetyplan.establishments import first_run as first
from safetyplan.establishments.access import membership_for
from safetyplan.establishments.forms import FirstRunForm, SignInForm
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.queries import details_of, establishments_of
from safetyplan.establishments.sign_in import said, sign_in_person
from safetyplan.integrity.form_refusals import refuse
from safetyplan.integrity.refusals import Refused


@require_GET
@login_required
def home(request: HttpRequest) -> HttpResponse:
    """Go to today of the person's establishment, or offer those there are."""
    person = cast(Person, request.user)
    open_to = [e for e in establishments_of(person) if membership_for(e, person) is not None]
    if len(open_to) == 1:
        return redirect("today", open_to[0].slug)
    choices = [(details_of(found).name, found.slug) for found in open_to]
    return render(request, "establishments/home.html", {"choices": sorted(choices)})


def _own_address(request: HttpRequest) -> str:
    """Give where to go after signing in: only ever an address of this host."""
    asked = request.POST.get("next") or request.GET.get("next") or ""
    own = url_has_allowed_host_and_scheme(
        asked, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return asked if own else resolve_url("home")


@sensitive_post_parameters("password")
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """Sign a person in."""
    target, status = _own_address(request), 200
    if request.method != "POST" and request.user.is_authenticated:
        return redirect(target)
    form = SignInForm(request.POST if request.method == "POST" else None)
    if request.method == "POST":
        status = 422
    if form.is_valid():
        tried = sign_in_person(request, form.cleaned_data["username"], form.cleaned_data["password"])
        if tried.person is not None:
            return redirect(target)
        status = 429 if tried.wait else 422
        form.add_error(None, said(tried))
    empty = not Establishment.objects.exists()
    context = {"form": form, "next": target, "empty": empty}
    return render(request, "establishments/sign_in.html", context, status=status)


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """Sign the person out."""
    logout(request)
    return redirect("sign_in")


@sensitive_post_parameters("password", "password_again")
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def first_run(request: HttpRequest, token: str) -> HttpResponse:
    """Open the first establishment with its first person, who is then signed in. 404 afterwards."""
    if not first.is_open(token):
        raise Http404
    form = FirstRunForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            establishment, person = first.open_first(
                slug=form.cleaned_data["slug"],
                details=form.details(),
                username=form.cleaned_data["username"],
                password=form.cleaned_data["password"],
                member=form.member(),
            )
        except Refused as refusal:
            refuse(form, refusal)
        else:
            login(request, person)
            return redirect("plan", establishment.slug)
    status = 422 if request.method == "POST" else 200
    return render(request, "establishments/first_run.html", {"form": form}, status=status)
