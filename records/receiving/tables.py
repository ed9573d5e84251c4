"""The list of loads and what stands in its cells."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from records.inspection.telling import Teller
from records.receiving.models import MilkLoad
from safetyplan.calculation.rounding import amount, trim
from safetyplan.integrity import canonical


def volume_words(value: str | Decimal, unit: str) -> str:
    """Write a volume with its unit."""
    return amount(trim(Decimal(value)), unit)


def span_words(span: timedelta) -> str:
    """Write how old something is: hours and minutes, from two days on days and hours; cut, not rounded."""
    minutes = int(span.total_seconds() // 60)
    hours, rest = divmod(minutes, 60)
    if hours < 48:
        return _("%(hours)d h %(minutes)02d min") % {"hours": hours, "minutes": rest}
    days = ngettext("%(n)d day", "%(n)d days", hours // 24) % {"n": hours // 24}
    return _("%(days)s %(hours)d h") % {"days": days, "hours": hours % 24}


def age_words(load: MilkLoad) -> str:
    """Say how old the oldest milking of a load was when it was received."""
    return span_words(load.received_at - load.milked_at)


def milkings_words(teller: Teller, load: MilkLoad) -> str:
    """Name the milkings of a load."""
    found = canonical.loads(load.milkings.encode())
    return ", ".join(teller.time(canonical.read_instant(text)) for text in found)


class LoadTable(tables.Table):  # type: ignore[misc]
    """Loads of milk: which, from whom, when, how old, how much, where it stands."""

    code = tables.Column(verbose_name=gettext_lazy("Load"))
    source = tables.Column(verbose_name=gettext_lazy("From"))
    received = tables.Column(verbose_name=gettext_lazy("Received"))
    age = tables.Column(verbose_name=gettext_lazy("Age"))
    volume = tables.Column(verbose_name=gettext_lazy("Volume"))
    left = tables.Column(verbose_name=gettext_lazy("Left"))
    state = tables.Column(verbose_name=gettext_lazy("State"))

    class Meta:
        template_name = "parts/table.html"
        orderable = False

    def __init__(self, *args: Any, slug: str, **kwargs: Any) -> None:
        self.slug = slug
        super().__init__(*args, **kwargs)

    def render_code(self, record: dict[str, Any]) -> SafeString:
        """Link to the load."""
        url = reverse("load", args=[self.slug, record["pk"]])
        return format_html('<a class="lot-code" href="{}"><bdi>{}</bdi></a>', url, record["code"])

    def render_state(self, value: tuple[str, str]) -> SafeString:
        """Show the state as word, shape and colour."""
        return render_to_string("parts/state.html", {"state": value[0], "word": value[1]})


class IngredientTable(tables.Table):  # type: ignore[misc]
    """Ingredient lots: what, which lot, received, use-by, how much, where it stands."""

    name = tables.Column(verbose_name=gettext_lazy("Name"))
    code = tables.Column(verbose_name=gettext_lazy("Lot"))
    received = tables.Column(verbose_name=gettext_lazy("Received"))
    use_by = tables.Column(verbose_name=gettext_lazy("Use by"))
    quantity = tables.Column(verbose_name=gettext_lazy("Quantity"))
    state = tables.Column(verbose_name=gettext_lazy("State"))

    class Meta:
        template_name = "parts/table.html"
        orderable = False

    def __init__(self, *args: Any, slug: str, **kwargs: Any) -> None:
        self.slug = slug
        super().__init__(*args, **kwargs)

    def render_code(self, record: dict[str, Any]) -> SafeString:
        """Link to the ingredient lot."""
        url = reverse("ingredient", args=[self.slug, record["pk"]])
        return format_html('<a class="lot-code" href="{}"><bdi>{}</bdi></a>', url, record["code"])

    def render_state(self, value: tuple[str, str]) -> SafeString:
        """Show the state as word, shape and colour."""
        return render_to_string("parts/state.html", {"state": value[0], "word": value[1]})
