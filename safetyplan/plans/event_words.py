"""The words for an event of a lot in a plan: when it is usual, and what is asked then."""

from django.utils.translation import gettext as _

from safetyplan.calculation.unit_tables import UNITS
from safetyplan.plans.change_codes import code_words
from safetyplan.plans.described import duration_words
from safetyplan.plans.document import STARTED, Detail, Event, Product


def followed_name(product: Product, code: str) -> str:
    """Name the event that another one follows."""
    event = product.event(code)
    return _("the start of the lot") if code == STARTED else event.name if event else code


def usual_words(product: Product, event: Event) -> list[str]:
    """Say when an event is usual, one sentence each."""
    words = []
    if event.after_event:
        told = {
            "time": duration_words(event.after_minutes),
            "event": followed_name(product, event.after_event),
        }
        words.append(_("%(time)s after: %(event)s") % told)
    if event.every_minutes:
        words.append(_("several times, each %(time)s") % {"time": duration_words(event.every_minutes)})
    elif event.repeats:
        words.append(_("several times"))
    return [*words, _("within %(hours)d h of the start") % {"hours": event.expected_within_hours}]


def detail_words(detail: Detail) -> str:
    """Say what a detail asks for."""
    unit = UNITS[detail.unit].symbol if detail.unit else ""
    asked = {
        "number": unit,
        "choice": " / ".join(detail.options),
        "time": _("time of day"),
        "ingredient": _("lot of %(kind)s") % {"kind": code_words(detail.of)},
        "thing": code_words(detail.of),
    }.get(detail.entry, "")
    if detail.entry == "ingredient" and unit:
        asked = _("%(lot)s with dose in %(unit)s") % {"lot": asked, "unit": unit}
    words = f"{detail.label} ({asked})" if asked else detail.label
    return _("%(detail)s, must be given") % {"detail": words} if detail.required else words
