"""What stands in a dairy before a make: suppliers, ingredient lots, instruments, vats, rooms, a brine."""

from datetime import timedelta
from typing import Any

from records.demonstration.acts import Stage
from records.instruments.services import About, register_instrument
from records.receiving.ingredient_services import IngredientContent, receive_ingredient
from records.receiving.supplier_services import (
    CertificateContent,
    save_certificate,
    save_herd,
    save_supplier,
    set_approval,
)
from records.things.services import Birth, RecipeLine


def stock(stage: Stage) -> None:
    """Tell how everything that a make needs came into the dairy."""
    with stage.teller.at(stage.teller.moment(stage.story["begins"], "09:00")):
        _suppliers(stage)
        _ingredients(stage)
        _instruments(stage)
    _things(stage)
    for day, code in stage.story["checks_of_instruments"]:
        stage.check_instrument(code, stage.teller.moment(day, "11:00"), "piet")


def _suppliers(stage: Stage) -> None:
    until = stage.teller.today + timedelta(days=200)
    about: dict[str, Any] = {"establishment": stage.dairy, "by": stage.people["tomas"]}
    for name, address, herd_name, certificate in stage.story["suppliers"]:
        supplier = save_supplier(name=name, address=address, gives_milk=True, **about)
        herd = save_herd(supplier=supplier, name=herd_name, species="cow", **about)
        set_approval(supplier=supplier, status="approved", why="Farm and papers looked at", **about)
        content = CertificateContent(certificate, until, herd=herd)
        save_certificate(supplier=supplier, content=content, **about)
        stage.farms[name] = (supplier, herd)


def _ingredients(stage: Stage) -> None:
    received = stage.teller.moment(stage.story["begins"], "08:50")
    for kind, name, code, days, storage in stage.story["ingredients"]:
        row = receive_ingredient(
            establishment=stage.dairy,
            by=stage.people["tomas"],
            content=IngredientContent(
                kind=kind,
                name=name,
                code=code,
                received_at=received,
                use_by=stage.teller.today + timedelta(days=days),
                storage=storage,
            ),
        )
        if kind == "kit":
            stage.kit = row.pk


def _instruments(stage: Stage) -> None:
    for code, name, quantity, tolerance, about in stage.story["instruments"]:
        stage.instruments[code] = register_instrument(
            establishment=stage.dairy,
            by=stage.people["tomas"],
            code=code,
            name=name,
            quantity=quantity,
            tolerance=tolerance,
            about=About(**about),
        )


def _things(stage: Stage) -> None:
    for day, kind, code, name, recipe in stage.story["things"]:
        begun = stage.teller.moment(day, "09:10")
        stage.make_thing(Birth(kind, code, name, begun, [RecipeLine(*line) for line in recipe]), "adaeze")
