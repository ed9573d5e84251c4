"""One of everything at the door, for the table of addresses."""

from datetime import date
from typing import Any

from records.batches.milk import put_milk
from records.batches.models import Lot
from records.receiving.ingredient_services import IngredientContent, receive_ingredient
from records.receiving.refusing import NoticeContent, RefusalContent, note_authority, refuse_milk
from records.receiving.services import LoadContent, receive_load
from records.receiving.supplier_services import (
    CertificateContent,
    TreatmentContent,
    note_treatment,
    save_certificate,
    save_herd,
    save_supplier,
    set_approval,
)
from records.receiving.typed import Upload
from tests.builders import T0, a_reading, at, day_slot, hours
from tests.cast import Cast

FILE = Upload("herd.txt", b"Herd free of brucellosis\n")


def at_the_door(cast: Cast, lot: Lot) -> dict[str, list[Any]]:
    """Record one of everything; give the arguments of each address."""
    about = {"establishment": cast.dairy, "by": cast.maker}
    with at(cast.dairy, hours(2)):
        supplier = save_supplier(name="Hill Farm", gives_milk=True, **about)
        herd = save_herd(supplier=supplier, name="The goats", species="goat", **about)
        set_approval(
            establishment=cast.dairy, by=cast.owner, supplier=supplier, status="approved", why="Visited"
        )
        certificate = save_certificate(
            supplier=supplier,
            content=CertificateContent("Brucellosis", date(2027, 1, 1), "BR 1", herd, FILE),
            **about,
        )
        dose = TreatmentContent("No. 12", "Antibiotic", hours(1), hours(90))
        treated = note_treatment(herd=herd, content=dose, **about)
        kit = receive_ingredient(
            content=IngredientContent(
                kind="kit", name="Inhibitor test", code="K 77", received_at=hours(1.7), upload=FILE
            ),
            **about,
        )
        load = receive_load(content=_load(supplier, herd, kit, treated), **about)
        refused = RefusalContent("returned", "Dirty can", "The farmer", hours(2), "20")
        refusal = refuse_milk(load=load, content=refused, **about)
        notice = note_authority(load=load, content=NoticeContent("Authority", "The plan"), **about)
        poured = put_milk(lot=lot, load=load.pk, volume="100", **about)
        warm = a_reading(cast, day_slot(T0, "PRP1", "extra"), hours(1.9), temperature="8.5").reading
    of_supplier = ("supplier", "supplier_change", "supplier_approve", "herd_new")
    named = {key: [supplier.pk] for key in (*of_supplier, "certificate_new", "treated_new", "milk_new")}
    named |= {key: [certificate.pk] for key in ("certificate_change", "certificate_file")}
    named |= {key: [treated.pk] for key in ("treated_change", "treated_end")}
    named |= {key: [load.pk] for key in ("load", "load_next", "load_correct", "load_void")}
    named |= {key: [load.pk] for key in ("load_refuse", "load_authority")}
    of_kit = ("ingredient", "ingredient_correct", "ingredient_end", "ingredient_file")
    named |= {key: [kit.pk] for key in of_kit}
    return named | {
        "herd_change": [herd.pk],
        "refusal_correct": [refusal.pk],
        "authority_change": [notice.pk],
        "lot_milk": [lot.pk],
        "lot_milk_correct": [poured.pk],
        "correction": [warm.pk],
    }


def _load(supplier: Any, herd: Any, kit: Any, treated: Any) -> LoadContent:
    return LoadContent(
        supplier=supplier.pk,
        herd=herd.pk,
        species="goat",
        milkings=[hours(1)],
        received_at=hours(1.8),
        volume="220",
        code="M-1",
        kit=kit.pk,
        details={"smell": "clean"},
        statements={f"treated_{treated.pk}": "kept_out"},
    )
