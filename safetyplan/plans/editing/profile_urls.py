"""Addresses of the editor: figures of the profile and what is confirmed."""

from django.urls import path

from safetyplan.plans.editing import confirm, profile

PLAN = "<slug:slug>/plan"

urlpatterns = [
    path(f"{PLAN}/profile/", profile.plan_profile, name="plan_profile"),
    path(f"{PLAN}/profile/change/", profile.plan_profile_change, name="plan_profile_change"),
    path(f"{PLAN}/profile/figures/<str:code>/", profile.plan_parameter, name="plan_parameter"),
    path(f"{PLAN}/profile/figures/<str:code>/back/", profile.plan_parameter_back, name="plan_parameter_back"),
    path(f"{PLAN}/confirm/", confirm.plan_confirm, name="plan_confirm"),
    path(f"{PLAN}/confirm/figure/", confirm.plan_confirm_figure, name="plan_confirm_figure"),
    path(f"{PLAN}/confirm/targets/", confirm.plan_confirm_targets, name="plan_confirm_targets"),
    path(f"{PLAN}/confirm/flow/<str:code>/", confirm.plan_confirm_flow, name="plan_confirm_flow"),
]
