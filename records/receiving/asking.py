"""The pages that ask something about milk: what each shows, does and leads to."""

from typing import Any, cast
from uuid import UUID

from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.batches.posting import claim_of, moment, now_typed
from records.checks.models import PaperSheet
from records.checks.paper import done_by, enter_load
from records.checks.receipts import correct_fill, correct_receipt, fill_lot, take_load
from records.receiving.forms import (
    INITIALS,
    CorrectMilkForm,
    MilkOfLotForm,
    NoticeForm,
    ReasonForm,
    RefuseForm,
)
from records.receiving.load_page import open_load_choices
from records.receiving.milk_form import FIELDS, Source, content_of, make_form, source_of, units
from records.receiving.models import AuthorityNotice, LotMilk, MilkLoad, MilkRefused
from records.receiving.posting import Asking, sure
from records.receiving.refusing import (
    NoticeContent,
    RefusalContent,
    correct_refusal,
    note_authority,
    refuse_milk,
)
from records.receiving.services import void_load
from records.receiving.typed import moment_typed
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.queries import details_of, zone_of
from safetyplan.integrity import clock
from safetyplan.integrity.form_claims import form_uuid
from safetyplan.integrity.form_refusals import Typed
from safetyplan.integrity.refusals import BadInput

MILK_PAGE = "records/receiving/milk.html"


def who(request: HttpRequest, establishment: Establishment) -> dict[str, Any]:
    """Give what every service is told."""
    return {"establishment": establishment, "by": cast(Person, request.user)}


def page_of(load: MilkLoad) -> str:
    """Give the address of a load."""
    return reverse("load", args=[load.establishment.slug, load.identity])


def new_load(
    request: HttpRequest, establishment: Establishment, source: Source, sheet: PaperSheet | None = None
) -> Asking:
    """Ask for a load of milk; the checks of the plan follow it. sheet: it stands on paper, entered later."""

    def act(said: Typed) -> object:
        initials = said.get(INITIALS, "")
        if sheet is not None:
            said = {**said, "late_reason": done_by(establishment, sheet, initials)}
        content = content_of(establishment, source, said)
        about = {"supplier": source.supplier.identity, "herd": content.herd or ""}
        about |= {"sheet": sheet.number, "photo": sheet.sha256} if sheet else {}
        claim = claim_of(request, establishment, "milk_load", said, **about)
        told = {"content": content, "claim": claim, **who(request, establishment)}
        return enter_load(sheet=sheet, initials=initials, **told) if sheet else take_load(**told)

    back = reverse("milk_choose", args=[establishment.slug])
    if sheet is not None:
        back = reverse("paper_sheet", args=[establishment.slug, sheet.pk])

    return Asking(
        title=_("Receive milk"),
        make=lambda typed: make_form(establishment, source, typed, sheet_day=sheet.day if sheet else None),
        act=act,
        submit=_("Save the receipt"),
        done=_("The load is recorded."),
        then=lambda: back if sheet else reverse("load_next", args=[establishment.slug, form_uuid(request)]),
        back=back,
        template=MILK_PAGE,
        fields={**FIELDS, "initials": INITIALS},
        units=units(establishment),
        context={"source": source, "notice": _notice(source)},
    )


def _notice(source: Source) -> str:
    today = source.about.clock.local(clock.now(source.supplier.establishment)).date()
    herd = source.herd.identity if source.herd else None
    return source.about.notice(source.supplier.identity, herd, today)


def corrected_load(request: HttpRequest, establishment: Establishment, load: MilkLoad) -> Asking:
    """Ask for the correction of a receipt."""
    source = source_of(establishment, load.supplier_id, load.herd_id)
    assert source is not None

    def act(said: Typed) -> object:
        content = content_of(establishment, source, said)
        claim = claim_of(request, establishment, "milk_load", said, load=load.pk)
        why = said.get("reason", "")
        return correct_receipt(
            load=load, content=content, why=why, claim=claim, **who(request, establishment)
        )

    return Asking(
        title=_("Correct the receipt of load %(code)s") % {"code": load.code},
        make=lambda typed: make_form(establishment, source, typed, load),
        act=act,
        submit=_("Save the correction"),
        done=_("The correction is recorded. The first receipt stays readable."),
        then=lambda: page_of(load),
        back=page_of(load),
        template=MILK_PAGE,
        fields=FIELDS,
        units=units(establishment),
        context={"source": source, "notice": ""},
        version=load.pk,
    )


