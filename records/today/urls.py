"""Address of the page of today."""

from django.urls import path

from records.today import views

urlpatterns = [path("<slug:slug>/today/", views.today, name="today")]
