"""Pages of the shared things: the list, one thing, and the forms for what happens to it."""

from collections.abc import Callable, Mapping
from typing import Any, cast
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from records.batches.posting import based_on, claim_of, now_typed, once, refuse_stale
from records.checks.thing_records import Used
from records.things import forms, page, tasks
from records.things.models import ThingChange, ThingEnded, ThingKind, ThingUse
from records.things.queries import Life, life_of, newest_of
from records.things.services import void_entry
from records.things.using import MOMENTARY
from safetyplan.establishments.access import WRITERS, get_establishment
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.pages import render_page
from safetyplan.integrity.form_claims import form_uuid
from safetyplan.integrity.form_refusals import Typed, check_form, refuse, typed_by
from safetyplan.integrity.refusals import NotAllowed, Refused

FORM = ["GET", "HEAD", "POST"]
CORRECT = "correct"
Act = Callable[[], object]


def find(establishment: Establishment, pk: UUID) -> Life:
    """Fetch a thing of the establishment, or answer 404."""
    found = life_of(establishment, pk)
    if found is None or found.id != pk:
        raise Http404
    return found


@login_required
@require_safe
def things(request: HttpRequest, slug: str) -> HttpResponse:
    """List the shared things by kind."""
    establishment = get_establishment(request, slug)
    context = page.list_context(establishment, every=request.GET.get("show") == "all")
    context |= {"section": "today", "may_write": bool(set(request.roles) & set(WRITERS))}  # type: ignore[attr-defined]
    return render_page(request, establishment, "records/things/list.html", context)


