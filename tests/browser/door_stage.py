"""Records one of each at the door, of shared things and of paper, on a site's data folder, for its pages.

Run as a program; prints the addresses that show them, one a line.
"""

import os
import sys
from datetime import UTC, datetime, timedelta
from typing import Any


def record() -> list[str]:
    """Record one of each; give the addresses."""
    from records.receiving.ingredient_services import IngredientContent, receive_ingredient
    from records.receiving.services import LoadContent, receive_load
    from records.receiving.supplier_services import (
        TreatmentContent,
        note_treatment,
        save_herd,
        save_supplier,
        set_approval,
    )
    from safetyplan.establishments.models import Establishment, Person
    from tests.cast import Cast

    dairy = Establishment.objects.get(slug="tarrowby")
    owner, maker = (Person.objects.get(username=name) for name in ("josse", "mirren"))
    now = datetime.now(UTC)
    about: dict[str, Any] = {"establishment": dairy, "by": maker}
    supplier = save_supplier(name="Hill Farm", gives_milk=True, **about)
    herd = save_herd(supplier=supplier, name="The goats", species="goat", **about)
    set_approval(establishment=dairy, by=owner, supplier=supplier, status="approved", why="Visited in April")
    dose = TreatmentContent("No. 12", "Antibiotic", now - timedelta(days=4), now - timedelta(hours=1))
    treated = note_treatment(herd=herd, content=dose, **about)
    culture = IngredientContent(kind="culture", name="Culture", code="K 77", received_at=now)
    ingredient = receive_ingredient(content=culture, **about)
    milk = LoadContent(
        supplier=supplier.pk,
        herd=herd.pk,
        species="goat",
        milkings=[now - timedelta(hours=2)],
        received_at=now,
        volume="220",
        code="M-1",
        statements={f"treated_{treated.pk}": "kept_out"},
    )
    load = receive_load(content=milk, **about)
    parts = ("", "correct/", "void/", "refuse/", "authority/")
    of_load = [f"receiving/loads/{load.pk}/{part}" for part in parts]
    of_supplier = [f"suppliers/{supplier.pk}/{part}" for part in ("", "change/", "herds/", "treated/")]
    return [
        *of_load,
        *of_supplier,
        f"receiving/milk/{supplier.pk}/",
        f"suppliers/{supplier.pk}/certificates/",
        f"herds/{herd.pk}/",
        f"treated/{treated.pk}/",
        *(f"ingredients/{ingredient.pk}/{part}" for part in ("", "correct/", "end/")),
        *of_things(Cast(dairy, owner, maker, maker, owner, maker, dairy, owner), now),
    ]


def of_things(cast: Any, now: datetime) -> list[str]:
    """Record a brine with a lot in it, a round and a sheet; give their addresses."""
    from records.batches.models import Lot
    from tests.records.things.stage import a_round, a_sheet, a_thing, put_in

    brine = a_thing(cast, begun=now - timedelta(minutes=30), late_reason="Wet hands")
    lot = Lot.objects.of(cast.dairy).order_by("-started_at")[0]
    (use,) = put_in(cast, brine, lot, start=now - timedelta(minutes=5), late_reason="Wet hands")
    round_, sheet = a_round(cast, now), a_sheet(cast, day=now.date())
    tasks = (
        "",
        "change/",
        "end/",
        "correct/",
        "use/",
        f"uses/{use.pk}/out/",
        f"entries/{use.pk}/void/",
        f"entries/{use.pk}/correct/",
    )
    return [
        *(f"things/{brine.id}/{task}" for task in tasks),
        f"rounds/{round_.pk}/",
        f"paper/{sheet.pk}/",
        f"lots/{lot.pk}/milk/",
    ]


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "safetyplan.settings")
    import django

    django.setup()
    sys.stdout.write("\n".join(record()))
