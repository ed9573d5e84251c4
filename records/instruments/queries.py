"""Reads about instruments."""

from typing import Any

from django.db.models import QuerySet

from records.instruments.models import Instrument
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import latest


def in_use(establishment: Establishment) -> "QuerySet[Any]":
    """Give the instruments in use."""
    return latest(Instrument.objects.of(establishment)).filter(retired=False).order_by("code")