@login_required
@require_safe
def thing(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Show one thing."""
    establishment = get_establishment(request, slug)
    roles: list[str] = request.roles  # type: ignore[attr-defined]
    context = page.thing_context(establishment, find(establishment, pk), roles)
    context |= {"section": "today", "may_write": bool(set(roles) & set(WRITERS))}
    return render_page(request, establishment, "records/things/thing.html", context)


def _carry_out(
    request: HttpRequest,
    establishment: Establishment,
    form: Form,
    act: Act,
    fields: Mapping[str, str] = tasks.FIELDS,
) -> tuple[object, Refused | None]:
    """Do what a form asks, once; on a refusal the form holds what was typed and why not."""
    done: list[object] = []
    try:
        check_form(form)
        once(request, establishment, lambda: done.append(act()))
    except NotAllowed:
        raise
    except Refused as refusal:
        refuse(form, refusal, fields)
        return None, refusal
    return (done[0] if done else None), None


@login_required
@require_http_methods(FORM)
def thing_new(request: HttpRequest, slug: str) -> HttpResponse:
    """Record a new thing."""
    establishment = get_establishment(request, slug, *WRITERS)
    kind = request.POST.get("kind") or request.GET.get("kind", "")
    kind = kind if kind in ThingKind.values else ThingKind.BRINE
    if request.method != "POST":
        form = forms.BirthForm(initial={"kind": kind, **now_typed(establishment)}, kind=kind)
        return _form_page(request, establishment, None, form, _new_words(kind))
    typed = typed_by(request)
    form = forms.BirthForm(request.POST, kind=kind)
    _done, refusal = _carry_out(
        request, establishment, form, lambda: tasks.make(request, establishment, typed)
    )
    if refusal is not None:
        return _form_page(request, establishment, None, form, _new_words(kind), refusal)
    messages.success(request, _("It is recorded."))
    return redirect("thing", slug, form_uuid(request))


def _new_words(kind: str) -> dict[str, Any]:
    return {
        "title": _("New: %(kind)s") % {"kind": ThingKind(kind).label},
        "button": _("Record it"),
        "kind": kind,
    }


@login_required
@require_http_methods(FORM)
def thing_task(request: HttpRequest, slug: str, pk: UUID, task: str) -> HttpResponse:
    """Record what happened to a thing: a change, its end, a correction of its birth, lots that use it."""
    establishment = get_establishment(request, slug, *WRITERS)
    life, chosen = find(establishment, pk), tasks.TASKS.get(task)
    if chosen is None:
        raise Http404
    words = {"title": chosen.title, "button": chosen.button, "task": task}
    if request.method != "POST":
        return _form_page(request, establishment, life, _empty(establishment, life, task, chosen), words)
    form = _of_version(chosen.form(request.POST, **_kind_of(life, task)), life, task)
    done, refusal = _carry_out(
        request, establishment, form, lambda: _done(request, establishment, life, task)
    )
    if refusal is not None:
        return _form_page(request, establishment, life, form, words, refusal)
    _tell(request, str(chosen.done), done)
    return redirect("thing", slug, pk)


def _done(request: HttpRequest, establishment: Establishment, life: Life, task: str) -> object:
    chosen, typed = tasks.TASKS[task], typed_by(request)
    if task == CORRECT:
        refuse_stale(typed, life.facts.pk, _empty(establishment, life, task, chosen))
    return chosen.act(request, establishment, life, typed)


def _kind_of(life: Life, task: str) -> dict[str, str]:
    return {"kind": life.kind} if task == CORRECT else {}


def _of_version(form: Form, life: Life, task: str) -> Form:
    return based_on(form, life.facts.pk) if task == CORRECT else form


def _empty(establishment: Establishment, life: Life, task: str, chosen: tasks.Task) -> Any:
    typed = page.birth_typed(establishment, life) if task == CORRECT else now_typed(establishment)
    return _of_version(chosen.form(initial=typed, **_kind_of(life, task)), life, task)


def _tell(request: HttpRequest, words: str, done: object) -> None:
    messages.success(request, words)
    for warning in tasks.warnings(done) if isinstance(done, Used) else ():
        messages.warning(request, warning)


def _form_page(
    request: HttpRequest,
    establishment: Establishment,
    life: Life | None,
    form: Form,
    words: dict[str, Any],
    refusal: Refused | None = None,
) -> HttpResponse:
    context = {"life": life, "form": form, "section": "today", "kinds": ThingKind.choices, **words}
    if life is not None and words.get("task") == "use":
        context["lots"] = page.use_choices(establishment, request.POST.dict())
        context["momentary"] = life.kind in MOMENTARY
        context["lots_error"] = refusal.message if refusal and refusal.part == "lots" else ""
    status = refusal.status if refusal else 200
    return render_page(request, establishment, "records/things/form.html", context, status=status)


@login_required
@require_http_methods(FORM)
def thing_out(request: HttpRequest, slug: str, pk: UUID, use: UUID) -> HttpResponse:
    """Record that a lot was taken out."""
    establishment = get_establishment(request, slug, *WRITERS)
    life = find(establishment, pk)
    row = ThingUse.objects.of(establishment).select_related("lot").filter(pk=use, thing=pk).first()
    if row is None:
        raise Http404
    words = {"title": _("Lot %(lot)s: taken out") % {"lot": row.lot.code}, "button": _("Record it")}
    if request.method != "POST":
        return _form_page(
            request, establishment, life, forms.OutForm(initial=now_typed(establishment)), words
        )
    typed, form = typed_by(request), forms.OutForm(request.POST)
    _done, refusal = _carry_out(
        request, establishment, form, lambda: tasks.out(request, establishment, life, row, typed)
    )
    if refusal is not None:
        return _form_page(request, establishment, life, form, words, refusal)
    messages.success(request, _("It is recorded."))
    return redirect("thing", slug, pk)


@login_required
@require_http_methods(FORM)
def thing_void(request: HttpRequest, slug: str, pk: UUID, entry: UUID) -> HttpResponse:
    """Void an entry of a thing that should not be there."""
    establishment = get_establishment(request, slug, *WRITERS)
    life, row = find(establishment, pk), _entry(establishment, pk, entry)
    words = {"title": _("Void an entry"), "button": _("Void it"), "entry": row}
    if request.method != "POST":
        return _form_page(request, establishment, life, forms.VoidForm(), words)
    form, why = forms.VoidForm(request.POST), request.POST.get("reason", "")

    def act() -> object:
        claim = claim_of(request, establishment, "thing_entry_void", {"reason": why}, entry=entry)
        person = cast(Person, request.user)
        return void_entry(establishment=establishment, by=person, row=row, why=why, claim=claim)

    _done, refusal = _carry_out(request, establishment, form, act)
    if refusal is not None:
        return _form_page(request, establishment, life, form, words, refusal)
    messages.success(request, _("The entry is void."))
    return redirect("thing", slug, pk)


@login_required
@require_http_methods(FORM)
def thing_correct(request: HttpRequest, slug: str, pk: UUID, entry: UUID) -> HttpResponse:
    """Correct what was done to a thing, or the times at which a lot used it."""
    establishment = get_establishment(request, slug, *WRITERS)
    life, row = find(establishment, pk), _entry(establishment, pk, entry)
    if isinstance(row, ThingEnded):  # an end is voided and recorded anew
        raise Http404
    words = {"title": _("Correct an entry"), "button": _("Record the correction"), "entry": row}
    typed, form = typed_by(request), _correction(request, establishment, life, row)
    if request.method != "POST":
        return _form_page(request, establishment, life, form, words)
    fields = tasks.FIELDS if isinstance(row, ThingChange) else tasks.USE_FIELDS
    done, refusal = _carry_out(
        request, establishment, form, lambda: _corrected(request, establishment, life, row, typed), fields
    )
    if refusal is not None:
        return _form_page(request, establishment, life, form, words, refusal)
    _tell(request, _("The correction is recorded; the first values stay readable."), done)
    return redirect("thing", slug, pk)


def _correction(request: HttpRequest, establishment: Establishment, life: Life, row: Any) -> Form:
    data = request.POST if request.method == "POST" else None
    if isinstance(row, ThingChange):
        return forms.CorrectChangeForm(data, initial=page.change_typed(establishment, row))
    momentary = life.kind in MOMENTARY
    return forms.CorrectUseForm(data, initial=page.use_typed(establishment, row), momentary=momentary)


def _corrected(
    request: HttpRequest, establishment: Establishment, life: Life, row: Any, typed: Typed
) -> object:
    newest = newest_of(establishment, row)
    if newest.pk != row.pk and not newest.voided:
        told = {"now": page.entry_words(establishment, newest)}
        raise Refused(_("It was corrected meanwhile and says now: %(now)s Correct that one.") % told)
    correct = tasks.correct_change if isinstance(row, ThingChange) else tasks.correct_use
    return correct(request, establishment, life, row, typed)


def _entry(establishment: Establishment, pk: UUID, entry: UUID) -> Any:
    for model in (ThingChange, ThingEnded, ThingUse):
        found = model.objects.of(establishment).filter(pk=entry, thing=pk).first()
        if found is not None:
            return found
    raise Http404
