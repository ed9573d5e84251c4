"""What every screen of the plan's editor shares: the draft at work, its parts, saving one change.

A screen shows one part of the draft and sends it with the revision it was shown. Saving changes that part
only, through `services.change_draft`; a draft that somebody else changed meanwhile is refused, and what was
typed stays on the screen with the new revision, so that sending it again puts it upon theirs.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any, cast

from django import forms
from django.contrib import messages
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.establishments.access import EVERYONE, get_establishment
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.integrity import canonical
from safetyplan.integrity.form_refusals import PlainForm, check_form, refuse
from safetyplan.integrity.refusals import NotAllowed, Refused
from safetyplan.plans import plan_check
from safetyplan.plans.document import Plan, read_text
from safetyplan.plans.models import PlanDraft
from safetyplan.plans.plan_check import Finding
from safetyplan.plans.queries import around_of, draft_of
from safetyplan.plans.services import change_draft

Data = dict[str, Any]
# the screens of the editor in the order of the work: name of the address, title
PARTS: tuple[tuple[str, Promise], ...] = (
    ("plan_draft", gettext_lazy("Overview")),
    ("plan_products", gettext_lazy("Products and flow")),
    ("plan_hazards", gettext_lazy("Hazards")),
    ("plan_controls", gettext_lazy("Controls")),
    ("plan_programmes", gettext_lazy("Programmes")),
    ("plan_profile", gettext_lazy("Rules of the place")),
    ("plan_confirm", gettext_lazy("Confirm")),
    ("plan_text", gettext_lazy("As a file")),
)


class PartForm(PlainForm):
    """A form of the editor: it carries the revision of the draft it was shown."""

    revision = forms.CharField(widget=forms.HiddenInput, required=False, max_length=10)


@dataclass(frozen=True)
class Work:
    """The draft at work, as one request sees it."""

    request: HttpRequest
    establishment: Establishment
    person: Person
    roles: tuple[str, ...]
    draft: PlanDraft

    @property
    def plan(self) -> Plan:
        """The draft as a plan."""
        return read_text(self.draft.text)

    @property
    def data(self) -> Data:
        """A fresh copy of the draft's document."""
        found: Data = canonical.loads(self.draft.text.encode())
        return found

    @property
    def may_prepare(self) -> bool:
        """Tell whether this person may change the draft."""
        return Role.QUALIFIED in self.roles

    @cached_property
    def every_finding(self) -> list[Finding]:
        """The findings of the plan check: worked out once, however many parts of a screen ask."""
        return plan_check.check(self.plan, around_of(self.establishment))

    def findings(self, *where: str) -> list[Finding]:
        """Give the findings of the plan check, all of them or those at some codes."""
        return [finding for finding in self.every_finding if not where or finding.where in where]


def work_on(request: HttpRequest, slug: str) -> Work:
    """First line of every view of the editor: everybody of the dairy reads, a qualified individual writes."""
    writing = request.method == "POST"
    establishment = get_establishment(request, slug, *((Role.QUALIFIED,) if writing else EVERYONE))
    draft = draft_of(establishment)
    if draft is None:
        raise Http404
    roles: list[str] = request.roles  # type: ignore[attr-defined]
    return Work(request, establishment, cast(Person, request.user), tuple(roles), draft)


def show(work: Work, template: str, part: str, *, status: int = 200, **context: Any) -> HttpResponse:
    """Show a screen of the editor; `part` is the name of its address in PARTS."""
    shared = {
        "section": "plan",
        "parts": PARTS,
        "part": part,
        "draft": work.draft,
        "plan": work.plan,
        "may_prepare": work.may_prepare,
    }
    return render(work.request, template, {**shared, **context}, status=status)


def begin(work: Work, form_class: type[PartForm], **initial: Any) -> Any:
    """Give an empty form of the editor with the revision it belongs to."""
    return form_class(initial={"revision": str(work.draft.revision), **initial})


def save(
    work: Work,
    form: Form,
    change: Callable[[Data], None],
    *,
    to: tuple[str, ...],
    done: str = "",
) -> HttpResponse | None:
    """Save one change of the draft and go on to an address; None when refused (the errors are on the form).

    `change` alters the document it is given; it may raise BadInput with `part` the name of a field.
    """
    try:
        typed = str(form.data.get("revision", ""))
        revision = int(typed) if typed.isascii() and typed.isdigit() else -1
        if revision != work.draft.revision:
            raise Refused(_("Somebody changed the draft meanwhile. Look at it again, then write once more."))
        check_form(form)
        change_draft(establishment=work.establishment, by=work.person, revision=revision, change=change)
    except NotAllowed:
        raise
    except Refused as refusal:
        refuse(form, refusal)
        _renew(work, form)
        return None
    messages.success(work.request, done or _("Saved in the draft."))
    name, *arguments = to
    return redirect(name, work.establishment.slug, *arguments)


def refused_status(form: Form) -> int:
    """Give the status of a refused form: 409 for what concerns no field, 422 for what was typed."""
    return 409 if set(form.errors) == {"__all__"} else 422


def _renew(work: Work, form: Form) -> None:
    """Give a refused form the present revision; the errors on it stay."""
    draft = draft_of(work.establishment)
    if draft is not None:
        typed = form.data.copy() if hasattr(form.data, "copy") else dict(form.data)
        typed["revision"] = str(draft.revision)
        form.data = typed


def item_of(items: list[Data], code: str) -> Data:
    """Find an item of a list of the document by its code; 404 when it is not there."""
    found = next((item for item in items if item.get("code") == code), None)
    if found is None:
        raise Http404
    return found


def free_code(items: list[Data], beginning: str) -> str:
    """Give the first unused code of a row: H1, H2, ..."""
    used = {item.get("code") for item in items}
    return next(f"{beginning}{n}" for n in range(1, len(items) + 2) if f"{beginning}{n}" not in used)
