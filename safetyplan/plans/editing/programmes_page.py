"""What the page of the programmes shows of each list."""

from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from safetyplan.plans.around import Around
from safetyplan.plans.confirmations import has_expired
from safetyplan.plans.editing.frame import Work
from safetyplan.plans.editing.programmes_forms import (
    VALIDATIONS,
    VERIFICATIONS,
    PositiveActionForm,
    RecallForm,
)
from safetyplan.plans.parts import Control, Plan, Prerequisite, Validation, Verification
from safetyplan.plans.queries import around_of

# the findings that are mended on this screen
CONCERN = ("P028", "P030", "P033", "P037", "P038", "P041")


@dataclass(frozen=True)
class Text:
    """One text of a procedure under its label; empty while nobody wrote it."""

    label: str
    text: str


@dataclass(frozen=True)
class VerificationShown:
    """One activity of the schedule with the names of what it verifies."""

    verification: Verification
    kind: str
    of: list[str]


@dataclass(frozen=True)
class ValidationShown:
    """One validation: its controls by name, whether its document is kept here, whether it expired."""

    validation: Validation
    kind: str
    of: list[str]
    kept: bool
    expired: bool


def names_of(plan: Plan, codes: tuple[str, ...]) -> list[str]:
    """Name controls and prerequisites; a code nothing has says so."""
    items: list[Control | Prerequisite] = [*plan.prerequisites, *plan.controls]
    known = {item.code: f"{item.code} {item.name}" for item in items}
    gone = _("no longer in the plan")
    return [known.get(code, f"{code} ({gone})") for code in codes]


def _texts(form: type[RecallForm] | type[PositiveActionForm], of: Any) -> list[Text]:
    fields = {name: field for name, field in form.base_fields.items() if name != "revision"}
    return [Text(str(field.label), getattr(of, name)) for name, field in fields.items()]


def programmes_page(work: Work) -> dict[str, Any]:
    """Give everything the page shows."""
    shown = programmes_shown(work.plan, around_of(work.establishment))
    return {**shown, "findings": [finding for finding in work.findings() if finding.id in CONCERN]}


def programmes_shown(plan: Plan, around: Around) -> dict[str, Any]:
    """Give the programmes of a plan in words, a draft's or a version's."""
    assert around.today is not None
    return {
        "verifications": [
            VerificationShown(one, str(VERIFICATIONS.get(one.kind, one.kind)), names_of(plan, one.controls))
            for one in plan.verifications
        ],
        "validations": [
            ValidationShown(
                one,
                str(VALIDATIONS.get(one.kind, one.kind)),
                names_of(plan, one.controls),
                one.file in around.files,
                has_expired(one, around.today),
            )
            for one in plan.validations
        ],
        "recall": _texts(RecallForm, plan.recall),
        "positive": _texts(PositiveActionForm, plan.positive_action),
    }
