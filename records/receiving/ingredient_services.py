"""Changes to ingredient and packaging lots: receive, correct, end."""

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from records.receiving import kinds
from records.receiving.known import known
from records.receiving.models import EndedHow, IngredientEnded, IngredientKind, IngredientLot
from records.receiving.queries import ended_of, find_by_code, ingredient_of, unfit
from records.receiving.typed import Upload, code_typed, keep, needed, tolerance
from safetyplan.calculation.codes import skeleton
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.establishments.access import WRITERS, require_role
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.queries import replaced
from safetyplan.integrity import ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import check_observed, clean, number, reason

QUANTITY_UNITS = ("kg", "g", "L", "mL", "count")


@dataclass(frozen=True)
class IngredientContent:
    """What a person says of an ingredient lot. same_code: it is another lot than the one of a like code."""

    kind: str
    name: str
    code: str
    received_at: datetime
    supplier: UUID | None = None
    use_by: date | None = None
    quantity: str = ""
    unit: str = "kg"
    storage: str = ""
    allergens: str = ""
    certificate: str = ""
    upload: Upload | None = None
    same_code: bool = False
    late_reason: str = ""
    sure: bool = False


def receive_ingredient(
    *, establishment: Establishment, by: Person, content: IngredientContent, claim: Claim | None = None
) -> IngredientLot:
    """Record an ingredient, packaging, chemical or test kit lot as received."""
    require_role(establishment, by, *WRITERS)
    with transaction.atomic():
        ledger.lock(establishment)
        row = _row(establishment, content)
        ledger.append(kind=kinds.INGREDIENT_LOT, row=row, establishment=establishment, author=by, claim=claim)
    return row


def correct_ingredient(
    *,
    establishment: Establishment,
    by: Person,
    original: IngredientLot,
    content: IngredientContent,
    why: str,
    claim: Claim | None = None,
) -> IngredientLot:
    """Record a corrected ingredient lot; the first record stays readable."""
    require_role(establishment, by, *WRITERS)
    with transaction.atomic():
        ledger.lock(establishment)
        if replaced(original):
            raise Refused(_("This was already changed. Look at the newest entry and change that."))
        row = _row(establishment, content, original, reason(why))
        ledger.append(kind=kinds.INGREDIENT_LOT, row=row, establishment=establishment, author=by, claim=claim)
    return row


def _row(
    establishment: Establishment,
    content: IngredientContent,
    original: IngredientLot | None = None,
    why: str = "",
) -> IngredientLot:
    if content.kind not in IngredientKind.values:
        raise BadInput(_("Say what it is."), part="kind")
    code = code_typed(content.code)
    if not content.same_code:
        _refuse_similar(establishment, content, code, original)
    if content.supplier is not None and content.supplier not in known(establishment).suppliers:
        raise BadInput(_("Choose a supplier of the list."), part="supplier")
    why_late = content.late_reason or why
    minutes = tolerance(establishment)
    late = check_observed(establishment, content.received_at, None, minutes, why_late, part="received_at")
    file = keep(establishment, content.upload)
    same = original if original is not None and content.upload is None else None
    quantity, unit = _quantity(content)
    return IngredientLot(
        kind=content.kind,
        name=needed(content.name, part="name", message=_("Give its name.")),
        supplier_id=content.supplier,
        code=code,
        code_skeleton=skeleton(code),
        received_at=content.received_at,
        use_by=content.use_by,
        quantity_text=quantity,
        quantity_unit=unit,
        storage=clean(content.storage, most=120, part="storage"),
        allergens=clean(content.allergens, most=300, part="allergens"),
        certificate=clean(content.certificate, most=120, part="certificate"),
        file_name=same.file_name if same else file.file_name,
        media_type=same.media_type if same else file.media_type,
        sha256=same.sha256 if same else file.sha256,
        late=late,
        late_reason=clean(content.late_reason, part="late_reason"),
        first_id=original.identity if original else None,
        supersedes=original,
        reason=why,
    )


def _refuse_similar(
    establishment: Establishment, content: IngredientContent, code: str, original: IngredientLot | None
) -> None:
    """Ask about a code like that of another lot of the same kind: a slip, or the same thing come again."""
    for twin in find_by_code(establishment, code):
        if twin.kind == content.kind and (original is None or twin.identity != original.identity):
            words = _("This code is the same as, or similar to, that of %(name)s %(code)s.")
            told = {"name": twin.name, "code": twin.code}
            raise BadInput(
                f"{words % told} {_('Confirm below if it is another delivery.')}", part="same_code"
            )


def _quantity(content: IngredientContent) -> tuple[str, str]:
    if not content.quantity.strip():
        return "", ""
    if content.unit not in QUANTITY_UNITS:
        raise BadInput(_("Choose the unit."), part="unit")
    typed = number(
        content.quantity,
        quantity=UNITS[content.unit].quantity,
        unit=content.unit,
        part="quantity",
        confirmed=content.sure,
    )
    return typed.text, content.unit


def end_ingredient(
    *,
    establishment: Establishment,
    by: Person,
    ingredient: IngredientLot,
    how: str,
    ended_at: datetime,
    why: str = "",
    claim: Claim | None = None,
) -> IngredientEnded:
    """Record that nothing of an ingredient lot is left; what is discarded gives its reason."""
    require_role(establishment, by, *WRITERS)
    if how not in EndedHow.values:
        raise BadInput(_("Say whether it was used up or discarded."), part="how")
    with transaction.atomic():
        ledger.lock(establishment)
        if ended_of(establishment, [ingredient.identity]):
            raise Refused(_("It is recorded already that nothing of it is left."))
        if ended_at < ingredient.received_at:
            raise BadInput(_("This is before it was received."), part="ended_at")
        check_observed(establishment, ended_at, None, 24 * 60, why, part="ended_at")
        row = IngredientEnded(
            ingredient_id=ingredient.identity,
            how=how,
            ended_at=ended_at,
            reason=reason(why, part="why") if how == EndedHow.DISCARDED else clean(why, part="why"),
        )
        ledger.append(
            kind=kinds.INGREDIENT_ENDED, row=row, establishment=establishment, author=by, claim=claim
        )
    return row


def require_fit(
    *, establishment: Establishment, ingredient: UUID, at: datetime, statement: str, part: str = "statement"
) -> tuple[IngredientLot, str]:
    """Give an ingredient lot that is to be used, and the statement where it should not be used any more.

    Past its last day of use, discarded or used up it is not taken without a statement of at least three
    letters. Whoever records the use keeps the statement; where the plan checks the use-by, that check opens
    the deviation.
    """
    row = ingredient_of(establishment, ingredient)
    if row is None:
        raise BadInput(_("This ingredient lot is not known."), part="ingredient")
    facts = unfit(establishment, row, at)
    said = clean(statement, part=part) if facts else ""
    if facts and len(said) < 3:
        raise BadInput(
            _("%(facts)s Choose another lot, or say why this one is used.") % {"facts": facts}, part=part
        )
    return row, said
