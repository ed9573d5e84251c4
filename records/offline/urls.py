"""Addresses of the work without the server: bundle, kept page and its worker, device, witness."""

from django.urls import path

from records.offline import views, witness

urlpatterns = [
    path("<slug:slug>/bundle/", views.bundle, name="bundle"),
    path("<slug:slug>/service-worker.js", views.worker, name="service_worker"),
    path("<slug:slug>/manifest.webmanifest", views.manifest, name="manifest"),
    path("<slug:slug>/offline/", views.kept_page, name="kept_page"),
    path("<slug:slug>/device/", views.device, name="device"),
    path("<slug:slug>/device/import/", views.device_import, name="device_import"),
    path("<slug:slug>/seals/between/", witness.between, name="seals_between"),
    path("<slug:slug>/seals/alarm/", witness.alarm, name="seals_alarm"),
]
