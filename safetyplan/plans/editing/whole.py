"""The whole draft to read, as a version is read: before somebody signs it, from beginning to end."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from safetyplan.plans.editing.frame import show, work_on
from safetyplan.plans.page import plan_words
from safetyplan.plans.queries import around_of


@login_required
@require_safe
def plan_draft_read(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the whole draft in words; nothing can be changed here."""
    work = work_on(request, slug)
    words = plan_words(work.plan, around_of(work.establishment))
    return show(work, "plans/editing/whole.html", "plan_draft", **words)