def voided_load(request: HttpRequest, establishment: Establishment, load: MilkLoad) -> Asking:
    """Ask why a receipt should not be there."""

    def act(said: Typed) -> object:
        claim = claim_of(request, establishment, "milk_load", said, load=load.pk, void="yes")
        return void_load(load=load, why=said.get("reason", ""), claim=claim, **who(request, establishment))

    return Asking(
        title=_("Void the receipt of load %(code)s") % {"code": load.code},
        intro=_("Only for a receipt that should not be there. What was opened for it stays open."),
        make=ReasonForm,
        act=act,
        submit=_("Void the receipt"),
        done=_("The receipt is void."),
        then=lambda: page_of(load),
        back=page_of(load),
    )


def refusal(
    request: HttpRequest,
    establishment: Establishment,
    load: MilkLoad,
    original: MilkRefused | None = None,
) -> Asking:
    """Ask for the refusal of milk, or for its correction."""
    symbol = UNITS[load.volume_unit].symbol
    changes = original is not None
    initial = _filled_refusal(establishment, original) if original else now_typed(establishment)

    def act(said: Typed) -> object:
        content = _refusal_content(establishment, said)
        about = {"load": load.identity, "original": original.pk if original else ""}
        claim = claim_of(request, establishment, "milk_refused", said, **about)
        if original is None:
            return refuse_milk(load=load, content=content, claim=claim, **who(request, establishment))
        why = said.get("reason", "")
        return correct_refusal(
            original=original, content=content, why=why, claim=claim, **who(request, establishment)
        )

    return Asking(
        title=_("Refuse milk of load %(code)s") % {"code": load.code},
        intro=_("Refused milk cannot go into a vat. Keep it apart until it has left or is destroyed."),
        make=lambda typed: RefuseForm(typed, initial=initial, unit=symbol, changes=changes),
        act=act,
        submit=_("Record the refusal"),
        done=_("The refusal is recorded."),
        then=lambda: page_of(load),
        back=page_of(load),
        fields={"refused_at": "on_time"},
        units={"volume": load.volume_unit},
    )


def _refusal_content(establishment: Establishment, said: Typed) -> RefusalContent:
    late = said.get("late_reason", "")
    return RefusalContent(
        outcome=said.get("outcome", ""),
        why=said.get("why", ""),
        told=said.get("told", ""),
        refused_at=moment(establishment, said, reason=late or said.get("reason", "")),
        volume=said.get("volume", ""),
        late_reason=late,
        sure=sure(said, "volume"),
    )


def _filled_refusal(establishment: Establishment, row: MilkRefused) -> dict[str, str]:
    at = ZoneTime(zone_of(establishment)).local(row.refused_at)
    return {
        "volume": row.volume_text,
        "outcome": row.outcome,
        "why": row.why,
        "told": row.told,
        "on_date": f"{at:%Y-%m-%d}",
        "on_time": f"{at:%H:%M}",
        "late_reason": row.late_reason,
    }


def notice(
    request: HttpRequest,
    establishment: Establishment,
    load: MilkLoad,
    original: AuthorityNotice | None = None,
) -> Asking:
    """Ask for what the authority has to be told, or was told."""
    initial = _filled_notice(establishment, original) if original else {}

    def act(said: Typed) -> object:
        about = {"load": load.identity, "original": original.pk if original else ""}
        return note_authority(
            load=load,
            content=_notice_content(establishment, said),
            supersedes=original,
            why=said.get("reason", ""),
            claim=claim_of(request, establishment, "authority_notice", said, **about),
            **who(request, establishment),
        )

    return Asking(
        title=_("Tell the authority about load %(code)s") % {"code": load.code},
        intro=_("Whether and how fast it has to be told, your authority says: name the legal basis here."),
        make=lambda typed: NoticeForm(typed, initial=initial, changes=original is not None),
        act=act,
        submit=_("Save"),
        done=_("It is recorded."),
        then=lambda: page_of(load),
        back=page_of(load),
        fields={"deadline": "deadline_time", "informed_at": "informed_time"},
    )


