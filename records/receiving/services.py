"""Changes to loads of milk: receive one, correct or void its receipt."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from records.receiving import kinds
from records.receiving.answers import answered
from records.receiving.known import Known, known
from records.receiving.models import IngredientLot, MilkLoad, Species
from records.receiving.noted import read_details
from records.receiving.queries import balance_of, ingredient_of, similar_load, unfit
from records.receiving.refusing import RefusalContent, refuse_milk, standing
from records.receiving.typed import code_typed, tolerance, volume_typed
from safetyplan.calculation.codes import skeleton
from safetyplan.calculation.rounding import amount, trim
from safetyplan.establishments.access import require_role
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.queries import details_of
from safetyplan.integrity import canonical, ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import check_observed, clean, reason

OLDEST = timedelta(days=14)
MOST_MILKINGS = 12


@dataclass(frozen=True)
class LoadContent:
    """What a person says of a load of milk.

    details: what is noted besides, as typed, by name. statements: the answer to each warning, by its key.
    refusal: the load is refused at the door.
    """

    supplier: UUID
    species: str
    milkings: Sequence[datetime]
    received_at: datetime
    volume: str
    code: str
    herd: UUID | None = None
    tank: str = ""
    kit: UUID | None = None
    details: Mapping[str, str] = field(default_factory=dict)
    statements: Mapping[str, str] = field(default_factory=dict)
    accepted_by: str = ""
    kit_statement: str = ""
    late_reason: str = ""
    refusal: RefusalContent | None = None
    sure: bool = False


def receive_load(
    *, establishment: Establishment, by: Person, content: LoadContent, claim: Claim | None = None
) -> MilkLoad:
    """Record a load of milk as received; one that is refused at the door is refused in the same step.

    Every warning that is known of supplier, herd and animals needs its answer.
    """
    require_role(establishment, by, Role.MAKER)
    with transaction.atomic():
        ledger.lock(establishment)
        code = code_typed(content.code)
        twin = similar_load(establishment, code)
        if twin is not None:
            words = _("This number is the same as, or looks like, that of load %(code)s.")
            raise BadInput(words % {"code": twin.code}, part="code")
        row = _row(establishment, content, code, details_of(establishment).volume_unit)
        ledger.append(kind=kinds.MILK_LOAD, row=row, establishment=establishment, author=by, claim=claim)
        if content.refusal is not None:
            whole = replace(content.refusal, volume="")
            refuse_milk(establishment=establishment, by=by, load=row, content=whole)
    return row


def _row(
    establishment: Establishment,
    content: LoadContent,
    code: str,
    unit: str,
    original: MilkLoad | None = None,
    why: str = "",
) -> MilkLoad:
    about = known(establishment)
    _check_source(about, content, original)
    milkings = _milkings(content)
    late = check_observed(
        establishment,
        content.received_at,
        None,
        tolerance(establishment),
        content.late_reason or why,
        part="received_at",
    )
    statements = answered(
        about.warnings(content.supplier, content.herd, content.received_at, milkings),
        content.statements,
        content.accepted_by,
        refused=content.refusal is not None or _is_refused(establishment, original),
    )
    kit, said = _kit(establishment, content)
    return MilkLoad(
        code=code,
        code_skeleton=skeleton(code),
        supplier_id=content.supplier,
        herd_id=content.herd,
        species=content.species,
        milkings=canonical.dumps([canonical.instant(at) for at in milkings]).decode(),
        milked_at=milkings[0],
        received_at=content.received_at,
        volume_text=volume_typed(content.volume, unit=unit, sure=content.sure),
        volume_unit=unit,
        tank=clean(content.tank, most=60, part="tank"),
        kit=kit,
        details=canonical.dumps(read_details(establishment, content.details)).decode(),
        statements=canonical.dumps([*statements, *said]).decode(),
        late=late,
        late_reason=clean(content.late_reason, part="late_reason"),
        voided=False,
        first_id=original.identity if original else None,
        supersedes=original,
        reason=why,
    )


def _is_refused(establishment: Establishment, original: MilkLoad | None) -> bool:
    return original is not None and balance_of(establishment, original).wholly_refused


def _check_source(about: Known, content: LoadContent, original: MilkLoad | None) -> None:
    supplier = about.suppliers.get(content.supplier)
    if supplier is None or not supplier.gives_milk or (supplier.closed and original is None):
        raise BadInput(_("Choose a supplier of milk."), part="supplier")
    if content.herd is not None:
        herd = about.herds.get(content.herd)
        if herd is None or herd.supplier_id != content.supplier or (herd.closed and original is None):
            raise BadInput(_("Choose a herd of this supplier."), part="herd")
    if content.species not in Species.values:
        raise BadInput(_("Say whose milk it is."), part="species")


def _milkings(content: LoadContent) -> list[datetime]:
    found = sorted(set(content.milkings))
    if not found:
        raise BadInput(_("Give the date and time of at least one milking."), part="milking_1")
    if len(found) > MOST_MILKINGS:
        raise BadInput(
            _("At most %(most)d milkings make one load.") % {"most": MOST_MILKINGS}, part="milking_1"
        )
    if found[-1] > content.received_at:
        raise BadInput(_("A milking lies after the receipt of the load."), part="milking_1")
    if found[0] < content.received_at - OLDEST:
        words = _("A milking lies more than %(days)d days before the receipt: check its date.")
        raise BadInput(words % {"days": OLDEST.days}, part="milking_1")
    return found


def _kit(
    establishment: Establishment, content: LoadContent
) -> tuple[IngredientLot | None, list[dict[str, str]]]:
    """Give the lot of test kits that was used, and what was said where it should not be used any more."""
    if content.kit is None:
        return None, []
    kit = ingredient_of(establishment, content.kit)
    if kit is None or kit.kind != "kit":
        raise BadInput(_("Choose a lot of inhibitor test kits."), part="kit")
    facts = unfit(establishment, kit, content.received_at)
    if not facts:
        return _first(kit), []
    said = clean(content.kit_statement, part="kit_statement")
    if len(said) < 3:
        words = _("%(facts)s Choose another lot, or say why this one was used.")
        raise BadInput(words % {"facts": facts}, part="kit_statement")
    return _first(kit), [{"key": "kit", "facts": facts, "said": "used", "words": said, "by": ""}]


def _first(row: Any) -> Any:
    return row.first or row


def correct_load(
    *,
    establishment: Establishment,
    by: Person,
    load: MilkLoad,
    content: LoadContent,
    why: str,
    claim: Claim | None = None,
) -> MilkLoad:
    """Record a corrected receipt; the first one stays readable, the number of the load stays."""
    require_role(establishment, by, Role.MAKER)
    with transaction.atomic():
        ledger.lock(establishment)
        newest = standing(establishment, load)
        because = reason(why)
        if content.refusal is not None:
            raise Refused(_("Refuse the milk of the load by itself, not with a correction."))
        row = _row(establishment, content, newest.code, newest.volume_unit, newest, because)
        gone = balance_of(establishment, newest)
        taken = gone.used + gone.refused
        if Decimal(row.volume_text) < taken:
            words = _("%(amount)s of this load are used or refused already: it cannot have been less.")
            raise BadInput(words % {"amount": amount(trim(taken), gone.unit)}, part="volume")
        ledger.append(kind=kinds.MILK_LOAD, row=row, establishment=establishment, author=by, claim=claim)
    return row


def void_load(
    *, establishment: Establishment, by: Person, load: MilkLoad, why: str, claim: Claim | None = None
) -> MilkLoad:
    """Void a receipt that should not be there; what was opened for the load stays open."""
    require_role(establishment, by, Role.MAKER)
    with transaction.atomic():
        ledger.lock(establishment)
        newest = standing(establishment, load)
        gone = balance_of(establishment, newest)
        if gone.used or gone.refused:
            raise Refused(_("Milk of this load was used or refused: put those records right first."))
        names = (*kinds.LOAD, "code_skeleton", "milked_at")
        row = MilkLoad(**{name: getattr(newest, name) for name in names})
        row.voided = True
        row.first_id, row.supersedes, row.reason = newest.identity, newest, reason(why)
        ledger.append(kind=kinds.MILK_LOAD, row=row, establishment=establishment, author=by, claim=claim)
    return row
