"""Addresses of the editor: draft to read, as a text or a file."""

from django.urls import path

from safetyplan.plans.editing import text, whole

urlpatterns = [
    path("<slug:slug>/plan/text/", text.plan_text, name="plan_text"),
    path("<slug:slug>/plan/draft/read/", whole.plan_draft_read, name="plan_draft_read"),
]
