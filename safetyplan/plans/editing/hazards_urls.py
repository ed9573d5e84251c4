"""Addresses of the editor: hazards and their determination."""

from django.urls import URLPattern, path

from safetyplan.plans.editing import determination, hazards

urlpatterns: list[URLPattern] = [
    path("<slug:slug>/plan/hazards/", hazards.plan_hazards, name="plan_hazards"),
    path("<slug:slug>/plan/hazards/add/", hazards.plan_hazard_add, name="plan_hazard_add"),
    path("<slug:slug>/plan/hazards/row/<str:code>/", hazards.plan_hazard, name="plan_hazard"),
    path(
        "<slug:slug>/plan/hazards/row/<str:code>/remove/",
        hazards.plan_hazard_remove,
        name="plan_hazard_remove",
    ),
    path(
        "<slug:slug>/plan/hazards/row/<str:code>/tree/",
        determination.plan_determination,
        name="plan_determination",
    ),
]
