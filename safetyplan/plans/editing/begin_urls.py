"""Addresses of the editor: beginning of a plan."""

from django.urls import path

from safetyplan.plans.editing import begin

urlpatterns = [path("<slug:slug>/plan/begin/", begin.plan_begin, name="plan_begin")]
