"""Addresses of the editor: products and their flow."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
