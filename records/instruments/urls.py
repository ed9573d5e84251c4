"""Addresses of the register of instruments."""

from django.urls import path

from records.instruments import views

urlpatterns = [
    path("<slug:slug>/instruments/", views.instruments, name="instruments"),
    path("<slug:slug>/instruments/<uuid:pk>/retire/", views.instrument_retire, name="instrument_retire"),
]
