"""Views."""

from django.http import HttpRequest, HttpResponse


def home(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
    raise NotImplementedError


def sign_in(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
    raise NotImplementedError


def sign_out(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
    raise NotImplementedError


def first_run(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
    raise NotImplementedError
