"""A plan as a file: the draft or a version written as one JSON document, to be read in elsewhere.

The file is the document and nothing else: confirmations, signatures and evidence stay in the ledger of the
dairy that made them, so a plan that is brought in is confirmed anew. Its form is described, for whoever
writes one by other means, in `fixtures/reference/plan.schema.json`.
"""

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from safetyplan.establishments.access import get_establishment
from safetyplan.plans.file_form import file_text
from safetyplan.plans.queries import draft_of, versions


def _file(name: str, text: str) -> HttpResponse:
    response = HttpResponse(file_text(text), content_type="application/json; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{name}.json"'
    return response


@login_required
@require_safe
def plan_export(request: HttpRequest, slug: str) -> HttpResponse:
    """Give the draft as a file."""
    draft = draft_of(get_establishment(request, slug))
    if draft is None:
        raise Http404
    return _file(f"plan-{slug}-draft-{draft.revision}", draft.text)


@login_required
@require_safe
def plan_version_export(request: HttpRequest, slug: str, number: int) -> HttpResponse:
    """Give an approved version as a file."""
    version = get_object_or_404(versions(get_establishment(request, slug)), number=number)
    return _file(f"plan-{slug}-version-{number}", version.text)
