"""Addresses of the register of instruments and of their checks."""

from django.urls import path

from records.instruments import check_views, views

urlpatterns = [
    path("<slug:slug>/instruments/", views.instruments, name="instruments"),
    path("<slug:slug>/instruments/new/", views.instrument_new, name="instrument_new"),
    path("<slug:slug>/instruments/<uuid:pk>/", views.instrument, name="instrument"),
    path("<slug:slug>/instruments/<uuid:pk>/change/", views.instrument_change, name="instrument_change"),
    path("<slug:slug>/instruments/<uuid:pk>/retire/", views.instrument_retire, name="instrument_retire"),
    path("<slug:slug>/instruments/<uuid:pk>/use/", views.instrument_use, name="instrument_use"),
    path("<slug:slug>/instruments/<uuid:pk>/check/", check_views.instrument_check, name="instrument_check"),
    path(
        "<slug:slug>/instrument-checks/<uuid:pk>/",
        check_views.instrument_check_shown,
        name="instrument_check_shown",
    ),
    path(
        "<slug:slug>/instrument-checks/<uuid:pk>/correct/",
        check_views.instrument_check_correct,
        name="instrument_check_correct",
    ),
]
