"""Addresses of the visit: prints, those of the plan too, seals, export."""

from django.urls import path

from records.inspection import paper_views, views

urlpatterns = [
    path("<slug:slug>/paper/", paper_views.paper_sheets, name="paper_sheets"),
    path("<slug:slug>/paper/<uuid:pk>/", paper_views.paper_sheet, name="paper_sheet"),
    path("<slug:slug>/paper/<uuid:pk>/photo/", paper_views.paper_photo, name="paper_photo"),
    path("<slug:slug>/visit/", views.visit, name="visit"),
    path("<slug:slug>/visit/verifier.py", views.verifier_file, name="verifier"),
    path("<slug:slug>/prints/", views.print_issue, name="print_issue"),
    path("<slug:slug>/prints/<int:number>.pdf", views.print_file, name="print_file"),
    path("<slug:slug>/plan/print/", views.plan_print, name="plan_print"),
    path("<slug:slug>/plan/blank-sheet/", views.plan_blank_sheet, name="plan_blank_sheet"),
    path("<slug:slug>/export/", views.export, name="export"),
    path("<slug:slug>/seals/<int:pk>.txt", views.seal_note, name="seal_note"),
]
