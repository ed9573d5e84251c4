"""Changes to suppliers and herds: their approval, certificates, and animals whose milk stays out."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, TypeVar

from django.db import transaction
from django.utils.translation import gettext as _

from records.receiving import kinds
from records.receiving.known import Known, known
from records.receiving.models import (
    Approval,
    Certificate,
    Changing,
    Herd,
    Species,
    Supplier,
    SupplierApproval,
    TreatedAnimal,
)
from records.receiving.typed import Upload, keep, needed
from safetyplan.establishments.access import WRITERS, require_role
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.queries import replaced
from safetyplan.integrity import clock, ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import check_observed, clean, reason

Thing = TypeVar("Thing", Supplier, Herd)
LONG_AGO = 366 * 24 * 60


@dataclass(frozen=True)
class CertificateContent:
    """What a person says of a health certificate."""

    name: str
    valid_until: date | None
    reference: str = ""
    herd: Herd | None = None
    upload: Upload | None = None
    withdrawn: bool = False


@dataclass(frozen=True)
class TreatmentContent:
    """What a person says of a treated animal."""

    animal: str
    drug: str
    last_dose_at: datetime
    milk_out_until: datetime


def save_supplier(
    *,
    establishment: Establishment,
    by: Person,
    name: str,
    address: str = "",
    gives_milk: bool = False,
    closed: bool = False,
    supplier: Supplier | None = None,
    why: str = "",
    claim: Claim | None = None,
) -> Supplier:
    """Add a supplier, or record a change to one with its reason."""
    require_role(establishment, by, *WRITERS)
    tidy = needed(name, part="name", message=_("Give the supplier's name."))
    with transaction.atomic():
        ledger.lock(establishment)
        present = known(establishment).suppliers
        _refuse_twin(present.values(), tidy, supplier)
        row = Supplier(
            name=tidy,
            address=clean(address, most=300, part="address"),
            gives_milk=gives_milk,
            closed=closed,
        )
        _follow(row, supplier, why)
        ledger.append(kind=kinds.SUPPLIER, row=row, establishment=establishment, author=by, claim=claim)
    return row


def save_herd(
    *,
    establishment: Establishment,
    by: Person,
    supplier: Supplier,
    name: str,
    species: str,
    closed: bool = False,
    herd: Herd | None = None,
    why: str = "",
    claim: Claim | None = None,
) -> Herd:
    """Add a herd of a supplier, or record a change to one with its reason."""
    require_role(establishment, by, *WRITERS)
    tidy = needed(name, part="name", message=_("Give the herd a name."))
    if species not in Species.values:
        raise BadInput(_("Say whose milk it is."), part="species")
    with transaction.atomic():
        ledger.lock(establishment)
        _refuse_twin(known(establishment).herds_of(supplier.identity, closed=True), tidy, herd)
        row = Herd(supplier_id=supplier.identity, name=tidy, species=species, closed=closed)
        _follow(row, herd, why)
        ledger.append(kind=kinds.HERD, row=row, establishment=establishment, author=by, claim=claim)
    return row


def _refuse_twin(present: Any, name: str, own: Changing | None) -> None:
    for other in present:
        if other.name.casefold() == name.casefold() and (own is None or other.identity != own.identity):
            raise BadInput(_("There is one of this name already."), part="name")


def _follow(row: Thing, original: Thing | None, why: str) -> None:
    """Let a row supersede the newest record of the same thing, with a reason."""
    row.reason = ""
    if original is None:
        return
    if replaced(original):
        raise Refused(_("This was already changed. Look at the newest entry and change that."))
    row.first_id, row.supersedes, row.reason = original.identity, original, reason(why)


def set_approval(
    *,
    establishment: Establishment,
    by: Person,
    supplier: Supplier,
    status: str,
    why: str,
    herd: Herd | None = None,
    valid_until: date | None = None,
    claim: Claim | None = None,
) -> SupplierApproval:
    """Approve a supplier or a herd, approve it on a condition, or suspend it; every change is kept."""
    require_role(establishment, by, Role.RESPONSIBLE, Role.QUALIFIED)
    if status not in Approval.values:
        raise BadInput(_("Choose how the supplier stands."), part="status")
    if valid_until is not None and valid_until < clock.now(establishment).date():
        raise BadInput(_("This day has passed."), part="valid_until")
    row = SupplierApproval(
        supplier_id=supplier.identity,
        herd_id=herd.identity if herd else None,
        status=status,
        valid_until=valid_until,
        reason=reason(why, part="why"),
    )
    ledger.append(kind=kinds.SUPPLIER_APPROVAL, row=row, establishment=establishment, author=by, claim=claim)
    return row


def save_certificate(
    *,
    establishment: Establishment,
    by: Person,
    supplier: Supplier,
    content: CertificateContent,
    original: Certificate | None = None,
    why: str = "",
    claim: Claim | None = None,
) -> Certificate:
    """Record a health certificate with its file, or a change to one with its reason."""
    require_role(establishment, by, *WRITERS)
    name = needed(content.name, part="name", message=_("Say what is certified."), most=200)
    if content.valid_until is None:
        raise BadInput(_("Give the day on which the certificate expires."), part="valid_until")
    with transaction.atomic():
        ledger.lock(establishment)
        if original is not None:
            reason(why)
            if replaced(original):
                raise Refused(_("This was already changed. Look at the newest entry and change that."))
        file = keep(establishment, content.upload)
        same = original if original is not None and content.upload is None else None
        row = Certificate(
            supplier_id=supplier.identity,
            herd_id=content.herd.identity if content.herd else None,
            name=name,
            reference=clean(content.reference, most=120, part="reference"),
            valid_until=content.valid_until,
            file_name=same.file_name if same else file.file_name,
            media_type=same.media_type if same else file.media_type,
            sha256=same.sha256 if same else file.sha256,
            withdrawn=content.withdrawn,
            supersedes=original,
            reason=clean(why),
        )
        ledger.append(kind=kinds.CERTIFICATE, row=row, establishment=establishment, author=by, claim=claim)
    return row


def note_treatment(
    *,
    establishment: Establishment,
    by: Person,
    herd: Herd,
    content: TreatmentContent,
    original: TreatedAnimal | None = None,
    why: str = "",
    claim: Claim | None = None,
) -> TreatedAnimal:
    """Record an animal whose milk stays out after a treatment, or a correction with its reason."""
    require_role(establishment, by, *WRITERS)
    if content.milk_out_until <= content.last_dose_at:
        raise BadInput(_("The milk stays out beyond the last dose."), part="milk_out_until")
    check_observed(establishment, content.last_dose_at, None, LONG_AGO, why, part="last_dose_at")
    with transaction.atomic():
        ledger.lock(establishment)
        _refuse_changed(original, why)
        row = TreatedAnimal(
            herd_id=herd.identity,
            animal=needed(content.animal, part="animal", message=_("Name the animal."), most=60),
            drug=needed(content.drug, part="drug", message=_("Name the drug.")),
            last_dose_at=content.last_dose_at,
            milk_out_until=content.milk_out_until,
            ended_at=original.ended_at if original else None,
            supersedes=original,
            reason=clean(why),
        )
        ledger.append(kind=kinds.TREATED_ANIMAL, row=row, establishment=establishment, author=by, claim=claim)
    return row


def end_treatment(
    *,
    establishment: Establishment,
    by: Person,
    original: TreatedAnimal,
    why: str,
    claim: Claim | None = None,
) -> TreatedAnimal:
    """Let an animal's milk in again before its time, with the reason and from now on."""
    require_role(establishment, by, Role.RESPONSIBLE, Role.QUALIFIED)
    with transaction.atomic():
        ledger.lock(establishment)
        _refuse_changed(original, why)
        row = TreatedAnimal(**{name: getattr(original, name) for name in kinds.TREATMENT})
        row.ended_at = clock.now(establishment)
        row.supersedes, row.reason = original, reason(why)
        ledger.append(kind=kinds.TREATED_ANIMAL, row=row, establishment=establishment, author=by, claim=claim)
    return row


def _refuse_changed(original: TreatedAnimal | None, why: str) -> None:
    if original is None:
        return
    reason(why)
    if replaced(original):
        raise Refused(_("This was already changed. Look at the newest entry and change that."))
    if original.ended_at is not None:
        raise Refused(_("This animal's milk is in again already."))


def supplier_of(about: Known, row: Herd) -> Supplier:
    """Give the supplier of a herd as it stands."""
    return about.suppliers[row.supplier_id]
