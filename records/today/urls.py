"""Addresses of the page of today, and of the duties of the plan that it reminds of."""

from django.urls import path

from records.today import duty_views, views

urlpatterns = [
    path("<slug:slug>/today/", views.today, name="today"),
    path("<slug:slug>/plan/duties/", duty_views.plan_duties, name="plan_duties"),
    path("<slug:slug>/plan/duties/new/", duty_views.plan_trigger, name="plan_trigger"),
    path("<slug:slug>/plan/duties/sign/", duty_views.plan_duty_sign, name="plan_duty_sign"),
]