def _notice_content(establishment: Establishment, said: Typed) -> NoticeContent:
    def at(name: str, *, ahead: bool) -> Any:
        day, time = said.get(f"{name}_date", ""), said.get(f"{name}_time", "")
        if not day.strip() and not time.strip():
            return None
        part = {"deadline": "deadline", "informed": "informed_at"}[name]
        fold = said.get(f"{name}_time_fold", "")
        return moment_typed(establishment, day, time, part=part, fold=fold, ahead=ahead)

    return NoticeContent(
        authority=said.get("authority", ""),
        legal_basis=said.get("legal_basis", ""),
        deadline=at("deadline", ahead=True),
        informed_at=at("informed", ahead=False),
        reference=said.get("reference", ""),
    )


def _filled_notice(establishment: Establishment, row: AuthorityNotice) -> dict[str, str]:
    local = ZoneTime(zone_of(establishment)).local
    found = {"authority": row.authority, "legal_basis": row.legal_basis, "reference": row.reference}
    for name, at in (("deadline", row.deadline), ("informed", row.informed_at)):
        if at is not None:
            found |= {f"{name}_date": f"{local(at):%Y-%m-%d}", f"{name}_time": f"{local(at):%H:%M}"}
    return found


def milk_of_lot(request: HttpRequest, establishment: Establishment, lot: Lot) -> Asking:
    """Ask which load went into a lot, and how much of it."""
    unit = details_of(establishment).volume_unit
    choices = open_load_choices(establishment)

    def act(said: Typed) -> object:
        try:
            load = UUID(said.get("load", ""))
        except ValueError as error:
            raise BadInput(_("Choose a load of milk."), part="load") from error
        return fill_lot(
            lot=lot,
            load=load,
            volume=said.get("volume", ""),
            sure=sure(said, "volume"),
            claim=claim_of(request, establishment, "lot_milk", said, lot=lot.pk),
            **who(request, establishment),
        )

    page = reverse("lot", args=[establishment.slug, lot.pk])
    return Asking(
        title=_("Milk of lot %(code)s") % {"code": lot.code},
        intro=_("Which load went into the vat, and how much of it. Several loads are named one by one."),
        make=lambda typed: MilkOfLotForm(typed, loads=choices, unit=UNITS[unit].symbol),
        act=act,
        submit=_("Save"),
        done=_("The milk of the lot is recorded."),
        then=lambda: page,
        back=page,
        units={"volume": unit},
    )


def corrected_milk(request: HttpRequest, establishment: Establishment, original: LotMilk) -> Asking:
    """Ask for the correction of how much of a load went into a lot."""

    def act(said: Typed) -> object:
        return correct_fill(
            original=original,
            volume=said.get("volume", ""),
            why=said.get("reason", ""),
            sure=sure(said, "volume"),
            claim=claim_of(request, establishment, "lot_milk", said, original=original.pk),
            **who(request, establishment),
        )

    page = reverse("lot", args=[establishment.slug, original.lot_id])
    told = {"load": original.load.code, "lot": original.lot.code}
    symbol = UNITS[original.volume_unit].symbol
    return Asking(
        title=_("Milk of load %(load)s in lot %(lot)s") % told,
        make=lambda typed: CorrectMilkForm(typed, initial={"volume": original.volume_text}, unit=symbol),
        act=act,
        submit=_("Save the correction"),
        done=_("The correction is recorded."),
        then=lambda: page,
        back=page,
        units={"volume": original.volume_unit},
    )
