"""Addresses of the editor: figures of the profile and what is confirmed."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
