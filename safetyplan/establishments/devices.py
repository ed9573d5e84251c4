"""Views."""

from django.http import HttpRequest, HttpResponse


def enrol(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
    raise NotImplementedError
