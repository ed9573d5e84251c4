"""Address of the comparison of two versions of the plan."""

from django.urls import path

from safetyplan.plans import comparing

urlpatterns = [path("<slug:slug>/plan/compare/", comparing.plan_compare, name="plan_compare")]
