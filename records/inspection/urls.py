"""Addresses of the visit: prints, those of the plan too, seals, export."""

from django.urls import path

from records.inspection import views

urlpatterns = [
    path("<slug:slug>/visit/", views.visit, name="visit"),
    path("<slug:slug>/visit/verifier.py", views.verifier_file, name="verifier"),
    path("<slug:slug>/prints/", views.print_issue, name="print_issue"),
    path("<slug:slug>/prints/<int:number>.pdf", views.print_file, name="print_file"),
    path("<slug:slug>/plan/print/", views.plan_print, name="plan_print"),
    path("<slug:slug>/plan/blank-sheet/", views.plan_blank_sheet, name="plan_blank_sheet"),
    path("<slug:slug>/export/", views.export, name="export"),
    path("<slug:slug>/seals/<int:pk>.txt", views.seal_note, name="seal_note"),
]
