"""Pages of suppliers: the list, one supplier with herds, approvals, certificates and treated animals."""

from collections.abc import Callable
from io import BytesIO
from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_http_methods, require_safe

from records.receiving import supplier_asking as asking
from records.receiving.known import Known, known
from records.receiving.models import Certificate, Herd, IngredientLot, Supplier, TreatedAnimal
from records.receiving.posting import ask
from records.receiving.supplier_page import supplier_context, suppliers_context
from safetyplan.establishments.access import WRITERS, get_establishment
from safetyplan.establishments.models import Establishment, Role
from safetyplan.establishments.pages import render_page
from safetyplan.integrity.models import StoredFile

ASKED = ["GET", "HEAD", "POST"]
DECIDERS = (Role.RESPONSIBLE, Role.QUALIFIED)


def find_supplier(establishment: Establishment, pk: UUID) -> tuple[Known, Supplier]:
    """Fetch a supplier as it stands, by its identity, or answer 404."""
    about = known(establishment)
    found = about.suppliers.get(pk)
    if found is None:
        raise Http404
    return about, found


@login_required
@require_safe
def suppliers(request: HttpRequest, slug: str) -> HttpResponse:
    """List the suppliers with their herds, and what runs out."""
    establishment = get_establishment(request, slug)
    roles: list[str] = request.roles  # type: ignore[attr-defined]
    context = suppliers_context(establishment, roles)
    return render_page(request, establishment, "records/receiving/suppliers.html", context)


@login_required
@require_safe
def supplier(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Show one supplier."""
    establishment = get_establishment(request, slug)
    about, found = find_supplier(establishment, pk)
    roles: list[str] = request.roles  # type: ignore[attr-defined]
    context = supplier_context(establishment, about, found, roles)
    return render_page(request, establishment, "records/receiving/supplier.html", context)


@login_required
@require_http_methods(ASKED)
def supplier_new(request: HttpRequest, slug: str) -> HttpResponse:
    """Add a supplier."""
    establishment = get_establishment(request, slug, *WRITERS)
    return ask(request, establishment, asking.supplier(request, establishment))


def _of_supplier(
    request: HttpRequest, slug: str, pk: UUID, make: Callable[..., Any], *roles: str
) -> HttpResponse:
    establishment = get_establishment(request, slug, *roles)
    about, found = find_supplier(establishment, pk)
    return ask(request, establishment, make(request, establishment, found, about))


@login_required
@require_http_methods(ASKED)
def supplier_change(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Change what is recorded of a supplier."""
    return _of_supplier(request, slug, pk, asking.changed_supplier, *WRITERS)


@login_required
@require_http_methods(ASKED)
def supplier_approve(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Approve or suspend a supplier or herd."""
    return _of_supplier(request, slug, pk, asking.approval, *DECIDERS)


@login_required
@require_http_methods(ASKED)
def herd_new(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Add a herd of a supplier."""
    return _of_supplier(request, slug, pk, asking.herd, *WRITERS)


@login_required
@require_http_methods(ASKED)
def herd_change(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Change what is recorded of a herd."""
    establishment = get_establishment(request, slug, *WRITERS)
    about = known(establishment)
    found: Herd | None = about.herds.get(pk)
    if found is None:
        raise Http404
    of = about.suppliers[found.supplier_id]
    return ask(request, establishment, asking.herd(request, establishment, of, about, found))


@login_required
@require_http_methods(ASKED)
def certificate_new(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Add a certificate of a supplier."""
    return _of_supplier(request, slug, pk, asking.certificate, *WRITERS)


@login_required
@require_http_methods(ASKED)
def certificate_change(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Change what is recorded of a certificate."""
    establishment = get_establishment(request, slug, *WRITERS)
    found: Any = get_object_or_404(Certificate.objects.of(establishment), pk=pk)
    about, of = find_supplier(establishment, found.supplier_id)
    return ask(request, establishment, asking.certificate(request, establishment, of, about, found))


@login_required
@require_http_methods(ASKED)
def treated_new(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Add an animal whose milk stays out."""
    return _of_supplier(request, slug, pk, asking.treated, *WRITERS)


def _find_treated(establishment: Establishment, pk: UUID) -> tuple[TreatedAnimal, Known, Supplier]:
    found: Any = get_object_or_404(TreatedAnimal.objects.of(establishment), pk=pk)
    about = known(establishment)
    return found, about, about.suppliers[about.herds[found.herd_id].supplier_id]


@login_required
@require_http_methods(ASKED)
def treated_change(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Correct what is recorded of a treated animal."""
    establishment = get_establishment(request, slug, *WRITERS)
    found, about, of = _find_treated(establishment, pk)
    return ask(request, establishment, asking.treated(request, establishment, of, about, found))


@login_required
@require_http_methods(ASKED)
def treated_end(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Let an animal's milk in again before its time."""
    establishment = get_establishment(request, slug, *DECIDERS)
    found, about, of = _find_treated(establishment, pk)
    return ask(request, establishment, asking.treatment_ended(request, establishment, of, about, found))


def give_file(establishment: Establishment, row: Certificate | IngredientLot) -> FileResponse:
    """Give a kept file to be saved, never to be shown as a page of ours."""
    stored = get_object_or_404(StoredFile.objects.of(establishment), sha256=row.sha256)
    response = FileResponse(
        BytesIO(bytes(stored.content)),
        as_attachment=True,
        filename=row.file_name,
        content_type=row.media_type,
    )
    response["X-Content-Type-Options"] = "nosniff"
    response["Content-Security-Policy"] = "default-src 'none'; sandbox"
    return response


@login_required
@require_safe
def certificate_file(request: HttpRequest, slug: str, pk: UUID) -> FileResponse:
    """Give the file of a certificate."""
    establishment = get_establishment(request, slug)
    found: Any = get_object_or_404(Certificate.objects.of(establishment), pk=pk)
    return give_file(establishment, found)
