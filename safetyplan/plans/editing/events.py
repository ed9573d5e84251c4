"""Events of a product: what is recorded with its time while a lot is made, and what is asked then."""

from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean, whole_number
from safetyplan.plans.document import STARTED, Event, Plan, Product, read
from safetyplan.plans.document_parts import MOST_OPTIONS
from safetyplan.plans.editing.codes import code_from
from safetyplan.plans.editing.event_forms import TEXT, EventForm, entry_keys
from safetyplan.plans.editing.flow_data import codes
from safetyplan.plans.editing.frame import (
    Data,
    PartForm,
    Work,
    begin,
    item_of,
    refused_status,
    save,
    show,
    work_on,
)
from safetyplan.plans.editing.places import address
from safetyplan.plans.editing.products import READ_WRITE, product_of
from safetyplan.plans.editing.products_data import awaited, item_words, waiting_for
from safetyplan.plans.editing.removing import PART, Removal, remove
from safetyplan.plans.editing.steps import at_item, moved_by
from safetyplan.words import name_words, sentence_case

MOST_HOURS = 24 * 366
MOST_MINUTES = 30 * 24 * 60
USUAL = ("after_event", "after_minutes", "repeats", "every_minutes")


def _event_of(product: Product, code: str) -> Event:
    found = product.event(code)
    if found is None:
        raise Http404
    return found


def lacking(plan: Plan, product: Product) -> list[str]:
    """Give the codes of the events that checks of the product wait for and that it does not have."""
    has = {event.code for event in product.events} | {STARTED}
    return list(dict.fromkeys(code for code in awaited(plan, product) if code not in has))


def known_event(plan: Plan, code: str) -> Data:
    """Give an event as another product has it, or one without details."""
    for product in plan.products:
        if found := product.event(code):
            return {
                "code": code,
                "name": found.name,
                "expected_within_hours": found.expected_within_hours,
                "details": [detail.to_document() for detail in found.details],
                **({"repeats": True, "every_minutes": found.every_minutes} if found.repeats else {}),
            }
    name = sentence_case(name_words(code))
    return {"code": code, "name": name, "expected_within_hours": 24, "details": []}


