"""Addresses of links between lots."""

from django.urls import path

from records.links import views

urlpatterns = [
    path("<slug:slug>/lots/<uuid:pk>/links/", views.lot_links, name="lot_links"),
    path("<slug:slug>/links/<uuid:pk>/", views.link_change, name="link_change"),
]
