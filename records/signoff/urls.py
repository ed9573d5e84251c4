"""Addresses of this subject's pages."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
