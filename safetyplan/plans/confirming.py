"""Confirmations of the plan: a figure on a source, the table of targets, the flow on site; evidence kept.

They are records beside the document: what a plan file brings along from elsewhere is never confirmed here.
"""

from datetime import date

from django.db import transaction
from django.utils.translation import gettext as _

from safetyplan.establishments.access import require_role
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.integrity import clock, ledger
from safetyplan.integrity.files import checked_file, keep_file, shown_name
from safetyplan.integrity.models import SignatureProof
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.signatures import sign
from safetyplan.integrity.typed_values import clean
from safetyplan.plans.figures import figures, flow_value, targets_value
from safetyplan.plans.kinds import (
    DUTY_DONE,
    EVIDENCE_KEPT,
    FIGURE_CONFIRMED,
    FLOW_CONFIRMED,
    REANALYSIS_TRIGGER,
    TARGETS_CONFIRMED,
)
from safetyplan.plans.models import (
    DutyDone,
    EvidenceKept,
    FigureConfirmed,
    FlowConfirmed,
    ReanalysisTrigger,
    TargetsConfirmed,
)
from safetyplan.plans.queries import plan_at_work

WHO_CONFIRMS = (Role.QUALIFIED, Role.RESPONSIBLE)
TRIGGERS = ("product", "equipment", "supplier", "process", "information", "unforeseen")
DUTIES = ("reanalysis", "status", "attestation")


def confirm_figure(
    *, establishment: Establishment, by: Person, what: str, value: str, source: str
) -> FigureConfirmed:
    """Confirm one figure of the draft (or of the newest version) on a source, as the page showed it."""
    require_role(establishment, by, *WHO_CONFIRMS)
    if not source.strip():
        raise BadInput(_("Say where you read the figure: text, table, page or link."), part="source")
    with transaction.atomic():
        ledger.lock(establishment)
        plan = plan_at_work(establishment)
        figure = next((f for f in figures(plan) if f.what == what), None) if plan else None
        if figure is None or figure.value != value:
            raise Refused(_("The figure changed meanwhile. Read it again before you confirm it."))
        row = FigureConfirmed(
            what=figure.what, figure=figure.value, words=" ".join(figure.words), source=clean(source)
        )
        ledger.append(kind=FIGURE_CONFIRMED, row=row, establishment=establishment, author=by)
    return row


def confirm_targets(*, establishment: Establishment, proof: SignatureProof, value: str) -> TargetsConfirmed:
    """Confirm the table of operating targets with one signature, as the page showed it."""
    require_role(establishment, proof.person, *WHO_CONFIRMS)
    with transaction.atomic():
        ledger.lock(establishment)
        plan = plan_at_work(establishment)
        if plan is None or targets_value(plan) != value:
            raise Refused(_("The table changed meanwhile. Read it again before you sign it."))
        row = TargetsConfirmed(table=value)
        meaning = _("Confirms the operating targets of the food-safety plan")
        signer = sign(row, establishment=establishment, proof=proof, meaning=meaning)
        ledger.append(kind=TARGETS_CONFIRMED, row=row, establishment=establishment, author=signer)
    return row


def confirm_flow(
    *, establishment: Establishment, proof: SignatureProof, product: str, value: str, note: str
) -> FlowConfirmed:
    """Confirm on site that a product is made as its flow says, with a signature."""
    require_role(establishment, proof.person, *WHO_CONFIRMS)
    if not note.strip():
        raise BadInput(_("Say when the process was walked, and with whom."), part="note")
    with transaction.atomic():
        ledger.lock(establishment)
        plan = plan_at_work(establishment)
        found = next((p for p in plan.products if p.code == product), None) if plan else None
        if found is None or flow_value(found) != value:
            raise Refused(_("The flow changed meanwhile. Walk it again before you sign it."))
        row = FlowConfirmed(product=found.code, flow=value, note=clean(note))
        meaning = _("Confirms on site that the product is made as its flow diagram says")
        signer = sign(row, establishment=establishment, proof=proof, meaning=meaning)
        ledger.append(kind=FLOW_CONFIRMED, row=row, establishment=establishment, author=signer)
    return row


def keep_evidence(*, establishment: Establishment, by: Person, name: str, content: bytes) -> EvidenceKept:
    """Keep a document as evidence of a validation; the plan then names it by its SHA-256."""
    require_role(establishment, by, *WHO_CONFIRMS)
    media_type = checked_file(content)
    with transaction.atomic():
        ledger.lock(establishment)
        row = EvidenceKept(
            name=shown_name(name),
            media_type=media_type,
            size=len(content),
            sha256=keep_file(establishment, content),
        )
        ledger.append(kind=EVIDENCE_KEPT, row=row, establishment=establishment, author=by)
    return row


def note_trigger(
    *, establishment: Establishment, by: Person, trigger: str, text: str, happened_on: date
) -> ReanalysisTrigger:
    """Record that something new asks for a reanalysis of the plan."""
    require_role(establishment, by, Role.MAKER, Role.REVIEWER, *WHO_CONFIRMS)
    if trigger not in TRIGGERS:
        raise BadInput(_("Choose what is new."), part="trigger")
    if not text.strip():
        raise BadInput(_("Say what is new."), part="text")
    _refuse_future(establishment, happened_on, "happened_on")
    with transaction.atomic():
        ledger.lock(establishment)
        row = ReanalysisTrigger(trigger=trigger, text=clean(text), happened_on=happened_on)
        ledger.append(kind=REANALYSIS_TRIGGER, row=row, establishment=establishment, author=by)
    return row


def sign_duty(
    *,
    establishment: Establishment,
    proof: SignatureProof,
    duty: str,
    outcome: str,
    text: str,
    done_on: date,
) -> DutyDone:
    """Sign that a duty of the plan was done: reanalysed, status determined, attested; with its outcome."""
    require_role(establishment, proof.person, *WHO_CONFIRMS)
    if duty not in DUTIES:
        raise BadInput(_("Choose what was done."), part="duty")
    if not text.strip():
        raise BadInput(_("Say what was looked at and what came of it."), part="text")
    _refuse_future(establishment, done_on, "done_on")
    with transaction.atomic():
        ledger.lock(establishment)
        row = DutyDone(
            duty=duty, outcome=clean(outcome), text=clean(text, most=1000, part="text"), done_on=done_on
        )
        meaning = _("Signs that a duty of the food-safety plan was done")
        signer = sign(row, establishment=establishment, proof=proof, meaning=meaning)
        ledger.append(kind=DUTY_DONE, row=row, establishment=establishment, author=signer)
    return row


def _refuse_future(establishment: Establishment, day: date, part: str) -> None:
    # the day may already be tomorrow where the dairy stands: one day of grace, no more
    if (day - clock.now(establishment).date()).days > 1:
        raise BadInput(_("The day lies in the future."), part=part)
