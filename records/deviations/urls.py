"""Addresses of the deviations, of the steps of each, and of attached documents."""

from django.urls import path

from records.deviations import views

ONE = "<slug:slug>/deviations/<uuid:pk>/"

urlpatterns = [
    path("<slug:slug>/deviations/", views.deviations, name="deviations"),
    path("<slug:slug>/deviations/new/", views.deviation_new, name="deviation_new"),
    path(ONE, views.deviation, name="deviation"),
    path(f"{ONE}lot/", views.deviation_lot, name="deviation_lot"),
    path(f"{ONE}hold/", views.deviation_hold, name="deviation_hold"),
    path(f"{ONE}action/", views.deviation_action, name="deviation_action"),
    path(f"{ONE}evaluate/", views.deviation_evaluate, name="deviation_evaluate"),
    path(f"{ONE}dispose/", views.deviation_dispose, name="deviation_dispose"),
    path(f"{ONE}cause/", views.deviation_cause, name="deviation_cause"),
    path(f"{ONE}recall/", views.deviation_recall, name="deviation_recall"),
    path(f"{ONE}close/", views.deviation_close, name="deviation_close"),
    path(f"{ONE}attach/", views.deviation_attach, name="deviation_attach"),
    path("<slug:slug>/files/<uuid:pk>/", views.file, name="file"),
]
