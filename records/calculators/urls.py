"""Addresses of the calculators."""

from django.urls import path

from records.calculators import views

ONE = "<slug:slug>/calculators/<slug:calculator>/<slug:task>/"

urlpatterns = [
    path("<slug:slug>/calculators/", views.calculators, name="calculators"),
    path(ONE, views.calculator, name="calculator"),
    path(f"{ONE}attach/", views.calculation_attach, name="calculation_attach"),
]
