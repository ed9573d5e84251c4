"""Views."""

from django.http import HttpRequest, HttpResponse


def capture(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
    raise NotImplementedError


def check_explain(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
    raise NotImplementedError


def lot_event(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
    raise NotImplementedError


def event_correct(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
    raise NotImplementedError


def reading(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
    raise NotImplementedError


def reading_correct(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
    raise NotImplementedError


def reading_void(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
    raise NotImplementedError
