"""Addresses of the editor: draft as a text or a file."""

from django.urls import path

from safetyplan.plans.editing import text

urlpatterns = [path("<slug:slug>/plan/text/", text.plan_text, name="plan_text")]
