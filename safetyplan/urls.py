"""Root of the URLs."""

from django.urls import include, path

urlpatterns = [
    path("", include("safetyplan.establishments.urls")),
    path("", include("safetyplan.plans.urls")),
    path("", include("records.urls")),
]
