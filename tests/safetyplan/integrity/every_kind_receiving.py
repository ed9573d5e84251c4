"""The part of the story that happens at the door: suppliers, milk, ingredients; and small corrections."""

from datetime import date

from records.batches.milk import correct_milk, put_milk
from records.batches.models import Lot
from records.checks.corrections import make_correction
from records.checks.receipts import correct_receipt
from records.receiving.ingredient_services import (
    IngredientContent,
    correct_ingredient,
    end_ingredient,
    receive_ingredient,
)
from records.receiving.models import Herd, IngredientLot, Supplier, TreatedAnimal
from records.receiving.refusing import (
    NoticeContent,
    RefusalContent,
    correct_refusal,
    note_authority,
    refuse_milk,
)
from records.receiving.services import LoadContent, correct_load, receive_load
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
from records.receiving.typed import Upload
from tests.builders import a_lot, a_reading, at, day_slot, hours
from tests.builders import plan_in_force as approve_plan
from tests.cast import Cast
from tests.records.receiving.stage import open_dairy, plan

REPORT = Upload("herd.txt", b"Herd free of brucellosis\n")


def receive_and_refuse(cast: Cast) -> None:
    """Tell everything that can come in and go out at the door, each once and each corrected."""
    with at(cast.dairy, hours(83)):
        source = _source(cast)
        kit = _ingredients(cast, source[0])
        _milk(cast, source, kit, a_lot(cast, "TF-0518", started=hours(83)))


def put_right(cast: Cast) -> None:
    """Tell of a prerequisite outside its limit, and of a receipt whose correction judges a reading again."""
    dairy = cast.dairy
    with at(dairy, hours(108)):
        approve_plan(cast, plan())
    door = open_dairy(cast, "Valley farm")
    with at(dairy, hours(109)):
        warm = a_reading(cast, day_slot(hours(109), "PRP1", "extra"), hours(108.9), temperature="8.5")
        make_correction(
            establishment=dairy,
            by=cast.maker,
            reading=warm.reading,
            text="Door closed",
            action_code="PRP1-1",
            no_recheck="Display broken",
        )
        load = door.load("M 2", 109)
        door.read(load, "OPRP5", 109, used="20:00")
        content = door.content(hour=109, milkings=[hours(60)])
        correct_receipt(
            establishment=dairy, by=cast.maker, load=load, content=content, why="An older milking"
        )


def _source(cast: Cast) -> tuple[Supplier, Herd, TreatedAnimal]:
    about = {"establishment": cast.dairy, "by": cast.maker}
    supplier = save_supplier(name="Hill farm", gives_milk=True, **about)
    save_supplier(name="Hill Farm", address="Hill", gives_milk=True, supplier=supplier, why="Spelt", **about)
    herd = save_herd(supplier=supplier, name="Goats", species="goat", **about)
    save_herd(supplier=supplier, name="The goats", species="goat", herd=herd, why="Its name", **about)
    owner = {"establishment": cast.dairy, "by": cast.owner, "supplier": supplier, "why": "Visited"}
    set_approval(status="approved", **owner)
    set_approval(status="on_condition", herd=herd, valid_until=date(2027, 1, 1), **owner)
    content = CertificateContent("Brucellosis", date(2027, 1, 1), "BR 1", herd=herd, upload=REPORT)
    first = save_certificate(supplier=supplier, content=content, **about)
    save_certificate(supplier=supplier, content=content, original=first, why="Number was wrong", **about)
    dose = TreatmentContent("No. 12", "Antibiotic", hours(70), hours(200))
    treated = note_treatment(herd=herd, content=dose, **about)
    vet = "The vet's written opinion"
    ended = end_treatment(establishment=cast.dairy, by=cast.owner, original=treated, why=vet)
    return supplier, herd, ended


def _ingredients(cast: Cast, supplier: Supplier) -> IngredientLot:
    about = {"establishment": cast.dairy, "by": cast.maker}
    content = IngredientContent(
        kind="kit",
        name="Inhibitor test",
        code="K 77",
        received_at=hours(82.9),
        supplier=supplier.pk,
        use_by=date(2027, 3, 1),
        quantity="20",
        unit="count",
        storage="fridge",
        allergens="none",
        certificate="C 1",
        upload=REPORT,
    )
    kit = receive_ingredient(content=content, **about)
    correct_ingredient(original=kit, content=content, why="Storage was missing", **about)
    end_ingredient(ingredient=kit, how="discarded", ended_at=hours(83), why="Strip torn", **about)
    return kit


def _milk(cast: Cast, source: tuple[Supplier, Herd, TreatedAnimal], kit: IngredientLot, lot: Lot) -> None:
    supplier, herd, treated = source
    about = {"establishment": cast.dairy, "by": cast.maker}
    content = LoadContent(
        supplier=supplier.pk,
        herd=herd.pk,
        species="goat",
        milkings=[hours(71), hours(82)],
        received_at=hours(82.95),
        volume="220",
        code="M 1",
        tank="Tank 1",
        kit=kit.pk,
        details={"smell": "clean"},
        statements={f"treated_{treated.pk}": "kept_out"},
    )
    load = receive_load(content=content, **about)
    load = correct_load(load=load, content=content, why="Second milking was missing", **about)
    refused = RefusalContent("returned", "Dirty can", "The farmer", hours(83), volume="20")
    first = refuse_milk(load=load, content=refused, **about)
    correct_refusal(original=first, content=refused, why="Measured again", **about)
    told = NoticeContent("Food authority", "As the plan says", hours(100), hours(83), "R 1")
    notice = note_authority(load=load, content=told, **about)
    note_authority(load=load, content=told, supersedes=notice, why="Reference came later", **about)
    into = put_milk(lot=lot, load=load.identity, volume="200", **about)
    correct_milk(original=into, volume="190", why="Dipstick read again", **about)
