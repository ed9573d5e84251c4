"""Views."""

from django.http import HttpRequest, HttpResponse


def claims(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
    raise NotImplementedError
