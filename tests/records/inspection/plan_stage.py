"""Helpers of the tests of the plan on paper: approve, issue, read the sections back."""

import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from records.inspection.models import PrintIssue
from records.inspection.queries import kept_bytes
from records.inspection.services import issue_print
from safetyplan.establishments.services import Details, change_details
from safetyplan.plans.models import PlanApproved
from safetyplan.plans.services import approve_plan, save_draft
from tests.builders import T0, at, confirm_all, hours
from tests.cast import Cast
from tests.records.inspection.long_plan import long_plan
from tests.safetyplan.printing.reading import pages

BEFORE = T0.replace(day=13)
ACCEPTED = "Two people only, nobody else to ask"


def approved(cast: Cast, plan: dict[str, Any], *, reason: str = "Made again") -> PlanApproved:
    """Approve a plan with its warnings accepted."""
    draft = save_draft(
        establishment=cast.dairy, by=cast.owner, text=json.dumps(plan), reason="", revision=None
    )
    confirm_all(cast)
    return approve_plan(
        establishment=cast.dairy,
        proof=cast.proof(cast.owner),
        revision=draft.revision,
        reason=reason,
        warnings_reason=ACCEPTED,
    )


def use_paper(cast: Cast, paper: str) -> None:
    """Choose the paper of the dairy."""
    details = Details(
        name="Near Test Dairy", address="1 Test Lane, Testford", time_zone="Europe/Dublin", paper=paper
    )
    change_details(establishment=cast.dairy, by=cast.owner, details=details)


def issued(cast: Cast, what: str, subject: str, moment: datetime = hours(1)) -> PrintIssue:  # noqa: B008
    """Issue a print."""
    with at(cast.dairy, moment):
        return issue_print(establishment=cast.dairy, by=cast.owner, what=what, subject=subject)


def plan_pdf(cast: Cast, number: int = 1) -> bytes:
    """Print a version of the plan."""
    return kept_bytes(issued(cast, "plan", str(number)))


_SHORT: list[bytes] = []


def first_print(cast: Cast) -> bytes:
    """Print the demonstration's plan as it is first approved; once, for all who only read it."""
    if not _SHORT:
        _SHORT.append(plan_pdf(cast))
    return _SHORT[0]


@dataclass(frozen=True)
class LongPrint:
    """The print of the long plan on one paper, its last words, the text of its pages."""

    pdf: bytes
    endings: list[str]
    pages: list[str]

    def first_page_of(self, section: str) -> int:
        """Give the place of the page on which a section begins; the contents name it too."""
        found = [number for number, page in enumerate(self.pages) if section in " ".join(page.split())]
        return found[1] if found[0] < 2 else found[0]


_PRINTED: dict[str, LongPrint] = {}


def long_print(cast: Cast, paper: str) -> LongPrint:
    """Print the long plan, once for each paper."""
    if paper not in _PRINTED:
        plan, endings = long_plan()
        with at(cast.dairy, BEFORE):
            use_paper(cast, paper)
            approved(cast, plan)
        pdf = plan_pdf(cast)
        _PRINTED[paper] = LongPrint(pdf, endings, pages(pdf))
    return _PRINTED[paper]
