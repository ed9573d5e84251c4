"""The pages that ask something about a supplier: what each shows, does and leads to."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _

from records.batches.posting import claim_of
from records.receiving.asking import who
from records.receiving.forms import (
    ApprovalForm,
    CertificateForm,
    EndTreatmentForm,
    HerdForm,
    SupplierForm,
    TreatmentForm,
)
from records.receiving.known import Known
from records.receiving.models import Certificate, Herd, Supplier, TreatedAnimal
from records.receiving.posting import Asking, upload_of
from records.receiving.supplier_services import (
    CertificateContent,
    TreatmentContent,
    end_treatment,
    note_treatment,
    save_certificate,
    save_herd,
    save_supplier,
    set_approval,
)
from records.receiving.typed import day_typed, moment_typed
from safetyplan.establishments.models import Establishment
from safetyplan.integrity.form_claims import form_uuid
from safetyplan.integrity.form_refusals import Typed
from safetyplan.integrity.refusals import BadInput


def _page(supplier: Supplier) -> str:
    return reverse("supplier", args=[supplier.establishment.slug, supplier.identity])


def _herds(about: Known, supplier: Supplier) -> list[tuple[str, str]]:
    return [(str(herd.identity), herd.name) for herd in about.herds_of(supplier.identity)]


def _herd(about: Known, supplier: Supplier, text: str) -> Herd | None:
    if not text.strip():
        return None
    try:
        found = about.herds.get(UUID(text))
    except ValueError:
        found = None
    if found is None or found.supplier_id != supplier.identity:
        raise BadInput(_("Choose a herd of this supplier."), part="herd")
    return found


def supplier(request: HttpRequest, establishment: Establishment) -> Asking:
    """Ask for a new supplier."""

    def act(said: Typed) -> object:
        claim = claim_of(request, establishment, "supplier", said)
        return save_supplier(claim=claim, **_said(said), **who(request, establishment))

    return Asking(
        title=_("Add a supplier"),
        make=SupplierForm,
        act=act,
        submit=_("Add the supplier"),
        done=_("The supplier is recorded. It still has to be approved."),
        then=lambda: reverse("supplier", args=[establishment.slug, form_uuid(request)]),
        back=reverse("suppliers", args=[establishment.slug]),
    )


def _said(said: Typed) -> dict[str, Any]:
    return {
        "name": said.get("name", ""),
        "address": said.get("address", ""),
        "gives_milk": "gives_milk" in said,
        "closed": "closed" in said,
    }


def changed_supplier(
    request: HttpRequest, establishment: Establishment, row: Supplier, about: Known
) -> Asking:
    """Ask for a change to a supplier."""
    initial = {name: getattr(row, name) for name in ("name", "address", "gives_milk", "closed")}

    def act(said: Typed) -> object:
        claim = claim_of(request, establishment, "supplier", said, original=row.pk)
        why = said.get("reason", "")
        return save_supplier(supplier=row, why=why, claim=claim, **_said(said), **who(request, establishment))

    return Asking(
        title=_("Change %(name)s") % {"name": row.name},
        make=lambda typed: SupplierForm(typed, initial=initial, changes=True),
        act=act,
        submit=_("Save the change"),
        done=_("The change is recorded."),
        then=lambda: _page(row),
        back=_page(row),
        version=row.pk,
    )


def herd(
    request: HttpRequest,
    establishment: Establishment,
    of: Supplier,
    about: Known,
    original: Herd | None = None,
) -> Asking:
    """Ask for a herd, or for a change to one."""
    names = ("name", "species", "closed")
    initial = {name: getattr(original, name) for name in names} if original else {}

    def act(said: Typed) -> object:
        told = {"supplier": of.identity, "original": original.pk if original else ""}
        return save_herd(
            supplier=of,
            name=said.get("name", ""),
            species=said.get("species", ""),
            closed="closed" in said,
            herd=original,
            why=said.get("reason", ""),
            claim=claim_of(request, establishment, "herd", said, **told),
            **who(request, establishment),
        )

    title = _("Change %(name)s") % {"name": original.name} if original else _("Add a herd")
    return Asking(
        title=f"{title} · {of.name}",
        make=lambda typed: HerdForm(typed, initial=initial, changes=original is not None),
        act=act,
        submit=_("Save the herd"),
        done=_("The herd is recorded."),
        then=lambda: _page(of),
        back=_page(of),
        version=original.pk if original else None,
    )


def approval(request: HttpRequest, establishment: Establishment, of: Supplier, about: Known) -> Asking:
    """Ask how a supplier or herd stands."""

    def act(said: Typed) -> object:
        return set_approval(
            supplier=of,
            herd=_herd(about, of, said.get("herd", "")),
            status=said.get("status", ""),
            valid_until=day_typed(establishment, said.get("valid_until", ""), part="valid_until"),
            why=said.get("why", ""),
            claim=claim_of(request, establishment, "supplier_approval", said, supplier=of.identity),
            **who(request, establishment),
        )

    return Asking(
        title=_("Approve or suspend %(name)s") % {"name": of.name},
        intro=_("Every change is kept. A load of a suspended supplier can only be refused, or it deviates."),
        make=lambda typed: ApprovalForm(typed, herds=_herds(about, of)),
        act=act,
        submit=_("Record how it stands"),
        done=_("It is recorded."),
        then=lambda: _page(of),
        back=_page(of),
    )


def certificate(
    request: HttpRequest,
    establishment: Establishment,
    of: Supplier,
    about: Known,
    original: Certificate | None = None,
) -> Asking:
    """Ask for a certificate, or for a change to one."""
    initial = _filled(original) if original else {}

    def act(said: Typed) -> object:
        content = CertificateContent(
            name=said.get("name", ""),
            reference=said.get("reference", ""),
            herd=_herd(about, of, said.get("herd", "")),
            valid_until=day_typed(establishment, said.get("valid_until", ""), part="valid_until"),
            upload=upload_of(request),
            withdrawn="withdrawn" in said,
        )
        told = {"supplier": of.identity, "original": original.pk if original else ""}
        return save_certificate(
            supplier=of,
            content=content,
            original=original,
            why=said.get("reason", ""),
            claim=claim_of(request, establishment, "health_certificate", said, **told),
            **who(request, establishment),
        )

    return Asking(
        title=f"{_('Health certificate')} · {of.name}",
        make=lambda typed: CertificateForm(
            typed, initial=initial, herds=_herds(about, of), changes=original is not None
        ),
        act=act,
        submit=_("Save the certificate"),
        done=_("The certificate is recorded."),
        then=lambda: _page(of),
        back=_page(of),
    )


def _filled(row: Certificate) -> dict[str, Any]:
    return {
        "name": row.name,
        "reference": row.reference,
        "herd": str(row.herd_id or ""),
        "valid_until": row.valid_until.isoformat(),
        "withdrawn": row.withdrawn,
    }


def treated(
    request: HttpRequest,
    establishment: Establishment,
    of: Supplier,
    about: Known,
    original: TreatedAnimal | None = None,
) -> Asking:
    """Ask for an animal whose milk stays out, or for a correction."""
    initial = _filled_treatment(about, original) if original else {}

    def act(said: Typed) -> object:
        found = _herd(about, of, said.get("herd", ""))
        if found is None:
            raise BadInput(_("Choose a herd of this supplier."), part="herd")
        told = {"supplier": of.identity, "original": original.pk if original else ""}
        return note_treatment(
            herd=found,
            content=_treatment(establishment, said),
            original=original,
            why=said.get("reason", ""),
            claim=claim_of(request, establishment, "treated_animal", said, **told),
            **who(request, establishment),
        )

    return Asking(
        title=f"{_('Treated animal')} · {of.name}",
        intro=_("Until when its milk stays out stands on the drug's label or in the vet's note."),
        make=lambda typed: TreatmentForm(
            typed, initial=initial, herds=_herds(about, of), changes=original is not None
        ),
        act=act,
        submit=_("Save"),
        done=_("The animal is recorded."),
        then=lambda: _page(of),
        back=_page(of),
        fields={"last_dose_at": "dose_time", "milk_out_until": "out_time"},
    )


def _treatment(establishment: Establishment, said: Typed) -> TreatmentContent:
    dose = (said.get("dose_date", ""), said.get("dose_time", ""))
    out = (said.get("out_date", ""), said.get("out_time", ""))
    return TreatmentContent(
        animal=said.get("animal", ""),
        drug=said.get("drug", ""),
        last_dose_at=moment_typed(
            establishment, *dose, part="last_dose_at", fold=said.get("dose_time_fold", "")
        ),
        milk_out_until=moment_typed(
            establishment, *out, part="milk_out_until", fold=said.get("out_time_fold", ""), ahead=True
        ),
    )


def _filled_treatment(about: Known, row: TreatedAnimal) -> dict[str, str]:
    dose, out = about.clock.local(row.last_dose_at), about.clock.local(row.milk_out_until)
    return {
        "herd": str(row.herd_id),
        "animal": row.animal,
        "drug": row.drug,
        "dose_date": f"{dose:%Y-%m-%d}",
        "dose_time": f"{dose:%H:%M}",
        "out_date": f"{out:%Y-%m-%d}",
        "out_time": f"{out:%H:%M}",
    }


def treatment_ended(
    request: HttpRequest, establishment: Establishment, of: Supplier, about: Known, original: TreatedAnimal
) -> Asking:
    """Ask why an animal's milk comes in again before its time."""

    def act(said: Typed) -> object:
        return end_treatment(
            original=original,
            why=said.get("reason", ""),
            claim=claim_of(request, establishment, "treated_animal", said, original=original.pk),
            **who(request, establishment),
        )

    return Asking(
        title=_("Let the milk of %(animal)s in again") % {"animal": original.animal},
        intro=f"{about.treated_words(original)} {_('Earlier only on a qualified opinion.')}",
        make=EndTreatmentForm,
        act=act,
        submit=_("Let it in from now on"),
        done=_("It is recorded."),
        then=lambda: _page(of),
        back=_page(of),
    )
