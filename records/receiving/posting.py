"""What the forms at the door share: one page that asks, does once, and leads on."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from records.batches.posting import based_on, once, refuse_stale
from records.batches.scanning import scan_block
from records.receiving.typed import Upload
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.pages import render_page
from safetyplan.integrity.files import LARGEST
from safetyplan.integrity.form_refusals import Typed, check_form, refuse, taking_offers, typed_by
from safetyplan.integrity.refusals import NotAllowed, Refused

# None: the form as it is first shown; else it holds what was typed.
FormMaker = Callable[[Typed | None], Form]


@dataclass(frozen=True)
class Asking:
    """A page with one form: how the form is made, what it does, what it says, where it leads.

    fields, units: see `taking_offers`. context: what the template shows besides the form. version: that
    from which the form is filled in; two tabs must not change the same thing one after the other.
    """

    title: str
    make: FormMaker
    act: Callable[[Typed], object]
    submit: str
    done: str
    then: Callable[[], str]
    back: str
    intro: str = ""
    template: str = "records/receiving/form.html"
    fields: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    context: Mapping[str, Any] = field(default_factory=dict)
    version: object = None

    def form(self, typed: Typed | None) -> Form:
        """Make the form, which says what it was filled in from."""
        made = self.make(typed)
        return based_on(made, self.version) if self.version else made


def ask(request: HttpRequest, establishment: Establishment, asking: Asking) -> HttpResponse:
    """Show the form, or do what was sent; a refusal stands at its field, what was typed stays."""
    if request.method != "POST":
        return _page(request, establishment, asking, asking.form(None))
    typed = typed_by(request)
    form = asking.form({**request.POST.dict(), **typed})
    try:
        check_form(form)
        if once(request, establishment, lambda: _act(asking, typed)):
            messages.success(request, asking.done)
        return redirect(asking.then())
    except NotAllowed:
        raise
    except Refused as refusal:
        form = asking.form({**request.POST.dict(), **typed})
        refuse(form, refusal, asking.fields)
        return _page(request, establishment, asking, form, refusal.status)


def _act(asking: Asking, typed: Typed) -> object:
    if asking.version:
        refuse_stale(typed, asking.version, asking.make(None))
    return taking_offers(typed, asking.act, fields=asking.fields, units=asking.units)


def _page(
    request: HttpRequest, establishment: Establishment, asking: Asking, form: Form, status: int = 200
) -> HttpResponse:
    context = {"form": form, "asking": asking, "section": "today", **asking.context}
    if any("data-scan" in field.widget.attrs for field in form.fields.values()):
        context["scan"] = scan_block(request, establishment.slug)
    return render_page(request, establishment, asking.template, context, status=status)


def upload_of(request: HttpRequest, name: str = "file") -> Upload | None:
    """Give the file that came with a form; of one that is too large only as much as shows it."""
    sent = request.FILES.get(name)
    if not isinstance(sent, UploadedFile):
        return None
    return Upload(str(sent.name), sent.read(LARGEST + 1))


def sure(said: Typed, name: str) -> bool:
    """Tell whether an unlikely value was confirmed by taking the offer."""
    return bool(said.get(f"{name}_sure"))
