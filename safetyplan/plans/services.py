"""Changes to the plan: write the draft, approve it with a signature, revise it."""

import json
from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from safetyplan.establishments.access import require_role
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.integrity import canonical, clock, ledger
from safetyplan.integrity.models import SignatureProof
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.seals import seal
from safetyplan.integrity.signatures import sign
from safetyplan.integrity.typed_values import clean
from safetyplan.plans import document, plan_check
from safetyplan.plans.around import Around
from safetyplan.plans.kinds import PLAN_APPROVED
from safetyplan.plans.models import PlanApproved, PlanDraft
from safetyplan.plans.queries import around_of, draft_of, versions


def read_draft_text(text: str) -> tuple[str, document.Plan]:
    """Read typed JSON as a plan; refuse it with the line or the path of the first fault."""
    try:
        data = json.loads(text, object_pairs_hook=_once)
        plan = document.read(data)  # first: it names the path of a fault
        return canonical.dumps(data).decode(), plan
    except json.JSONDecodeError as error:
        raise BadInput(
            _("Line %(line)d cannot be read: %(why)s.") % {"line": error.lineno, "why": error.msg},
            part="text",
        ) from error
    except RecursionError as error:
        raise BadInput(_("The plan is nested too deeply to be read."), part="text") from error
    except (document.DocumentError, canonical.CanonicalError) as error:
        raise BadInput(str(error), part="text") from error


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Refuse a name that is written twice: which of the two is meant cannot be guessed."""
    names = [name for name, _value in pairs]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise document.DocumentError("plan", f"the name {twice!r} is written twice in one object")
    return dict(pairs)


def save_draft(
    *, establishment: Establishment, by: Person, text: str, reason: str, revision: int | None
) -> PlanDraft:
    """Save the draft; a draft that somebody else changed meanwhile is refused, not overwritten."""
    require_role(establishment, by, Role.QUALIFIED)
    canonical_text, _plan = read_draft_text(text)
    with transaction.atomic():
        ledger.lock(establishment)
        draft = draft_of(establishment)
        if draft is not None and draft.revision != revision:
            raise Refused(_("Somebody changed the draft meanwhile. Compare before you save again."))
        if draft is None:
            draft = PlanDraft(establishment=establishment, revision=0)
        draft.text = canonical_text
        draft.revision += 1
        draft.reason = clean(reason)
        draft.prepared_by = by
        draft.changed_at = clock.now(establishment)
        draft.save()
    return draft


def change_draft(
    *,
    establishment: Establishment,
    by: Person,
    revision: int | None,
    change: Callable[[dict[str, Any]], None],
) -> PlanDraft:
    """Change a part of the draft: `change` alters the document; what it becomes must still be a plan.

    A document of form 1 becomes form 2. BadInput names the path of a value that cannot be taken.
    """
    require_role(establishment, by, Role.QUALIFIED)
    with transaction.atomic():
        ledger.lock(establishment)
        draft = draft_of(establishment)
        if draft is None or draft.revision != revision:
            raise Refused(_("Somebody changed the draft meanwhile. Look at it again, then write once more."))
        data: dict[str, Any] = canonical.loads(draft.text.encode())
        change(data)
        data["schema"] = document.SCHEMA
        text = json.dumps(data)
        return save_draft(
            establishment=establishment, by=by, text=text, reason=draft.reason, revision=revision
        )


def revise(*, establishment: Establishment, by: Person) -> PlanDraft:
    """Begin a revision: a new draft copied from the newest approved version."""
    require_role(establishment, by, Role.QUALIFIED)
    newest = versions(establishment).first()
    if draft_of(establishment) is not None:
        raise Refused(_("There is a draft already."))
    if newest is None:
        raise Refused(_("There is no approved version to revise yet."))
    return save_draft(
        establishment=establishment, by=by, text=json.dumps(newest.data()), reason="", revision=None
    )


def approve_plan(
    *,
    establishment: Establishment,
    proof: SignatureProof,
    revision: int,
    reason: str,
    warnings_reason: str = "",
    in_force_from: datetime | None = None,
    capacity: str = "",
) -> PlanApproved:
    """Approve the draft: freeze its bytes in an entry, signed by the responsible person.

    capacity: as whom one signs, owner, operator or agent; it becomes part of what the signature says.
    """
    require_role(establishment, proof.person, Role.RESPONSIBLE)
    with transaction.atomic():
        ledger.lock(establishment)
        draft = draft_of(establishment)
        if draft is None or draft.revision != revision:
            raise Refused(_("The draft is not the one you read. Open it again."))
        if not reason.strip():
            raise BadInput(_("Say why the plan is made or changed."), part="reason")
        _refuse_findings(draft, around_of(establishment), warnings_reason)
        last = versions(establishment).first()
        now = clock.now(establishment)
        if in_force_from is not None and in_force_from < now:
            raise BadInput(_("A plan cannot take effect in the past."), part="in_force_from")
        row = PlanApproved(
            number=(last.number if last else 0) + 1,
            text=draft.text,
            reason=clean(reason),
            prepared_by=draft.prepared_by,
            in_force_from=in_force_from or now,
            warnings_reason=clean(warnings_reason),
            supersedes=last,
        )
        meaning = approval_meaning(capacity)
        signer = sign(row, establishment=establishment, proof=proof, meaning=meaning)
        ledger.append(kind=PLAN_APPROVED, row=row, establishment=establishment, author=signer)
        draft.delete()
        seal(establishment=establishment, reason="plan_approved")
    return row


def approval_meaning(capacity: str) -> str:
    """Say what the signature under a plan means: owner, operator or agent in charge (21 CFR 117.310)."""
    meanings = {
        "owner": _("Approves the food-safety plan, as the owner"),
        "operator": _("Approves the food-safety plan, as the operator"),
        "agent": _("Approves the food-safety plan, as the agent in charge"),
    }
    return meanings.get(capacity, _("Approves the food-safety plan"))


def _refuse_findings(draft: PlanDraft, around: Around, warnings_reason: str) -> None:
    findings = plan_check.check(document.read_text(draft.text), around)
    errors = [f for f in findings if f.level == "error"]
    if errors:
        listed = "; ".join(f"{f.where}: {f.message}" for f in errors)
        raise Refused(_("The plan cannot be approved yet: %(errors)s") % {"errors": listed})
    if findings and not warnings_reason.strip():
        raise BadInput(_("Give a reason for the warnings you accept."), part="warnings_reason")
