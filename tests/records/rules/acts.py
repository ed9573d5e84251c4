"""What people do with a lot, each as a function of the scene under the clock that is set."""

from collections.abc import Callable
from datetime import date

from records.batches.services import EventContent, record_event, start_lot
from records.checks.services import (
    ReadingContent,
    correct_event,
    correct_reading,
    explain_check,
    record_reading,
    void_reading,
)
from records.checks.tick import tick
from records.deviations.closing import close_deviation
from records.deviations.disposing import Line, dispose
from records.deviations.services import (
    confirm_hold,
    decide_recall,
    evaluate,
    find_cause,
    open_unforeseen,
    take_action,
)
from records.signoff.release import dispatch_lot, record_left_on_hold, release_lot
from records.signoff.services import note_no_production, sign_day
from tests.builders import HOLD_PARTS, T0, hours
from tests.records.rules.scene import Scene

Act = Callable[[Scene], object]
Told = tuple[tuple[float, Act], ...]
LATE = "Written on paper first"
WHY = "Read the wrong line"


def typed(parts: dict[str, str]) -> list[dict[str, object]]:
    """Write parts as a form sends them."""
    return [{"name": name, "raw": raw, "unit": "", "confirmed": False} for name, raw in parts.items()]


def starts_lot() -> Act:
    """Start the lot."""
    return lambda scene: start_lot(
        establishment=scene.dairy,
        by=scene.by("maker"),
        code="TF-0514",
        product="TF",
        vat="Vat 1",
        milk="212",
        started_at=T0,
    )


def reads(
    control: str,
    observed: float | None = None,
    *,
    late: str = "",
    ordinal: int | str = 0,
    day: int | None = None,
    **parts: str,
) -> Act:
    """Record a check, observed now unless said otherwise."""

    def act(scene: Scene) -> object:
        slot = scene.slot(control, ordinal, date(2026, 5, day) if day else None)
        moment = hours(scene.now if observed is None else observed)
        content = ReadingContent(slot=slot, observed_at=moment, parts=typed(parts), late_reason=late)
        return record_reading(establishment=scene.dairy, by=scene.by("maker"), content=content)

    return act


def corrects(
    *, observed: float | None = None, entry: int = -1, why: str = WHY, control: str = "", **parts: str
) -> Act:
    """Correct a reading of the watched check (the newest by default), keeping its time by default."""

    def act(scene: Scene) -> object:
        original = scene.readings()[entry]
        content = ReadingContent(
            slot=scene.slot(control) if control else original.slot,
            observed_at=original.observed_at if observed is None else hours(observed),
            parts=typed(parts),
        )
        maker = scene.by("maker")
        return correct_reading(
            establishment=scene.dairy, by=maker, original=original, content=content, why=why
        )

    return act


def voids(*, entry: int = -1, control: str = "", why: str = "Entered for another vat") -> Act:
    """Void a reading of the watched check."""
    return lambda scene: void_reading(
        establishment=scene.dairy, by=scene.by("maker"), original=scene.readings(control)[entry], why=why
    )


def happens(event: str, observed: float | None = None, *, late: str = "", **details: str) -> Act:
    """Record an event of the lot."""
    given = {"starter_added": {"culture": "MA K81"}, "packed": {"pieces": "280", "mass": "33.6"}}

    def act(scene: Scene) -> object:
        content = EventContent(
            event=event,
            observed_at=hours(scene.now if observed is None else observed),
            details=tuple(typed({**given.get(event, {}), **details})),
            late_reason=late,
        )
        maker = scene.by("maker")
        return record_event(establishment=scene.dairy, by=maker, lot=scene.lot, content=content)

    return act


def retimes(event: str, observed: float, *, why: str = "The watch was wrong") -> Act:
    """Correct the time of an event."""

    def act(scene: Scene) -> object:
        content = EventContent(
            event=event,
            observed_at=hours(observed),
            details=tuple(typed({"culture": "MA K81"})),
            late_reason=why,
            reason=why,
        )
        maker, original = scene.by("maker"), scene.event(event)
        return correct_event(establishment=scene.dairy, by=maker, original=original, content=content)

    return act


def explains(control: str, ordinal: int = 0) -> Act:
    """Say why a check was not made."""
    return lambda scene: explain_check(
        establishment=scene.dairy,
        by=scene.by("maker"),
        slot=scene.slot(control, ordinal),
        why="The power was off",
    )


def ticks(times: int = 1) -> Act:
    """Let the clock open what must be open."""
    return lambda scene: [tick(scene.dairy) for _ in range(times)]


def signs(note: str = "") -> Act:
    """Sign the watched day."""
    return lambda scene: sign_day(
        establishment=scene.dairy, proof=scene.proof("reviewer"), day=scene.day, note=note
    )


