"""The list of lots: one row each, with where the lot stands, in a constant number of queries."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

import django_tables2 as tables
from django.db.models import Q
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.batches.models import Lot
from records.batches.queries import OPEN_LOT, events_by_lot, lots, made
from records.deviations.queries import OPEN_DEVIATION, OPEN_HOLD
from records.inspection.telling import on_screen
from records.signoff.models import LotRelease
from safetyplan.establishments.models import Establishment
from safetyplan.integrity import canonical
from safetyplan.integrity.models import OpenItem

PAGE = 50


class LotTable(tables.Table):  # type: ignore[misc]
    """Lots: which, what, when, how much, where it stands."""

    code = tables.Column(verbose_name=gettext_lazy("Lot"))
    product = tables.Column(verbose_name=gettext_lazy("Product"))
    started = tables.Column(verbose_name=gettext_lazy("Started"))
    vat = tables.Column(verbose_name=gettext_lazy("Vat"))
    pieces = tables.Column(
        verbose_name=gettext_lazy("Pieces"), attrs={"td": {"class": "number"}, "th": {"class": "number"}}
    )
    state = tables.Column(verbose_name=gettext_lazy("State"))

    class Meta:
        template_name = "parts/table.html"
        orderable = False

    def __init__(self, *args: Any, slug: str, **kwargs: Any) -> None:
        self.slug = slug
        super().__init__(*args, **kwargs)

    def render_code(self, record: dict[str, Any]) -> SafeString:
        """Link to the lot."""
        url = reverse("lot", args=[self.slug, record["pk"]])
        return format_html('<a class="lot-code" href="{}"><bdi>{}</bdi></a>', url, record["code"])

    def render_state(self, value: tuple[str, str]) -> SafeString:
        """Show the state as word, shape and colour."""
        return render_to_string("parts/state.html", {"state": value[0], "word": value[1]})


def lot_listing(establishment: Establishment, before: str) -> dict[str, Any]:
    """Give the newest lots, or those started before a place in the list."""
    rows = lots(establishment).order_by("-started_at", "-pk")
    place = _place(before)
    if place is not None:
        at, pk = place
        rows = rows.filter(Q(started_at__lt=at) | Q(started_at=at, pk__lt=pk))
    chosen = list(rows[: PAGE + 1])
    shown = chosen[:PAGE]
    older = ""
    if len(chosen) > PAGE:
        older = f"?before={canonical.instant(shown[-1].started_at)}_{shown[-1].pk}"
    return {
        "rows": lot_rows(establishment, shown),
        "older_url": older,
        "newer_url": "?" if place is not None else "",
        "period": _period(establishment, shown),
    }


def _place(text: str) -> tuple[datetime, UUID] | None:
    instant, _bar, pk = text.partition("_")
    try:
        return canonical.read_instant(instant), UUID(pk)
    except ValueError:
        return None


def _period(establishment: Establishment, shown: Sequence[Lot]) -> str:
    if not shown:
        return ""
    teller = on_screen(establishment)
    first, last = teller.day(shown[-1].started_at), teller.day(shown[0].started_at)
    return _("Started %(first)s to %(last)s") % {"first": first.isoformat(), "last": last.isoformat()}


def lot_rows(establishment: Establishment, shown: Sequence[Lot]) -> list[dict[str, Any]]:
    """Give each lot with its yield and where it stands."""
    ids = [lot.pk for lot in shown]
    found = OpenItem.objects.of(establishment).filter(lot__in=ids).values_list("lot", "what")
    open_items = set(found)
    released = set(LotRelease.objects.of(establishment).filter(lot__in=ids).values_list("lot", flat=True))
    events = events_by_lot(establishment, ids)
    teller = on_screen(establishment)
    rows = []
    for lot in shown:
        yielded = made(events[lot.pk])
        rows.append(
            {
                "pk": lot.pk,
                "code": lot.code,
                "product": lot.product_name,
                "started": teller.time(lot.started_at),
                "vat": lot.vat or "–",
                "pieces": yielded.pieces if yielded else "–",
                "state": _state(lot.pk, open_items, released),
            }
        )
    return rows


def _state(pk: UUID, open_items: set[tuple[UUID | None, str]], released: set[UUID]) -> tuple[str, str]:
    """Give where a lot stands: what is wrong comes before what is done."""
    if (pk, OPEN_HOLD) in open_items:
        return "hold", ""
    if (pk, OPEN_DEVIATION) in open_items:
        return "open", _("Deviation open")
    if (pk, OPEN_LOT) not in open_items:
        return "closed", _("Gone")
    return ("released", "") if pk in released else ("active", _("In make"))


def lot_state(establishment: Establishment, lot: Lot) -> tuple[str, str]:
    """Give where one lot stands."""
    found: tuple[str, str] = lot_rows(establishment, [lot])[0]["state"]
    return found