@login_required
@require_http_methods(READ_WRITE)
def plan_events(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """List the events of a product, move one, or add one that a check waits for."""
    work = work_on(request, slug)
    product = product_of(work, code)
    if request.method != "POST":
        return _list(work, product, begin(work, PartForm))
    form = PartForm(request.POST)
    adding = "add" in request.POST

    def change(data: Data) -> None:
        events = item_of(data["products"], code)["events"]
        if adding:
            events.append(_awaited_event(read(data), code, request.POST["add"]))
        else:
            moved_by(request, events)

    done = _("The event is in the draft.") if adding else _("Moved.")
    answer = save(work, form, change, to=("plan_events", code), done=done)
    return at_item(answer, request) if answer else _list(work, product, form, refused_status(form))


def _awaited_event(plan: Plan, product: str, event: str) -> Data:
    if event not in lacking(plan, plan.product(product)):
        raise BadInput(_("No check of this product waits for that event."))
    return known_event(plan, event)


def _list(work: Work, product: Product, form: PartForm, status: int = 200) -> HttpResponse:
    slug, plan = work.establishment.slug, work.plan
    events = [
        {
            "event": event,
            "waiting": [control.code for control in waiting_for(plan, product, event.code)],
            "address": address(slug, "plan_event", product.code, event.code),
            "remove": address(slug, "plan_event_remove", product.code, event.code),
        }
        for event in product.events
    ]
    missing = [
        (code, known_event(plan, code)["name"], waiting_for(plan, product, code))
        for code in lacking(plan, product)
    ]
    return show(
        work,
        "plans/editing/events.html",
        PART,
        product=product,
        events=events,
        lacking=missing,
        form=form,
        status=status,
    )


@login_required
@require_http_methods(READ_WRITE)
def plan_event_add(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Add an event to a product."""
    work = work_on(request, slug)
    product = product_of(work, code)
    if request.method != "POST":
        return _page(work, product, None, begin(work, _form_of(product, None), expected_within_hours="24"))
    form = EventForm(request.POST, others=_others(product, None))

    def change(data: Data) -> None:
        events = item_of(data["products"], code)["events"]
        typed = _typed(form, [], {code for code, _name in _others(product, None)})
        events.append({"code": code_from(typed["name"], [*codes(events), STARTED], "event"), **typed})

    answer = save(work, form, change, to=("plan_events", code), done=_("The event is in the draft."))
    return answer or _page(work, product, None, form, refused_status(form))


@login_required
@require_http_methods(READ_WRITE)
def plan_event(request: HttpRequest, slug: str, code: str, event: str) -> HttpResponse:
    """Show an event, or save it."""
    work = work_on(request, slug)
    product = product_of(work, code)
    found = _event_of(product, event)
    if request.method != "POST":
        return _page(work, product, found, begin(work, _form_of(product, found), **_initial(found)))
    form = EventForm(request.POST, details=found.details, others=_others(product, found))

    def change(data: Data) -> None:
        item = item_of(item_of(data["products"], code)["events"], event)
        typed = _typed(form, item.get("details", []), {code for code, _name in _others(product, found)})
        for key in USUAL:
            item.pop(key, None)
        item.update(typed)

    answer = save(work, form, change, to=("plan_events", code), done=_("The event is saved in the draft."))
    return answer or _page(work, product, found, form, refused_status(form))


def _form_of(product: Product, event: Event | None) -> Any:
    details = event.details if event else ()
    return lambda initial: EventForm(initial=initial, details=details, others=_others(product, event))


def _others(product: Product, event: Event | None) -> list[tuple[str, Any]]:
    """Give the events that one can follow: the start of the lot and every other event of the product."""
    others = [(one.code, one.name) for one in product.events if event is None or one.code != event.code]
    return [(STARTED, _("the start of the lot")), *others]


def _initial(event: Event) -> dict[str, Any]:
    return {
        "name": event.name,
        "expected_within_hours": str(event.expected_within_hours),
        "after_event": event.after_event,
        "after_minutes": str(event.after_minutes) if event.after_event else "",
        "repeats": event.repeats,
        "every_minutes": str(event.every_minutes or ""),
    }


def _page(
    work: Work, product: Product, event: Event | None, form: EventForm, status: int = 200
) -> HttpResponse:
    waiting = waiting_for(work.plan, product, event.code) if event else []
    return show(
        work,
        "plans/editing/event.html",
        PART,
        product=product,
        event=event,
        waiting=[item_words(control) for control in waiting],
        form=form,
        status=status,
    )


def _typed(form: EventForm, present: list[Data], others: set[str]) -> Data:
    """Give the keys of the document for what was typed."""
    typed: Data = form.cleaned_data
    name = clean(typed["name"], most=120, part="name")
    if not name:
        raise BadInput(_("Give the event a name."), part="name")
    hours = whole_number(typed["expected_within_hours"], part="expected_within_hours")
    if not 1 <= hours <= MOST_HOURS:
        raise BadInput(_("Give a number of hours, from 1 to a year."), part="expected_within_hours")
    usual = _usual(typed, others)
    return {"name": name, "expected_within_hours": hours, "details": _details(form, present), **usual}


def _usual(typed: Data, others: set[str]) -> Data:
    """Give the keys for when an event is usual, and whether it happens several times."""
    usual: Data = {}
    if after := typed["after_event"]:
        if after not in others:
            raise BadInput(_("Choose an event of the product."), part="after_event")
        usual |= {"after_event": after, "after_minutes": _minutes(typed, "after_minutes")}
    elif typed["after_minutes"].strip():
        raise BadInput(_("Choose the event from which these minutes count."), part="after_event")
    if typed["repeats"]:
        usual["repeats"] = True
        if typed["every_minutes"].strip():
            usual["every_minutes"] = _minutes(typed, "every_minutes")
    elif typed["every_minutes"].strip():
        raise BadInput(_("Only what happens several times has a time between."), part="every_minutes")
    return usual


def _minutes(typed: Data, name: str) -> int:
    minutes = whole_number(typed[name], part=name)
    if not 0 <= minutes <= MOST_MINUTES:
        raise BadInput(_("Give a number of minutes, at most 30 days."), part=name)
    return minutes


def _details(form: EventForm, present: list[Data]) -> list[Data]:
    """Give the details whose label is there; one that was there before keeps its name."""
    typed, details = form.cleaned_data, list[Data]()
    kept = [detail["name"] for detail in present]
    for at in range(form.row_count):
        label = clean(typed[f"label_{at}"], most=80, part=f"label_{at}")
        if not label:
            continue
        before = typed[f"name_{at}"]
        taken = [*kept, *(detail["name"] for detail in details)]
        used = {detail["name"] for detail in details}
        name = before if before in kept and before not in used else code_from(label, taken, "detail")
        asked = entry_keys(typed[f"entry_{at}"] or TEXT, typed[f"dose_{at}"], typed[f"options_{at}"])
        if asked["entry"] == "choice" and not 0 < len(asked["options"]) <= MOST_OPTIONS:
            message = _("Write what can be chosen, at most %(most)d choices.") % {"most": MOST_OPTIONS}
            raise BadInput(message, part=f"options_{at}")
        required = "yes" if typed[f"required_{at}"] else "no"
        details.append({"name": name, "label": label, **asked, "required": required})
    return details


@login_required
@require_http_methods(READ_WRITE)
def plan_event_remove(request: HttpRequest, slug: str, code: str, event: str) -> HttpResponse:
    """Ask before an event is removed, or remove it; not while a control waits for it."""
    work = work_on(request, slug)
    product = product_of(work, code)
    found = _event_of(product, event)

    def take_out(data: Data) -> None:
        item = item_of(data["products"], code)
        item["events"] = [one for one in item["events"] if one["code"] != event]
        for one in item["events"]:
            if one.get("after_event") == event:
                del one["after_event"]
                one.pop("after_minutes", None)

    removal = Removal(
        name=found.name,
        question=_("Lots begun under the next version are no longer asked for it."),
        naming=lambda plan: waiting_for(plan, product, event),
        take_out=take_out,
        to=("plan_events", code),
        done=_("The event is out of the draft."),
    )
    return remove(work, removal)