def says_no_production() -> Act:
    """Note the watched day as one without production."""
    return lambda scene: note_no_production(
        establishment=scene.dairy, by=scene.by("maker"), day=scene.day, why="Holiday"
    )


def reports(description: str = "A pane of glass broke over the vat") -> Act:
    """Open a deviation that the plan did not foresee."""
    return lambda scene: open_unforeseen(
        establishment=scene.dairy,
        by=scene.by("maker"),
        plan=scene.lot.plan_version.plan(),
        lot=scene.lot,
        description=description,
    )


def holds(pieces: str = "280", mass: str = "33.6", why: str = "") -> Act:
    """Confirm that the product stands apart."""
    return lambda scene: confirm_hold(
        establishment=scene.dairy,
        by=scene.by("maker"),
        deviation=scene.deviation,
        place="Cold store, top shelf",
        tag="H-1",
        pieces=pieces,
        mass_typed=mass,
        why=why,
    )


def remedies() -> Act:
    """Record a corrective action."""
    return lambda scene: take_action(
        establishment=scene.dairy,
        by=scene.by("maker"),
        deviation=scene.deviation,
        text="Lot tagged and chilled",
    )


def evaluates() -> Act:
    """Evaluate the held product."""
    return lambda scene: evaluate(
        establishment=scene.dairy,
        by=scene.by("owner"),
        deviation=scene.deviation,
        text="The meter was checked against both buffers",
        evidence="Photograph of the display at hour 26",
    )


def disposes(*lines: Line) -> Act:
    """Sign what becomes of the held product."""
    return lambda scene: dispose(
        establishment=scene.dairy, proof=scene.proof("owner"), deviation=scene.deviation, lines=lines
    )


def understands() -> Act:
    """Record cause and prevention."""
    return lambda scene: find_cause(
        establishment=scene.dairy,
        by=scene.by("maker"),
        deviation=scene.deviation,
        cause="Door closer broken",
        prevention="Closer fixed",
        under_control="Next lot at pH 4.5",
        reanalysis=False,
        reanalysis_reason="Foreseen by the plan",
    )


def closes(*, recording_error: bool = False) -> Act:
    """Close the newest deviation as its reviewer."""
    return lambda scene: close_deviation(
        establishment=scene.dairy,
        proof=scene.proof("reviewer"),
        deviation=scene.deviation,
        recording_error=recording_error,
        why="The display was photographed" if recording_error else "Complete",
    )


def recalls(recall: bool = True) -> Act:
    """Decide whether what left is called back."""
    return lambda scene: decide_recall(
        establishment=scene.dairy,
        proof=scene.proof("owner"),
        deviation=scene.deviation,
        recall=recall,
        why="Still on the shelf of one shop",
    )


def releases(pieces: str = "280", mass: str = "33.6") -> Act:
    """Release a quantity of the lot."""
    return lambda scene: release_lot(
        establishment=scene.dairy,
        proof=scene.proof("owner"),
        lot=scene.lot,
        pieces=pieces,
        mass_typed=mass,
    )


def sends(pieces: str = "280", mass: str = "33.6") -> Act:
    """Record what leaves."""
    return lambda scene: dispatch_lot(
        establishment=scene.dairy,
        by=scene.by("maker"),
        lot=scene.lot,
        customer="Corner shop",
        pieces=pieces,
        mass_typed=mass,
    )


def admits_sent(pieces: str = "100", mass: str = "12") -> Act:
    """Record that goods left anyway."""
    return lambda scene: record_left_on_hold(
        establishment=scene.dairy,
        by=scene.by("maker"),
        lot=scene.lot,
        customer="Corner shop",
        pieces=pieces,
        mass_typed=mass,
    )


def by_others(act: Act) -> Act:
    """Let the usual people, not the actor, do something."""

    def done(scene: Scene) -> object:
        acting, scene.acting = scene.acting, False
        try:
            return act(scene)
        finally:
            scene.acting = acting

    return done


STARTED: Told = ((0.1, starts_lot()),)
HEATED: Told = (*STARTED, (1.6, reads("CCP1", **HOLD_PARTS)))
SOURING: Told = (*HEATED, (2, happens("starter_added")))
ACID: Told = (*SOURING, (25.5, reads("CCP2", ph="4.48")))
NOT_ACID: Told = (*SOURING, (26, reads("CCP2", ph="4.71")))
PACKED: Told = ((80, happens("packed")),)
RELEASED: Told = (*ACID, *PACKED, (81, releases()))
SENT: Told = (*RELEASED, (82, sends()))


def settled(hour: float, *lines: Line, pieces: str = "280", mass: str = "33.6") -> Told:
    """Hold, act, evaluate, dispose, understand and close, all at one hour."""
    steps = (holds(pieces, mass), remedies(), evaluates(), disposes(*lines), understands(), closes())
    return tuple((hour, step) for step in steps)
