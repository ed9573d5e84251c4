"""Addresses of the editor: hazards and their determination."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
