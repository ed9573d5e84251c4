"""Gathers the addresses of the records."""

from django.urls import include, path

urlpatterns = [
    path("", include("records.today.urls")),
    path("", include("records.checks.urls")),
    path("", include("records.photos.urls")),
    path("", include("records.batches.urls")),
    path("", include("records.links.urls")),
    path("", include("records.things.urls")),
    path("", include("records.signoff.urls")),
    path("", include("records.inspection.urls")),
    path("", include("records.deviations.urls")),
    path("", include("records.instruments.urls")),
    path("", include("records.receiving.urls")),
    path("", include("records.calculators.urls")),
    path("", include("records.offline.urls")),
]
