"""Response headers, and refusals turned into pages."""

import logging
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from safetyplan.integrity.refusals import Refused

Respond = Callable[[HttpRequest], HttpResponse]
POLICY = (
    "default-src 'self'; object-src 'none'; base-uri 'none'; frame-ancestors 'none'; "
    "form-action 'self'; img-src 'self' data: blob:"
)
access_log = logging.getLogger("safetyplan.access")


def content_security_policy(get_response: Respond) -> Respond:
    """Add the content security policy to every response."""

    def respond(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.headers.setdefault("Content-Security-Policy", POLICY)
        return response

    return respond


class refusals:
    """Turn a refusal that no view has handled into a page in the user's words."""

    def __init__(self, get_response: Respond) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        access_log.info("%s %s %s", request.method, request.path, response.status_code)
        return response

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """Render a refusal; let anything else pass."""
        if not isinstance(exception, Refused):
            return None
        return render(request, "refused.html", {"refusal": exception}, status=exception.status)
