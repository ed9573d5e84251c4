"""Prepares a copy of the demonstration for the tests of capture: a program run on the site's data folder.

A plan version comes into force at once with twelve points of the cold store and a check by exception due
now, whose label check requires a photo; a lot is packed, so that its label is due; there is a second maker.
"""

import copy
import json
import os
from datetime import UTC, datetime, timedelta


def prepare() -> None:
    """Put the plan of the stage into force and pack a lot."""
    from records.batches.services import EventContent, record_event, start_lot
    from safetyplan.establishments.models import Establishment, Person, Role
    from safetyplan.establishments.services import MemberSpec, add_person
    from safetyplan.integrity.models import SignatureProof
    from safetyplan.integrity.signatures import prove
    from safetyplan.plans.queries import draft_of
    from safetyplan.plans.services import approve_plan, revise, save_draft
    from tests.browser.conftest import PASSWORD
    from tests.builders import confirm_all
    from tests.cast import Cast

    class StageCast(Cast):
        """The people of the demonstration, with its password."""

        def proof(self, person: Person) -> SignatureProof:
            """Give the password again."""
            return prove(establishment=self.dairy, person=person, password=PASSWORD)

    dairy = Establishment.objects.get(slug="tarrowby")
    owner, maker = (Person.objects.get(username=name) for name in ("josse", "mirren"))
    cast = StageCast(dairy, owner, maker, maker, owner, maker, dairy, owner)
    add_person(
        establishment=dairy,
        by=owner,
        username="ansel",
        password=PASSWORD,
        member=MemberSpec("Ansel Reed", "AR", (Role.MAKER,)),
    )
    revise(establishment=dairy, by=owner)
    draft = draft_of(dairy)
    assert draft is not None
    document = json.loads(draft.text)
    set_scene(document)
    saved = save_draft(
        establishment=dairy, by=owner, text=json.dumps(document), reason="stage", revision=draft.revision
    )
    confirm_all(cast)
    approve_plan(
        establishment=dairy, proof=cast.proof(owner), revision=saved.revision, reason="Twelve points"
    )
    now = datetime.now(UTC)
    lot = start_lot(
        establishment=dairy, by=maker, code="TL-STAGE", product="TL", vat="Vat 1", milk="200", started_at=now
    )
    typed = (("pieces", "40"), ("mass", "8"))
    details = [{"name": name, "raw": raw, "unit": "", "confirmed": False} for name, raw in typed]
    record_event(
        establishment=dairy,
        by=maker,
        lot=lot,
        content=EventContent(event="packed", observed_at=now + timedelta(seconds=1), details=tuple(details)),
    )


def set_scene(document: dict[str, object]) -> None:
    """Let twelve points of the cold store and a check by exception be due soon; ask for photos of labels."""
    from zoneinfo import ZoneInfo

    from records.demonstration import tarrowby

    local = datetime.now(ZoneInfo(tarrowby.DETAILS.time_zone))
    later = local + timedelta(minutes=10)
    due = later if later.date() == local.date() else local.replace(hour=23, minute=59)
    controls: list[dict[str, object]] = document["controls"]  # type: ignore[assignment]
    # A check of its own: those of the demonstration may have been made this morning.
    shelves = copy.deepcopy(next(control for control in controls if control["code"] == "PRP1"))
    shelves |= {"code": "PRP9", "points": [f"Shelf {number}" for number in range(1, 13)]}
    monitoring: dict[str, object] = shelves["monitoring"]  # type: ignore[assignment]
    when: dict[str, object] = monitoring["when"]  # type: ignore[assignment]
    when |= {"times": [f"{due:%H:%M}"], "window_before_minutes": 240, "window_after_minutes": 240}
    walls = copy.deepcopy(shelves) | {"code": "PRP8", "points": [], "recording": "by_exception"}
    controls += [shelves, walls]
    for control in controls:
        if control["code"] == "PRP2":
            control["photo"] = "required"


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "safetyplan.settings")
    import django

    django.setup()
    prepare()
