"""The stage of deviations that concern several lots: three lots of one day, one of them sold already."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.http import HttpResponse
from django.urls import reverse

from records.batches.models import Dispatch, Lot
from records.deviations.closing import close_deviation
from records.deviations.disposing import Line, dispose
from records.deviations.models import Cause, Closure, Deviation, Disposition, HoldConfirmed
from records.deviations.queries import DeviationState, state_of
from records.deviations.services import (
    confirm_hold,
    decide_recall,
    evaluate,
    find_cause,
    open_deviation,
    take_action,
)
from records.signoff.kinds import DISPATCH
from safetyplan.establishments.models import Person
from safetyplan.integrity import ledger
from safetyplan.integrity.form_claims import new_uuid
from tests.builders import a_lot, an_event, at, hours
from tests.cast import Cast
from tests.records.deviations.stage import CAUSE, EVALUATED
from tests.web import signed_in

CODES = ("TF-0501", "TF-0502", "TF-0503")


@dataclass(frozen=True)
class Several:
    """Three lots and one deviation that concerns them."""

    cast: Cast
    lots: Sequence[Lot]
    deviation: Deviation

    def state(self) -> DeviationState:
        """Give what is recorded about the deviation."""
        return state_of(self.cast.dairy, self.deviation)

    def hold(self, lot: Lot | None, pieces: str = "100", mass: str = "12", **more: str) -> HoldConfirmed:
        """Confirm the hold of one lot."""
        with at(self.cast.dairy, hours(30)):
            return confirm_hold(
                establishment=self.cast.dairy,
                by=self.cast.maker,
                deviation=self.deviation,
                lot=lot,
                place="Cold store",
                tag=f"H-{lot.code[-1] if lot else 0}",
                pieces=pieces,
                mass_typed=mass,
                **more,
            )

    def evaluate(self) -> None:
        """Record an evaluation of everything."""
        with at(self.cast.dairy, hours(31)):
            evaluate(establishment=self.cast.dairy, by=self.cast.owner, deviation=self.deviation, **EVALUATED)

    def dispose(self, lot: Lot | None, *lines: Line) -> Disposition:
        """Sign what becomes of one lot; all of it is destroyed unless lines are given."""
        with at(self.cast.dairy, hours(32)):
            return dispose(
                establishment=self.cast.dairy,
                proof=self.cast.proof(self.cast.owner),
                deviation=self.deviation,
                lot=lot,
                lines=lines or [Line("destroy", "100", "12")],
            )

    def understand(self) -> None:
        """Record an action and the cause."""
        about = {"establishment": self.cast.dairy, "by": self.cast.maker, "deviation": self.deviation}
        with at(self.cast.dairy, hours(33)):
            take_action(text="Brine made anew", **about)
            find_cause(**{**CAUSE, "reanalysis": False}, **about)  # type: ignore[arg-type]

    def recall(self) -> None:
        """Sign that nothing is called back."""
        with at(self.cast.dairy, hours(33)):
            proof = self.cast.proof(self.cast.owner)
            about = {"establishment": self.cast.dairy, "proof": proof, "deviation": self.deviation}
            decide_recall(recall=False, why="Eaten and tested: nothing found", **about)

    def close(self) -> Closure:
        """Close the deviation as its reviewer."""
        with at(self.cast.dairy, hours(34)):
            return close_deviation(
                establishment=self.cast.dairy,
                proof=self.cast.proof(self.cast.reviewer),
                deviation=self.deviation,
                recording_error=False,
                why="All of it is done",
            )

    def url(self, step: str = "") -> str:
        """Give the address of the deviation or of one of its steps."""
        name = f"deviation_{step}" if step else "deviation"
        return reverse(name, args=[self.cast.dairy.slug, self.deviation.pk])

    def get(self) -> HttpResponse:
        """Open the page as the owner."""
        with at(self.cast.dairy, hours(34)):
            return signed_in(self.cast.owner).get(self.url())

    def post(self, person: Person, step: str, **typed: str) -> HttpResponse:
        """Send a form of the page with a fresh identity."""
        with at(self.cast.dairy, hours(34)):
            return signed_in(person).post(self.url(step), {"uuid": new_uuid(), **typed})


def three_lots(cast: Cast) -> list[Lot]:
    """Make three lots of a hundred pieces each."""
    with at(cast.dairy, hours(26)):
        lots = [a_lot(cast, code, started=hours(25.8)) for code in CODES]
        for lot in lots:
            an_event(cast, lot, "packed", hours(25.9), pieces="100", mass="12")
    return lots


def sold(cast: Cast, lot: Lot, pieces: int = 100, mass: str = "12") -> None:
    """Record that a lot has left, as it stands in the ledger after a dispatch."""
    row = Dispatch(
        lot=lot,
        customer="Corner shop",
        pieces=pieces,
        mass_text=mass,
        left_at=hours(26),
        left_on_hold=False,
        note="",
    )
    with at(cast.dairy, hours(26)):
        ledger.append(kind=DISPATCH, row=row, establishment=cast.dairy, author=cast.maker)


def several(cast: Cast, lots: Sequence[Lot], held_what: str = "", cause: Cause = Cause.UNFORESEEN) -> Several:
    """Open a deviation of a weak brine that concerns several lots."""
    with at(cast.dairy, hours(27)):
        opened = open_deviation(
            establishment=cast.dairy,
            by=cast.maker,
            cause=cause,
            plan=None,
            control=None,
            lots=lots,
            why_lots="Salted in it since the last good reading.",
            held_what=held_what,
            description="Brine 16.1 %: a rinse hose was left running into the tank.",
        )
    return Several(cast, lots, opened)
