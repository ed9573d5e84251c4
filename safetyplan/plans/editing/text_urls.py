"""Addresses of the editor: draft as a text or a file."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
