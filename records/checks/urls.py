"""Addresses of the checks: capture pages, readings, and the claims a device sends."""

from django.urls import path

from records.checks import claims, correction_views, event_views, explain_views, round_views, views

urlpatterns = [
    path("<slug:slug>/rounds/now/", round_views.round_now, name="round_now"),
    path("<slug:slug>/rounds/<uuid:pk>/", round_views.round_shown, name="round"),
    path("<slug:slug>/rounds/<uuid:pk>/void/", round_views.round_void, name="round_void"),
    path("<slug:slug>/claims/", claims.claims, name="claims"),
    path("<slug:slug>/claims/line/", claims.line, name="claims_line"),
    path("<slug:slug>/claims/files/", claims.claim_files, name="claim_files"),
    path("<slug:slug>/series/<str:slot>/", views.series, name="series"),
    path("<slug:slug>/checks/<str:slot>/", views.capture, name="capture"),
    path("<slug:slug>/checks/<str:slot>/explain/", explain_views.check_explain, name="check_explain"),
    path("<slug:slug>/lots/<uuid:pk>/events/<str:event>/", views.lot_event, name="lot_event"),
    path("<slug:slug>/events/<uuid:pk>/correct/", views.event_correct, name="event_correct"),
    path("<slug:slug>/events/<uuid:pk>/void/", event_views.event_void, name="event_void"),
    path("<slug:slug>/readings/<uuid:pk>/", views.reading, name="reading"),
    path("<slug:slug>/readings/<uuid:pk>/correct/", views.reading_correct, name="reading_correct"),
    path("<slug:slug>/readings/<uuid:pk>/void/", views.reading_void, name="reading_void"),
    path("<slug:slug>/readings/<uuid:pk>/correction/", correction_views.correction, name="correction"),
]
