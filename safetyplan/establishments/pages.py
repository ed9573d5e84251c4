"""A page of an establishment, in its local time."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import zone_of


def render_page(
    request: HttpRequest,
    establishment: Establishment,
    template: str,
    context: Mapping[str, Any] | None = None,
    *,
    status: int = 200,
) -> HttpResponse:
    """Render a page of an establishment; every time on it is shown in the establishment's zone."""
    with timezone.override(zone_of(establishment)):
        return render(request, template, dict(context or {}), status=status)
