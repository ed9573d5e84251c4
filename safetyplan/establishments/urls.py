"""Addresses of signing in, of establishments, of people and their devices."""

from django.urls import path

from safetyplan.establishments import devices, people_views, unsent_views, views

urlpatterns = [
    path("", views.home, name="home"),
    path("sign-in/", views.sign_in, name="sign_in"),
    path("sign-out/", views.sign_out, name="sign_out"),
    path("unsent/forget/", unsent_views.unsent_forget, name="unsent_forget"),
    path("first-run/<str:token>/", views.first_run, name="first_run"),
    path("<slug:slug>/devices/", devices.enrol, name="enrol"),
    path("<slug:slug>/devices/challenge/", devices.challenge, name="challenge"),
    path("<slug:slug>/devices/turn/", devices.turn, name="turn"),
    path("<slug:slug>/devices/password-turn/", devices.password_turn, name="password_turn"),
    path("<slug:slug>/people/", people_views.people, name="people"),
    path("<slug:slug>/people/add/", people_views.person_add, name="person_add"),
    path("<slug:slug>/people/<uuid:pk>/", people_views.person, name="person"),
    path("<slug:slug>/people/<uuid:pk>/training/", people_views.training_add, name="training_add"),
    path(
        "<slug:slug>/credentials/<uuid:pk>/revoke/",
        people_views.credential_revoke,
        name="credential_revoke",
    ),
    path("<slug:slug>/details/", people_views.details, name="details"),
]
