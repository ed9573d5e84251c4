"""Addresses of what comes in: milk, suppliers, ingredient lots."""

from django.urls import path

from records.receiving import ingredient_views, supplier_views, views

urlpatterns = [
    path("<slug:slug>/receiving/", views.receiving, name="receiving"),
    path("<slug:slug>/receiving/milk/", views.milk_choose, name="milk_choose"),
    path("<slug:slug>/receiving/milk/<uuid:supplier>/", views.milk_new, name="milk_new"),
    path("<slug:slug>/receiving/loads/<uuid:pk>/", views.load, name="load"),
    path("<slug:slug>/receiving/loads/<uuid:pk>/next/", views.load_next, name="load_next"),
    path("<slug:slug>/receiving/loads/<uuid:pk>/correct/", views.load_correct, name="load_correct"),
    path("<slug:slug>/receiving/loads/<uuid:pk>/void/", views.load_void, name="load_void"),
    path("<slug:slug>/receiving/loads/<uuid:pk>/refuse/", views.load_refuse, name="load_refuse"),
    path("<slug:slug>/receiving/loads/<uuid:pk>/authority/", views.load_authority, name="load_authority"),
    path("<slug:slug>/receiving/refusals/<uuid:pk>/", views.refusal_correct, name="refusal_correct"),
    path("<slug:slug>/receiving/notices/<uuid:pk>/", views.authority_change, name="authority_change"),
    path("<slug:slug>/lots/<uuid:pk>/milk/", views.lot_milk, name="lot_milk"),
    path("<slug:slug>/lots/milk/<uuid:pk>/", views.lot_milk_correct, name="lot_milk_correct"),
    path("<slug:slug>/suppliers/", supplier_views.suppliers, name="suppliers"),
    path("<slug:slug>/suppliers/new/", supplier_views.supplier_new, name="supplier_new"),
    path("<slug:slug>/suppliers/<uuid:pk>/", supplier_views.supplier, name="supplier"),
    path("<slug:slug>/suppliers/<uuid:pk>/change/", supplier_views.supplier_change, name="supplier_change"),
    path(
        "<slug:slug>/suppliers/<uuid:pk>/approve/", supplier_views.supplier_approve, name="supplier_approve"
    ),
    path("<slug:slug>/suppliers/<uuid:pk>/herds/", supplier_views.herd_new, name="herd_new"),
    path(
        "<slug:slug>/suppliers/<uuid:pk>/certificates/",
        supplier_views.certificate_new,
        name="certificate_new",
    ),
    path("<slug:slug>/suppliers/<uuid:pk>/treated/", supplier_views.treated_new, name="treated_new"),
    path("<slug:slug>/herds/<uuid:pk>/", supplier_views.herd_change, name="herd_change"),
    path("<slug:slug>/certificates/<uuid:pk>/", supplier_views.certificate_change, name="certificate_change"),
    path(
        "<slug:slug>/certificates/<uuid:pk>/file/", supplier_views.certificate_file, name="certificate_file"
    ),
    path("<slug:slug>/treated/<uuid:pk>/", supplier_views.treated_change, name="treated_change"),
    path("<slug:slug>/treated/<uuid:pk>/end/", supplier_views.treated_end, name="treated_end"),
    path("<slug:slug>/ingredients/", ingredient_views.ingredients, name="ingredients"),
    path("<slug:slug>/ingredients/new/", ingredient_views.ingredient_new, name="ingredient_new"),
    path("<slug:slug>/ingredients/<uuid:pk>/", ingredient_views.ingredient, name="ingredient"),
    path(
        "<slug:slug>/ingredients/<uuid:pk>/correct/",
        ingredient_views.ingredient_correct,
        name="ingredient_correct",
    ),
    path("<slug:slug>/ingredients/<uuid:pk>/end/", ingredient_views.ingredient_end, name="ingredient_end"),
    path("<slug:slug>/ingredients/<uuid:pk>/file/", ingredient_views.ingredient_file, name="ingredient_file"),
]
