"""Addresses of the plan: the version in force, older ones, the draft."""

from django.urls import path

from safetyplan.plans import comparing_urls, exchange, views
from safetyplan.plans.editing import (
    begin_urls,
    controls_urls,
    hazards_urls,
    products_urls,
    profile_urls,
    programmes_urls,
    text_urls,
)

urlpatterns = [
    path("<slug:slug>/plan/", views.plan, name="plan"),
    path("<slug:slug>/plan/versions/<int:number>/", views.plan_version, name="plan_version"),
    path("<slug:slug>/plan/draft/", views.plan_draft, name="plan_draft"),
    path("<slug:slug>/plan/approve/", views.plan_approve, name="plan_approve"),
    path("<slug:slug>/plan/revise/", views.plan_revise, name="plan_revise"),
    path("<slug:slug>/plan/draft/file/", exchange.plan_export, name="plan_export"),
    path(
        "<slug:slug>/plan/versions/<int:number>/file/",
        exchange.plan_version_export,
        name="plan_version_export",
    ),
    *comparing_urls.urlpatterns,
    *begin_urls.urlpatterns,
    *products_urls.urlpatterns,
    *hazards_urls.urlpatterns,
    *controls_urls.urlpatterns,
    *programmes_urls.urlpatterns,
    *profile_urls.urlpatterns,
    *text_urls.urlpatterns,
]
