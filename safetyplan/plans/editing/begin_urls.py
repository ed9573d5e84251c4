"""Addresses of the editor: beginning of a plan."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
