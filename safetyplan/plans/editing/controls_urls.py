"""Addresses of the editor: controls and their limits."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
