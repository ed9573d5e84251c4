"""Addresses of release, dispatch, sign-off and the week."""

from django.urls import path

from records.signoff import views

urlpatterns = [
    path("<slug:slug>/lots/<uuid:pk>/release/", views.lot_release, name="lot_release"),
    path("<slug:slug>/lots/<uuid:pk>/dispatch/", views.lot_dispatch, name="lot_dispatch"),
    path("<slug:slug>/lots/<uuid:pk>/left-on-hold/", views.lot_left_on_hold, name="lot_left_on_hold"),
    path("<slug:slug>/days/<str:day>/", views.day, name="day"),
    path("<slug:slug>/days/<str:day>/sign/", views.day_sign, name="day_sign"),
    path("<slug:slug>/days/<str:day>/no-production/", views.day_no_production, name="day_no_production"),
    path(
        "<slug:slug>/days/<str:day>/no-production/undo/",
        views.day_production_undo,
        name="day_production_undo",
    ),
    path("<slug:slug>/week/", views.week, name="week"),
]
