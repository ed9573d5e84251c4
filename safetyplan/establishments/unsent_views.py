"""What a form is answered that came without its session: sign in, then it is there again."""

from collections.abc import Callable
from urllib.parse import urlencode

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render, resolve_url
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from safetyplan.establishments import unsent

Respond = Callable[[HttpRequest], HttpResponse]


class forms_are_kept:
    """Keep what was typed into a form whose session had ended; forget it once it was sent again."""

    def __init__(self, get_response: Respond) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if request.method != "POST":
            return response
        if not request.user.is_authenticated:
            return _to_sign_in(request) or response if _asks_to_sign_in(response) else response
        if unsent.COOKIE in request.COOKIES and response.status_code < 500 and hasattr(request, unsent.FIELD):
            unsent.forget(request, request.get_full_path())
        return response

    def process_view(self, request: HttpRequest, view: Callable[..., object], *_more: object) -> None:
        """Take the form's mark out of what views read; what devices send is left alone."""
        if request.method == "POST" and not getattr(view, "csrf_exempt", False):
            unsent.take_mark(request)


def _asks_to_sign_in(response: HttpResponse) -> bool:
    return response.status_code == 302 and response["Location"].startswith(resolve_url(settings.LOGIN_URL))


def _to_sign_in(request: HttpRequest) -> HttpResponse | None:
    """Keep the form and lead to signing in, then to the page on which the form stood."""
    form = unsent.form_sent(request)
    if form is None:
        return None
    messages.warning(
        request,
        _("You had been signed out: nothing was recorded. Sign in, and what you typed is there again."),
    )
    response = redirect(f"{resolve_url(settings.LOGIN_URL)}?{urlencode({'next': form.page})}")
    unsent.keep(request, response, form)
    return response


def not_fitting(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a form whose token no longer fits: somebody signed in meanwhile, or its cookie is gone."""
    form = unsent.form_sent(request)
    if form is None:
        return render(request, "403_csrf.html", status=403)
    if not request.user.is_authenticated:
        return _to_sign_in(request) or render(request, "403_csrf.html", status=403)
    if form.person == str(request.user.pk):
        response: HttpResponse = redirect(form.page)
    else:
        response = render(request, "403_csrf.html", {"kept": True}, status=403)
    unsent.keep(request, response, form)
    return response


@require_POST
def unsent_forget(request: HttpRequest) -> HttpResponse:
    """Throw away what was typed into a form."""
    unsent.forget(request, request.POST.get("action", ""))
    asked = request.POST.get("page", "")
    own = url_has_allowed_host_and_scheme(asked, allowed_hosts={request.get_host()})
    return redirect(asked if own else "home")
