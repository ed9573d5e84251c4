"""The pages of ingredient and packaging lots: what each shows, asks and does."""

from collections.abc import Collection, Mapping
from itertools import groupby, pairwise
from typing import Any
from uuid import UUID

from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _

from records.batches.added import addition_rows
from records.batches.additions import additions_with
from records.batches.posting import claim_of, moment, now_typed
from records.inspection.telling import on_screen
from records.receiving.asking import who
from records.receiving.forms import EndIngredientForm, IngredientForm
from records.receiving.ingredient_services import (
    IngredientContent,
    correct_ingredient,
    end_ingredient,
    receive_ingredient,
)
from records.receiving.known import known
from records.receiving.models import EndedHow, IngredientKind, IngredientLot
from records.receiving.posting import Asking, sure, upload_of
from records.receiving.queries import ended_of, ingredients, uses
from records.receiving.tables import IngredientTable
from records.receiving.typed import day_typed
from records.things.queries import made_with
from safetyplan.calculation.rounding import amount
from safetyplan.establishments.access import WRITERS
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Establishment, Role
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity import clock
from safetyplan.integrity.form_claims import form_uuid
from safetyplan.integrity.form_refusals import Typed
from safetyplan.integrity.refusals import BadInput

PAGE = 100


def list_context(
    establishment: Establishment, asked: Mapping[str, str], roles: Collection[str]
) -> dict[str, Any]:
    """Give the lots by kind, those to be used first on top; with `all` a page of everything received."""
    everything = "all" in asked
    rows = ingredients(establishment)
    if not everything:
        rows = rows.filter(ended=False)
    page = max(int(asked.get("page", "1")), 1) if asked.get("page", "1").isdecimal() else 1
    page = min(page, 10_000)
    start = (page - 1) * PAGE
    found = list(rows[start : start + PAGE + 1])
    day = on_screen(establishment).day(clock.now(establishment))
    groups = [
        (str(IngredientKind(kind).label), _table(establishment, list(lots), day))
        for kind, lots in groupby(found[:PAGE], key=lambda row: row.kind)
    ]
    mark = "&all" if everything else ""
    return {
        "groups": groups,
        "everything": everything,
        "older_url": f"?page={page + 1}{mark}" if len(found) > PAGE else "",
        "newer_url": f"?page={page - 1}{mark}" if page > 1 else "",
        "period": _("Page %(n)d") % {"n": page} if page > 1 or len(found) > PAGE else "",
        "may_write": bool(set(roles) & set(WRITERS)),
        "section": "today",
    }


def _table(establishment: Establishment, lots: list[Any], day: Any) -> IngredientTable:
    teller = on_screen(establishment)
    rows = [
        {
            "pk": row.identity,
            "name": row.name,
            "code": row.code,
            "received": teller.day(row.received_at).isoformat(),
            "use_by": row.use_by.isoformat() if row.use_by else "–",
            "quantity": quantity_words(row),
            "state": ingredient_mark(row, day),
        }
        for row in lots
    ]
    return IngredientTable(rows, slug=establishment.slug)


def quantity_words(row: IngredientLot) -> str:
    """Write a quantity with its unit."""
    return amount(row.quantity_text, row.quantity_unit) if row.quantity_text else "–"


def ingredient_mark(row: Any, day: Any) -> tuple[str, str]:
    """Give where a lot stands."""
    if row.ended:
        return "closed", _("Nothing left")
    if row.use_by is not None and row.use_by < day:
        return "overdue", _("Past use-by")
    return "active", _("In use")


def one_context(establishment: Establishment, row: Any, roles: Collection[str]) -> dict[str, Any]:
    """Give everything the page shows of one lot."""
    teller, about = on_screen(establishment), known(establishment)
    ended = ended_of(establishment, [row.identity]).get(row.identity)
    supplier = about.suppliers[row.supplier_id].name if row.supplier_id else "–"
    found = IngredientLot.objects.of(establishment)
    records = found.filter(pk=row.identity) | found.filter(first=row.identity)
    history = list(records.order_by("entry__sequence"))
    return {
        "row": row,
        "mark": ingredient_mark(row, teller.day(clock.now(establishment))),
        "facts": [*_facts(teller, row, supplier)],
        "ended": ended,
        "ended_words": _ended_words(teller, ended) if ended else "",
        "uses": uses(establishment, row.identity),
        "additions": addition_rows(teller, establishment.slug, additions_with(establishment, row.identity)),
        "things": made_with(establishment, row.code),
        "history": [
            {
                "facts": _facts(teller, old, supplier),
                "at": teller.moment(old.recorded_at),
                "reason": new.reason,
            }
            for old, new in pairwise(history)
        ],
        "may_write": bool(set(roles) & set(WRITERS)),
        "is_maker": Role.MAKER in roles,
        "key": teller.key_rows(),
        "section": "today",
    }


