"""Addresses of signing in, of establishments, of people and their devices."""

from django.urls import path

from safetyplan.establishments import devices, views

urlpatterns = [
    path("", views.home, name="home"),
    path("sign-in/", views.sign_in, name="sign_in"),
    path("sign-out/", views.sign_out, name="sign_out"),
    path("first-run/<str:token>/", views.first_run, name="first_run"),
    path("<slug:slug>/devices/", devices.enrol, name="enrol"),
]
