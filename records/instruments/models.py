"""Instruments that readings name."""

from django.db import models

from safetyplan.integrity.models import Recorded


class Instrument(Recorded):
    """A measuring instrument: what it measures and its tolerance."""

    code = models.CharField(max_length=30)
    name = models.CharField(max_length=120)
    quantity = models.CharField(max_length=20)
    tolerance_text = models.CharField(max_length=20)
    retired = models.BooleanField()
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")
