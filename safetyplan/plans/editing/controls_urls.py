"""Addresses of the editor: controls and their limits."""

from django.urls import URLPattern, path

from safetyplan.plans.editing import controls, limits

urlpatterns: list[URLPattern] = [
    path("<slug:slug>/plan/controls/", controls.plan_controls, name="plan_controls"),
    path("<slug:slug>/plan/controls/add/", controls.plan_control_add, name="plan_control_add"),
    path("<slug:slug>/plan/control/<str:code>/", controls.plan_control, name="plan_control"),
    path(
        "<slug:slug>/plan/control/<str:code>/remove/",
        controls.plan_control_remove,
        name="plan_control_remove",
    ),
    path("<slug:slug>/plan/control/<str:code>/limit/", limits.plan_limit, name="plan_limit"),
]