def _facts(teller: Any, row: IngredientLot, supplier: str) -> list[tuple[str, str]]:
    return [
        (_("What it is"), str(IngredientKind(row.kind).label)),
        (_("Name"), row.name),
        (_("Lot code"), row.code),
        (_("Supplier"), supplier),
        (_("Received"), f"{teller.time(row.received_at)}, {teller.name(row.author_id)}"),
        (_("Use by"), row.use_by.isoformat() if row.use_by else "–"),
        (_("Quantity"), quantity_words(row)),
        (_("Storage"), row.storage or "–"),
        (_("Allergens"), row.allergens or "–"),
        (_("Certificate or specification"), row.certificate or "–"),
        *([(_("Late entry"), row.late_reason or row.reason)] if row.late else []),
    ]


def _ended_words(teller: Any, row: Any) -> str:
    told = {"how": str(EndedHow(row.how).label), "at": teller.time(row.ended_at), "why": row.reason or "–"}
    return _("%(at)s: %(how)s. %(why)s") % told


def receiving(
    request: HttpRequest, establishment: Establishment, original: IngredientLot | None = None
) -> Asking:
    """Ask for a lot as received, or for the correction of one."""
    about = known(establishment)
    suppliers = [(str(s.identity), s.name) for s in about.suppliers.values() if not s.closed]
    initial = _filled(establishment, original) if original else now_typed(establishment)

    def act(said: Typed) -> object:
        content = _content(request, establishment, said)
        told = {"original": original.pk} if original else {}
        claim = claim_of(request, establishment, "ingredient_lot", said, **told)
        about = {"content": content, "claim": claim, **who(request, establishment)}
        if original is None:
            return receive_ingredient(**about)
        return correct_ingredient(original=original, why=said.get("reason", ""), **about)

    def page() -> str:
        pk = original.identity if original else form_uuid(request)
        return reverse("ingredient", args=[establishment.slug, pk])

    listed = reverse("ingredients", args=[establishment.slug])
    return Asking(
        title=_("Correct %(name)s") % {"name": original.name} if original else _("Receive an ingredient"),
        intro=_("Cultures, rennet, salt, coatings, cloths, labels, packaging, chemicals and test kits."),
        make=lambda typed: IngredientForm(
            typed, initial=initial, suppliers=suppliers, changes=original is not None
        ),
        act=act,
        submit=_("Save"),
        done=_("The lot is recorded."),
        then=page,
        back=page() if original else listed,
        fields={"received_at": "on_time"},
        version=original.pk if original else None,
        units={"quantity": request.POST.get("unit", "")} if request.method == "POST" else {},
    )


def _content(request: HttpRequest, establishment: Establishment, said: Typed) -> IngredientContent:
    late = said.get("late_reason", "")
    try:
        supplier = UUID(said["supplier"]) if said.get("supplier", "").strip() else None
    except ValueError as error:
        raise BadInput(_("Choose a supplier of the list."), part="supplier") from error
    return IngredientContent(
        kind=said.get("kind", ""),
        name=said.get("name", ""),
        code=said.get("code", ""),
        received_at=moment(establishment, said, reason=late or said.get("reason", "")),
        supplier=supplier,
        use_by=day_of(establishment, said),
        quantity=said.get("quantity", ""),
        unit=said.get("unit", ""),
        storage=said.get("storage", ""),
        allergens=said.get("allergens", ""),
        certificate=said.get("certificate", ""),
        upload=upload_of(request),
        same_code="same_code" in said,
        late_reason=late,
        sure=sure(said, "quantity"),
    )


def day_of(establishment: Establishment, said: Typed) -> Any:
    """Read the last day of use that was typed."""
    return day_typed(establishment, said.get("use_by", ""), part="use_by")


def _filled(establishment: Establishment, row: IngredientLot) -> dict[str, str]:
    at = ZoneTime(zone_of(establishment)).local(row.received_at)
    found = {
        "kind": row.kind,
        "name": row.name,
        "code": row.code,
        "use_by": row.use_by.isoformat() if row.use_by else "",
        "quantity": row.quantity_text,
        "unit": row.quantity_unit,
        "supplier": str(row.supplier_id or ""),
        "on_date": f"{at:%Y-%m-%d}",
        "on_time": f"{at:%H:%M}",
    }
    return found | {
        name: getattr(row, name) for name in ("storage", "allergens", "certificate", "late_reason")
    }


def ending(request: HttpRequest, establishment: Establishment, row: IngredientLot) -> Asking:
    """Ask what became of a lot of which nothing is left."""

    def act(said: Typed) -> object:
        return end_ingredient(
            ingredient=row,
            how=said.get("how", ""),
            ended_at=moment(establishment, said, reason=said.get("why", "")),
            why=said.get("why", ""),
            claim=claim_of(request, establishment, "ingredient_ended", said, ingredient=row.identity),
            **who(request, establishment),
        )

    page = reverse("ingredient", args=[establishment.slug, row.identity])
    return Asking(
        title=_("Nothing left of %(name)s %(code)s") % {"name": row.name, "code": row.code},
        make=lambda typed: EndIngredientForm(typed, initial=now_typed(establishment)),
        act=act,
        submit=_("Record"),
        done=_("It is recorded."),
        then=lambda: page,
        back=page,
        fields={"ended_at": "on_time"},
    )
