"""Views."""

from django.http import HttpRequest, HttpResponse


def today(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
    raise NotImplementedError
