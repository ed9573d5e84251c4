"""Evidence kept for the plan: kept with a validation, opened again by everybody of the dairy."""

from io import BytesIO
from typing import Any

from django.contrib.auth.decorators import login_required
from django.core.files.uploadedfile import UploadedFile
from django.http import FileResponse, Http404, HttpRequest
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from safetyplan.establishments.access import get_establishment
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity.files import LARGEST
from safetyplan.integrity.models import StoredFile
from safetyplan.plans.confirming import keep_evidence
from safetyplan.plans.models import EvidenceKept


def keep_upload(establishment: Establishment, by: Person, upload: Any) -> EvidenceKept | None:
    """Keep an uploaded document; None when none was chosen."""
    if not isinstance(upload, UploadedFile):
        return None
    content = upload.read(LARGEST + 1)  # one byte more than allowed tells that it is too large
    return keep_evidence(establishment=establishment, by=by, name=upload.name or "", content=content)


@login_required
@require_safe
def plan_evidence(request: HttpRequest, slug: str, sha256: str) -> FileResponse:
    """Give a kept document to be saved, never to be shown as a page of ours."""
    establishment = get_establishment(request, slug)
    rows = EvidenceKept.objects.of(establishment).filter(sha256=sha256).order_by("-entry__sequence")
    kept: Any = rows.first()
    if kept is None:
        raise Http404
    stored = get_object_or_404(StoredFile.objects.of(establishment), sha256=kept.sha256)
    response = FileResponse(
        BytesIO(bytes(stored.content)),
        as_attachment=True,
        filename=kept.name,
        content_type=kept.media_type,
    )
    response["X-Content-Type-Options"] = "nosniff"
    response["Content-Security-Policy"] = "default-src 'none'; sandbox"
    return response
