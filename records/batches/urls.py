"""Addresses of the lots."""

from django.urls import path

from records.batches import scan_views, views

urlpatterns = [
    path("<slug:slug>/lots/", views.lots, name="lots"),
    path("<slug:slug>/lots/new/", views.lot_new, name="lot_new"),
    path("<slug:slug>/lots/find/", scan_views.lot_find, name="lot_find"),
    path("<slug:slug>/scan/", scan_views.scan, name="scan"),
    path("<slug:slug>/lots/apply-plan/", views.plan_apply, name="plan_apply"),
    path("<slug:slug>/lots/<uuid:pk>/", views.lot, name="lot"),
    path("<slug:slug>/additions/", views.additions, name="additions"),
    path("<slug:slug>/lots/<uuid:pk>/make/", views.lot_make, name="lot_make"),
]
