"""What a capture page suggests: lots of ingredients and shared things in use, none past its day."""

from datetime import date

from django.urls import reverse

from records.checks.suggesting import suggestions
from records.receiving.ingredient_services import end_ingredient
from records.things.services import Birth, make_thing
from safetyplan.integrity import clock
from tests.builders import T0, a_lot, at, hours, plan_in_force
from tests.cast import Cast
from tests.records.batches.brewing import a_culture, with_cultures
from tests.web import signed_in


def test_lots_in_use_are_suggested_the_one_to_be_used_first_on_top(cast: Cast) -> None:
    with at(cast.dairy, T0.replace(day=13)):
        a_culture(cast, "K83")
        a_culture(cast, "K81", use_by=date(2026, 6, 1))
        a_culture(cast, "K80", use_by=date(2026, 5, 13))
        gone = a_culture(cast, "K79")
        a_culture(cast, "R12", kind="rennet")
        end_ingredient(
            establishment=cast.dairy,
            by=cast.maker,
            ingredient=gone,
            how="used_up",
            ended_at=clock.now(cast.dairy),
        )
        make_thing(
            establishment=cast.dairy,
            by=cast.maker,
            birth=Birth(kind="brine", code="B-1", name="Brine", begun_at=clock.now(cast.dairy)),
        )

    found = suggestions(cast.dairy, hours(2))

    assert [one["code"] for one in found["culture"]] == ["K81", "K83"]
    assert "2026-06-01" in found["culture"][0]["label"]
    assert [one["code"] for one in found["rennet"]] == ["R12"]
    assert [one["code"] for one in found["brine"]] == ["B-1"]


def test_the_capture_page_of_an_event_carries_them(cast: Cast) -> None:
    with at(cast.dairy, T0.replace(day=13)):
        plan_in_force(cast, with_cultures())
        a_culture(cast)
    with at(cast.dairy, hours(2)):
        lot = a_lot(cast, started=hours(1.9))
        page = signed_in(cast.maker).get(
            reverse("lot_event", args=[cast.dairy.slug, lot.pk, "starter_added"])
        )

    culture, dose = page.context["capture_data"]["parts"]
    assert [one["code"] for one in culture["suggested"]] == ["K81"]
    assert (dose["name"], dose["entry"], dose["unit"]["code"]) == ("culture.dose", "number", "g")
