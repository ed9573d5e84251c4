"""Addresses of the editor: programmes, verification, validation and procedures."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
