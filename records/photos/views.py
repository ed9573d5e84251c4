"""A photo of a record, as a picture."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from records.photos.models import PhotoTaken
from safetyplan.establishments.access import get_establishment
from safetyplan.integrity.models import StoredFile

SIZES = {"small": "small_sha256", "whole": "sha256"}


@login_required
@require_safe
def photo(request: HttpRequest, slug: str, pk: UUID, size: str) -> HttpResponse:
    """Give a photo in one of its two sizes; written anew by the program, so it holds a picture only."""
    establishment = get_establishment(request, slug)
    if size not in SIZES:
        raise Http404
    row: Any = get_object_or_404(PhotoTaken.objects.of(establishment), pk=pk)
    stored = get_object_or_404(StoredFile.objects.of(establishment), sha256=getattr(row, SIZES[size]))
    response = HttpResponse(bytes(stored.content), content_type="image/jpeg")
    response["X-Content-Type-Options"] = "nosniff"
    response["Content-Disposition"] = f'inline; filename="photo-{row.pk}.jpg"'
    response["Content-Security-Policy"] = "default-src 'none'; sandbox"
    response["Cache-Control"] = "private, max-age=31536000, immutable"
    return response
