"""Addresses of the editor: products, their flow and their events."""

from django.urls import path

from safetyplan.plans.editing import events, products, steps

PRODUCT = "<slug:slug>/plan/products/<str:code>/"

urlpatterns = [
    path("<slug:slug>/plan/products/", products.plan_products, name="plan_products"),
    path("<slug:slug>/plan/product-add/", products.plan_product_add, name="plan_product_add"),
    path(PRODUCT, products.plan_product, name="plan_product"),
    path(f"{PRODUCT}remove/", products.plan_product_remove, name="plan_product_remove"),
    path(f"{PRODUCT}steps/", steps.plan_steps, name="plan_steps"),
    path(f"{PRODUCT}step-add/", steps.plan_step_add, name="plan_step_add"),
    path(f"{PRODUCT}steps/<str:step>/", steps.plan_step, name="plan_step"),
    path(f"{PRODUCT}steps/<str:step>/remove/", steps.plan_step_remove, name="plan_step_remove"),
    path(f"{PRODUCT}events/", events.plan_events, name="plan_events"),
    path(f"{PRODUCT}event-add/", events.plan_event_add, name="plan_event_add"),
    path(f"{PRODUCT}events/<str:event>/", events.plan_event, name="plan_event"),
    path(f"{PRODUCT}events/<str:event>/remove/", events.plan_event_remove, name="plan_event_remove"),
]
