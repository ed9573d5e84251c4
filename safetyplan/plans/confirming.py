"""Confirmations of the plan: a figure on a source, the table of targets, the flow on site; evidence kept.

They are records beside the document: what a plan file brings along from elsewhere is never confirmed here.
Confirming cannot be taken back, only given anew; the same thing sent twice by one person is one record.
"""

from datetime import date
from typing import Any, TypeVar

from django.db import transaction
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from safetyplan.calculation.times import FIRST_YEAR
from safetyplan.establishments.access import require_role
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity import clock, ledger
from safetyplan.integrity.files import checked_file, keep_file, shown_name
from safetyplan.integrity.models import Recorded, SignatureProof
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
LONGEST_WHAT = 120
LONGEST_PRODUCT = 60
Row = TypeVar("Row", bound=Recorded)


def _given_already(rows: "QuerySet[Row]", by: Person, **said: Any) -> Row | None:
    """Find the newest of some rows if the same person said the same in it."""
    newest = rows.order_by("-entry__sequence").first()
    if newest is None or newest.author_id != by.pk:
        return None
    return newest if all(getattr(newest, name) == value for name, value in said.items()) else None


def confirm_figure(
    *, establishment: Establishment, by: Person, what: str, value: str, source: str
) -> FigureConfirmed:
    """Confirm one figure of the draft (or of the newest version) on a source, as the page showed it."""
    require_role(establishment, by, *WHO_CONFIRMS)
    read_in = clean(source, part="source")
    if not read_in:
        raise BadInput(_("Say where you read the figure: text, table, page or link."), part="source")
    with transaction.atomic():
        ledger.lock(establishment)
        plan = plan_at_work(establishment)
        figure = next((f for f in figures(plan) if f.what == what), None) if plan else None
        if figure is None or figure.value != value:
            raise Refused(_("The figure changed meanwhile. Read it again before you confirm it."))
        _refuse_long_code(figure.what, LONGEST_WHAT)
        before = FigureConfirmed.objects.of(establishment).filter(what=what)
        same = _given_already(before, by, figure=value, source=read_in)
        if same is not None:
            return same
        row = FigureConfirmed(
            what=figure.what, figure=figure.value, words=" ".join(figure.words), source=read_in
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
        same = _given_already(TargetsConfirmed.objects.of(establishment), proof.person, table=value)
        if same is not None:
            return same
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
    walked = clean(note, part="note")
    if not walked:
        raise BadInput(_("Say when the process was walked, and with whom."), part="note")
    with transaction.atomic():
        ledger.lock(establishment)
        plan = plan_at_work(establishment)
        found = next((p for p in plan.products if p.code == product), None) if plan else None
        if found is None or flow_value(found) != value:
            raise Refused(_("The flow changed meanwhile. Walk it again before you sign it."))
        _refuse_long_code(found.code, LONGEST_PRODUCT)
        before = FlowConfirmed.objects.of(establishment).filter(product=product)
        same = _given_already(before, proof.person, flow=value, note=walked)
        if same is not None:
            return same
        row = FlowConfirmed(product=found.code, flow=value, note=walked)
        meaning = _("Confirms on site that the product is made as its flow diagram says")
        signer = sign(row, establishment=establishment, proof=proof, meaning=meaning)
        ledger.append(kind=FLOW_CONFIRMED, row=row, establishment=establishment, author=signer)
    return row


def keep_evidence(*, establishment: Establishment, by: Person, name: str, content: bytes) -> EvidenceKept:
    """Keep a document as evidence of a validation; the plan then names it by its SHA-256."""
    require_role(establishment, by, *WHO_CONFIRMS)
    media_type, known_as = checked_file(content), shown_name(name)
    with transaction.atomic():
        ledger.lock(establishment)
        digest = keep_file(establishment, content)
        before = EvidenceKept.objects.of(establishment).filter(sha256=digest, name=known_as)
        same = before.first()
        if same is not None:
            return same
        row = EvidenceKept(name=known_as, media_type=media_type, size=len(content), sha256=digest)
        ledger.append(kind=EVIDENCE_KEPT, row=row, establishment=establishment, author=by)
    return row


def note_trigger(
    *, establishment: Establishment, by: Person, trigger: str, text: str, happened_on: date
) -> ReanalysisTrigger:
    """Record that something new asks for a reanalysis of the plan."""
    require_role(establishment, by, Role.MAKER, Role.REVIEWER, *WHO_CONFIRMS)
    if trigger not in TRIGGERS:
        raise BadInput(_("Choose what is new."), part="trigger")
    said = clean(text, part="text")
    if not said:
        raise BadInput(_("Say what is new."), part="text")
    _refuse_future(establishment, happened_on, "happened_on")
    with transaction.atomic():
        ledger.lock(establishment)
        before = ReanalysisTrigger.objects.of(establishment)
        same = _given_already(before, by, trigger=trigger, text=said, happened_on=happened_on)
        if same is not None:
            return same
        row = ReanalysisTrigger(trigger=trigger, text=said, happened_on=happened_on)
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
    came_of_it = clean(outcome, most=40, part="outcome")
    said = clean(text, most=1000, part="text")
    if not said:
        raise BadInput(_("Say what was looked at and what came of it."), part="text")
    _refuse_future(establishment, done_on, "done_on")
    with transaction.atomic():
        ledger.lock(establishment)
        signed = DutyDone.objects.of(establishment).filter(duty=duty)
        same = _given_already(signed, proof.person, outcome=came_of_it, text=said, done_on=done_on)
        if same is not None:
            return same
        row = DutyDone(duty=duty, outcome=came_of_it, text=said, done_on=done_on)
        meaning = _("Signs that a duty of the food-safety plan was done")
        signer = sign(row, establishment=establishment, proof=proof, meaning=meaning)
        ledger.append(kind=DUTY_DONE, row=row, establishment=establishment, author=signer)
    return row


def _refuse_future(establishment: Establishment, day: date, part: str) -> None:
    today = clock.now(establishment).astimezone(zone_of(establishment)).date()
    if day > today:
        raise BadInput(_("The day lies in the future."), part=part)
    if day.year < FIRST_YEAR:
        raise BadInput(_("Give a year from %(first)d on.") % {"first": FIRST_YEAR}, part=part)


def _refuse_long_code(code: str, most: int) -> None:
    if len(code) > most:
        raise Refused(_("The code “%(code)s…” is too long: shorten it in the plan.") % {"code": code[:30]})
