"""The list of deviations as a table."""

from typing import Any

import django_tables2 as tables
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy as _


class DeviationTable(tables.Table):  # type: ignore[misc]
    """Deviations: which, of what, where it stands, what is missing."""

    number = tables.Column(verbose_name=_("No."))
    opened = tables.Column(verbose_name=_("Opened"))
    lot = tables.Column(verbose_name=_("Lots"), attrs={"td": {"class": "lots"}})
    what = tables.Column(verbose_name=_("What happened"))
    summary = tables.Column(verbose_name=_("State"))
    missing = tables.Column(verbose_name=_("Still missing"))

    class Meta:
        template_name = "parts/table.html"
        orderable = False

    def __init__(self, *args: Any, slug: str, **kwargs: Any) -> None:
        self.slug = slug
        super().__init__(*args, **kwargs)

    def render_number(self, record: dict[str, Any]) -> SafeString:
        """Link to the deviation."""
        url = reverse("deviation", args=[self.slug, record["pk"]])
        return format_html('<a href="{}">{} {}</a>', url, _("Deviation"), record["number"])

    def render_summary(self, value: str) -> SafeString:
        """Show the state as word, shape and colour."""
        return render_to_string("parts/state.html", {"state": value})

    def render_missing(self, value: list[str]) -> str:
        """List what is missing."""
        return "; ".join(value)
