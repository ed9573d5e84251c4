"""What the records add to the duties of the plan: deviations nobody foresaw, the first lots."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.db.models import F, Min
from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.deviations.models import Cause, CauseFound, Deviation
from records.deviations.queries import deviations, with_acquittal
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import zone_of
from safetyplan.plans.duties import Known, Occasion
from safetyplan.plans.duty_pages import Outside, gather

UNFORESEEN = "unforeseen"


def known_of(establishment: Establishment) -> Known | None:
    """Give all that the duties of the plan depend on, what the records know included."""
    local = ZoneTime(zone_of(establishment))
    return gather(
        establishment,
        Outside(
            occasions=lambda after: occasions(establishment, local, after),
            first_made=lambda: first_made(establishment, local),
        ),
    )


def first_made(establishment: Establishment, local: ZoneTime) -> Mapping[str, date]:
    """Give the day of the first lot of each product."""
    rows = Lot.objects.of(establishment).order_by().values_list("product_code")
    return {code: local.local(at).date() for code, at in rows.annotate(first=Min("started_at"))}


def occasions(establishment: Establishment, local: ZoneTime, after: int) -> list[Occasion]:
    """Give the deviations known since a ledger sequence that ask for a reanalysis.

    One that nobody foresaw asks until its cause is found and the answer is no, with a reason; any other asks
    when the answer is yes. A recording error asks for nothing.
    """
    found: dict[Any, Occasion] = {}
    rows = with_acquittal(deviations(establishment)).filter(cause=Cause.UNFORESEEN)
    for row in rows.filter(entry__sequence__gt=after).annotate(at_sequence=F("entry__sequence")):
        if not row.acquitted:
            found[row.pk] = _occasion(row, row.description, local, row.at_sequence)
    causes = CauseFound.objects.of(establishment).filter(entry__sequence__gt=after)
    causes = causes.select_related("deviation").annotate(at_sequence=F("entry__sequence"))
    for cause in causes.order_by("at_sequence"):
        if cause.reanalysis:
            said = cause.reanalysis_reason or cause.cause
            found[cause.deviation_id] = _occasion(cause.deviation, said, local, cause.at_sequence)
        else:
            found.pop(cause.deviation_id, None)
    return list(found.values())


def _occasion(deviation: Deviation, said: str, local: ZoneTime, sequence: int) -> Occasion:
    words = _("deviation %(number)d: %(said)s") % {"number": deviation.number, "said": said}
    return Occasion(UNFORESEEN, words, local.local(deviation.recorded_at).date(), sequence)
