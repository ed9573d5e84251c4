"""Addresses of photos."""

from django.urls import path

from records.photos import views

urlpatterns = [
    path("<slug:slug>/photos/<uuid:pk>/<str:size>/", views.photo, name="photo"),
]
