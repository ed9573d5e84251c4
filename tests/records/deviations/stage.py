"""The stage of the page tests: a slow vat found at 24 hours, and how far the work on it has come."""

from dataclasses import dataclass

from django.http import HttpResponse
from django.urls import reverse

from records.batches.models import Lot
from records.deviations.disposing import Line, dispose
from records.deviations.models import Deviation
from records.deviations.services import confirm_hold, evaluate, find_cause, take_action
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity.form_claims import new_uuid
from tests.builders import HOLD_PARTS, a_lot, a_reading, an_event, at, hours, lot_slot
from tests.cast import PASSWORD, Cast
from tests.web import signed_in

HELD = {"place": "Cold store, top shelf", "tag": "H-1", "pieces": "280", "mass": "33.6"}
EVALUATED = {"text": "No growth towards toxin", "evidence": "Count 40 per g at 24 h"}
ALL_LINES = (("release", "262", "31.4"), ("used_for_test", "8", "1.0"), ("destroy", "10", "1.2"))
CAUSE = {
    "cause": "Door closer broken",
    "prevention": "Closer mended",
    "under_control": "Next lot at pH 4.5",
    "reanalysis": "no",
    "reanalysis_reason": "Foreseen by the plan",
}


@dataclass(frozen=True)
class Stage:
    """A lot with an open deviation of the dairy."""

    cast: Cast
    lot: Lot
    deviation: Deviation

    @property
    def dairy(self) -> Establishment:
        """Give the dairy."""
        return self.cast.dairy

    def url(self, step: str = "") -> str:
        """Give the address of the deviation or of one of its steps."""
        name = f"deviation_{step}" if step else "deviation"
        return reverse(name, args=[self.dairy.slug, self.deviation.pk])

    def get(self, person: Person) -> HttpResponse:
        """Open the page as a person."""
        with at(self.dairy, hours(28)):
            return signed_in(person).get(self.url())

    def post(self, person: Person, step: str, **typed: str) -> HttpResponse:
        """Send a form of the page as a person, with a fresh identity."""
        with at(self.dairy, hours(28)):
            return signed_in(person).post(self.url(step), {"uuid": new_uuid(), **typed})

    def hold(self, **changed: str) -> None:
        """Confirm the hold through the service."""
        typed = {**HELD, **changed}
        with at(self.dairy, hours(27)):
            confirm_hold(
                establishment=self.dairy,
                by=self.cast.maker,
                deviation=self.deviation,
                place=typed["place"],
                tag=typed["tag"],
                pieces=typed["pieces"],
                mass_typed=typed["mass"],
            )

    def evaluate(self) -> None:
        """Record an evaluation through the service."""
        with at(self.dairy, hours(27)):
            evaluate(establishment=self.dairy, by=self.cast.owner, deviation=self.deviation, **EVALUATED)

    def dispose(self) -> None:
        """Sign the disposition of everything through the service."""
        with at(self.dairy, hours(27)):
            dispose(
                establishment=self.dairy,
                proof=self.cast.proof(self.cast.owner),
                deviation=self.deviation,
                lines=[Line(*line) for line in ALL_LINES],
            )

    def act(self, by: Person | None = None) -> None:
        """Record an action through the service."""
        with at(self.dairy, hours(27)):
            take_action(
                establishment=self.dairy,
                by=by or self.cast.maker,
                deviation=self.deviation,
                text="Lot chilled",
            )

    def finish(self) -> None:
        """Bring the work to where only the review is missing."""
        self.hold()
        self.act()
        self.evaluate()
        self.dispose()
        with at(self.dairy, hours(27)):
            find_cause(
                establishment=self.dairy,
                by=self.cast.maker,
                deviation=self.deviation,
                **{**CAUSE, "reanalysis": False},  # type: ignore[arg-type]
            )


def slow_vat(cast: Cast, code: str = "TF-0514") -> Stage:
    """Make a lot whose curd was not sour after 24 hours."""
    with at(cast.dairy, hours(2)):
        lot = a_lot(cast, code, started=hours(1.9))
        an_event(cast, lot, "starter_added", hours(2))
    with at(cast.dairy, hours(26)):
        found = a_reading(cast, lot_slot(lot, "CCP2"), hours(26), ph="4.71")
    assert found.deviation is not None
    return Stage(cast, lot, found.deviation)


def cold_vat(cast: Cast, code: str = "TF-0515") -> Stage:
    """Make a lot whose milk was not heated enough: the plan's hazard there is removed by heating again."""
    with at(cast.dairy, hours(2)):
        lot = a_lot(cast, code, started=hours(1.9))
    with at(cast.dairy, hours(4)):
        parts = {**HOLD_PARTS, "hold_start": "11:10", "hold_end": "11:42", "product": "61.0"}
        found = a_reading(cast, lot_slot(lot, "CCP1"), hours(4), **parts)
    assert found.deviation is not None
    return Stage(cast, lot, found.deviation)


def signature(**typed: str) -> dict[str, str]:
    """Give a form with the password of the cast."""
    return {**typed, "password": PASSWORD}
