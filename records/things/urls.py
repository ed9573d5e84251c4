"""Addresses of the shared things."""

from django.urls import path

from records.things import views

urlpatterns = [
    path("<slug:slug>/things/", views.things, name="things"),
    path("<slug:slug>/things/new/", views.thing_new, name="thing_new"),
    path("<slug:slug>/things/<uuid:pk>/", views.thing, name="thing"),
    path("<slug:slug>/things/<uuid:pk>/<str:task>/", views.thing_task, name="thing_task"),
    path("<slug:slug>/things/<uuid:pk>/uses/<uuid:use>/out/", views.thing_out, name="thing_out"),
    path("<slug:slug>/things/<uuid:pk>/entries/<uuid:entry>/void/", views.thing_void, name="thing_void"),
    path(
        "<slug:slug>/things/<uuid:pk>/entries/<uuid:entry>/correct/",
        views.thing_correct,
        name="thing_correct",
    ),
]
