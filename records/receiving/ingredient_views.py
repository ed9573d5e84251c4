"""Pages of ingredient and packaging lots: the list, one lot; receive, correct, end one."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_http_methods, require_safe

from records.receiving import ingredient_page as page
from records.receiving.models import IngredientLot
from records.receiving.posting import ask
from records.receiving.queries import ingredient_of
from records.receiving.supplier_views import give_file
from safetyplan.establishments.access import WRITERS, get_establishment
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.pages import render_page

ASKED = ["GET", "HEAD", "POST"]


def _find(establishment: Establishment, pk: UUID) -> Any:
    found = ingredient_of(establishment, pk)
    if found is None:
        raise Http404
    return found


@login_required
@require_safe
def ingredients(request: HttpRequest, slug: str) -> HttpResponse:
    """List the lots of which something is left, by kind; `all`: the others too."""
    establishment = get_establishment(request, slug)
    roles: list[str] = request.roles  # type: ignore[attr-defined]
    context = page.list_context(establishment, request.GET, roles)
    return render_page(request, establishment, "records/receiving/ingredients.html", context)


@login_required
@require_http_methods(ASKED)
def ingredient_new(request: HttpRequest, slug: str) -> HttpResponse:
    """Receive a lot."""
    establishment = get_establishment(request, slug, *WRITERS)
    return ask(request, establishment, page.receiving(request, establishment))


@login_required
@require_safe
def ingredient(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Show one lot."""
    establishment = get_establishment(request, slug)
    roles: list[str] = request.roles  # type: ignore[attr-defined]
    context = page.one_context(establishment, _find(establishment, pk), roles)
    return render_page(request, establishment, "records/receiving/ingredient.html", context)


@login_required
@require_http_methods(ASKED)
def ingredient_correct(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Correct what is recorded of a lot."""
    establishment = get_establishment(request, slug, *WRITERS)
    return ask(request, establishment, page.receiving(request, establishment, _find(establishment, pk)))


@login_required
@require_http_methods(ASKED)
def ingredient_end(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Record that nothing of a lot is left."""
    establishment = get_establishment(request, slug, *WRITERS)
    return ask(request, establishment, page.ending(request, establishment, _find(establishment, pk)))


@login_required
@require_safe
def ingredient_file(request: HttpRequest, slug: str, pk: UUID) -> FileResponse:
    """Give the file of a lot."""
    establishment = get_establishment(request, slug)
    found: Any = get_object_or_404(IngredientLot.objects.of(establishment), pk=pk)
    return give_file(establishment, found)
