"""What the screens of controls show: every control in words with its findings, one control with its form."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.http import HttpResponse
from django.utils.translation import gettext as _

from safetyplan.calculation.open_limit import OpenLimit
from safetyplan.plans.described import ControlWords, controls_words
from safetyplan.plans.editing.controls_forms import ControlForm
from safetyplan.plans.editing.frame import Work, show
from safetyplan.plans.parts import CLASSES, Control
from safetyplan.plans.plan_check import Finding

NO_LIMIT = "P015"


@dataclass(frozen=True)
class Listed:
    """One control of the list: in words, what is still open, what the plan check says."""

    words: ControlWords
    open_limit: OpenLimit | None
    findings: list[Finding]

    @property
    def code(self) -> str:
        """The code of the control."""
        return self.words.control.code


@dataclass(frozen=True)
class Group:
    """The controls of one class."""

    rank: str
    title: str
    about: str
    add: str
    listed: list[Listed]


def _titles() -> dict[str, tuple[str, str, str]]:
    return {
        "ccp": (
            _("Critical control points"),
            _("Steps at which a hazard is held by a limit. A check missed puts the lot on hold."),
            _("Add a critical control point"),
        ),
        "oprp": (
            _("Operational prerequisites"),
            _("Controls of a step that need a limit but not a CCP."),
            _("Add an operational prerequisite"),
        ),
        "prp": (
            _("Prerequisites with a limit"),
            _("Checks of the site or of a lot that have a limit."),
            _("Add a prerequisite with a limit"),
        ),
    }


def findings_of(findings: list[Finding], control: Control) -> list[Finding]:
    """Give the findings about a control and its figure; that it has no limit yet is shown in its place."""
    where = (control.code, f"limit:{control.code}")
    return [finding for finding in findings if finding.where in where and finding.id != NO_LIMIT]


def groups_of(work: Work) -> Iterator[Group]:
    """Give the controls by class, critical ones first; a finding about a control stands with it."""
    findings = work.findings()
    words = controls_words(work.plan)
    for rank in CLASSES:
        title, about, add = _titles()[rank]
        yield Group(
            rank,
            title,
            about,
            add,
            [
                Listed(
                    one,
                    one.control.limit if isinstance(one.control.limit, OpenLimit) else None,
                    findings_of(findings, one.control),
                )
                for one in words
                if one.control.rank == rank
            ],
        )


def stale(work: Work, typed: str) -> bool:
    """Tell whether a form was shown before the draft was changed by somebody else."""
    return typed != str(work.draft.revision)


def control_page(
    work: Work, form: ControlForm, control: Control | None, *, status: int = 200
) -> HttpResponse:
    """Show the screen of one control, or of a new one."""
    words = next((one for one in controls_words(work.plan) if one.control == control), None)
    return show(
        work,
        "plans/editing/control.html",
        "plan_controls",
        status=status,
        form=form,
        groups=form.groups(),
        control=control,
        words=words,
        open_limit=control.limit if control and isinstance(control.limit, OpenLimit) else None,
        findings=findings_of(work.findings(), control) if control else [],
    )
