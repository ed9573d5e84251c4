"""One real row of every guarded table, made by the services; and copies that are recorded properly."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any
from uuid import uuid4

from django.db import models, transaction

from records.batches.models import Lot
from records.batches.services import EventContent
from records.checks.instrument_checks import correct_check, record_check
from records.checks.services import correct_event, explain_check
from records.checks.voiding import void_event
from records.deviations.calculations import attach_calculation
from records.deviations.closing import close_deviation
from records.deviations.disposing import Line, dispose
from records.deviations.files import attach_file
from records.deviations.models import Deviation
from records.deviations.services import (
    add_affected_lot,
    confirm_hold,
    decide_recall,
    evaluate,
    find_cause,
    open_unforeseen,
    take_action,
)
from records.inspection.services import issue_print
from records.instruments.checking import CheckContent
from records.instruments.measured import Readings
from records.instruments.services import About, register_instrument
from records.links.services import LinkContent, correct_link
from records.signoff.release import dispatch_lot, record_left_on_hold, release_lot
from records.signoff.services import note_no_production, sign_day, undo_no_production
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.services import record_training, revoke_credential
from safetyplan.integrity import canonical, clock, guards, ledger
from safetyplan.integrity.kinds import Kind, register
from safetyplan.integrity.models import Entry, Recorded
from safetyplan.plans.confirming import keep_evidence, note_trigger, sign_duty
from safetyplan.plans.queries import in_force
from tests.builders import (
    HOLD_PARTS,
    T0,
    a_device,
    a_link,
    a_lot,
    a_photo,
    a_reading,
    an_event,
    at,
    day_slot,
    hours,
    lot_slot,
    plan_in_force,
)
from tests.cast import Cast, make_cast
from tests.records.batches.brewing import a_culture, with_cultures
from tests.records.batches.revised import SOUR, apply_to, revise, tightened
from tests.records.calculators.examples import EXAMPLES
from tests.records.things.stage import see_and_write, tend_a_brine
from tests.safetyplan.integrity.every_kind_looking_back import find_a_probe_wrong
from tests.safetyplan.integrity.every_kind_receiving import put_right, receive_and_refuse

MODELS = guards.guarded_models()
RECORDED = register.models()


def names(found: list[type[models.Model]]) -> list[str]:
    """Name models for the list of tests."""
    return [model.__name__ for model in found]


@dataclass(frozen=True)
class World:
    """Two dairies; each has at least one row of every guarded table."""

    cast: Cast
    other: Cast

    @property
    def dairy(self) -> Establishment:
        """Give the dairy under test."""
        return self.cast.dairy

    def row(self, model: type[models.Model], dairy: Establishment | None = None) -> Any:
        """Give the row of a guarded table with the most columns filled."""
        rows = self.rows(model, dairy or self.dairy)
        assert rows, f"the story makes no {model.__name__}: extend it"
        return max(rows, key=_filled)

    def rows(self, model: type[models.Model], dairy: Establishment) -> list[Any]:
        """Give a dairy's rows of a guarded table."""
        if model is Establishment:
            return [Establishment.objects.get(pk=dairy.pk)]
        return list(model._base_manager.filter(establishment=dairy).order_by("pk"))


def _filled(row: models.Model) -> int:
    return sum(getattr(row, f.attname) not in (None, "", "[]") for f in row._meta.concrete_fields)


def make_world() -> World:
    """Tell the story in two dairies."""
    return World(_told(make_cast("near")), _told(make_cast("second")))


def _told(cast: Cast) -> Cast:
    with at(cast.dairy, T0.replace(day=13)):
        _people(cast)
        plan_in_force(cast)
    lot, deviation = _make_and_miss(cast)
    tend_a_brine(cast, lot)
    see_and_write(cast)
    _finish(cast, lot, deviation)
    _let_go(cast, lot)
    _link(cast, lot)
    _revise(cast)
    with at(cast.dairy, hours(108)):
        _name_another(cast, lot)
    find_a_probe_wrong(cast, lot)
    receive_and_refuse(cast)
    put_right(cast)
    return cast


def _people(cast: Cast) -> None:
    record_training(
        establishment=cast.dairy,
        by=cast.owner,
        person=cast.maker,
        trained_on=date(2026, 5, 1),
        training_type="Dairy hygiene, one day",
        provider="A teacher",
    )
    lost = a_device(cast.dairy, cast.helper)
    revoke_credential(establishment=cast.dairy, by=cast.owner, credential=lost.credential, reason="lost")
    register_instrument(
        establishment=cast.dairy, by=cast.maker, code="T1", name="Thermometer", quantity="temperature"
    )
    register_instrument(establishment=cast.dairy, by=cast.maker, code="P1", name="pH meter", quantity="ph")
    _instruments(cast)
    for sunday in (date(2026, 5, 17), date(2026, 5, 10)):
        note_no_production(establishment=cast.dairy, by=cast.maker, day=sunday, why="Sunday")
    undo_no_production(establishment=cast.dairy, by=cast.maker, day=date(2026, 5, 10), why="a feast")
    keep_evidence(establishment=cast.dairy, by=cast.owner, name="trial.txt", content=b"24 vats\n")
    note_trigger(
        establishment=cast.dairy,
        by=cast.maker,
        trigger="equipment",
        text="A second vat",
        happened_on=date(2026, 5, 2),
    )
    sign_duty(
        establishment=cast.dairy,
        proof=cast.proof(cast.owner),
        duty="reanalysis",
        outcome="kept",
        text="Looked at with the new vat in mind: nothing changes",
        done_on=date(2026, 5, 3),
    )


def _instruments(cast: Cast) -> None:
    """Register a probe with all that is said of it, check it beside a reference, correct the check."""
    about = {"establishment": cast.dairy, "by": cast.maker, "quantity": "temperature", "tolerance": "0.5"}
    until = date(2027, 5, 1)
    certified = About(certificate="No. 7", certificate_until=until)
    reference = register_instrument(code="R1", name="Reference", about=certified, **about)
    said = About(
        maker="A maker",
        serial="S-9",
        place="Vat room",
        range_low="-20",
        range_high="110",
        resolution="0.1",
        method="reference",
        every="30",
        reference=reference.pk,
    )
    probe = register_instrument(code="T2", name="Probe", about=said, **about)
    found = Readings([{"true": "63.0", "shown": "63.9"}])
    left = Readings([{"true": "63.0", "shown": "63.1"}])
    content = CheckContent("reference", clock.now(cast.dairy), found, left=left, reference=reference.pk)
    content = replace(content, done="adjusted", note="In the vat")
    by = {"establishment": cast.dairy, "by": cast.maker}
    check = record_check(instrument=probe, content=content, **by).check
    correct_check(original=check, content=content, why="Note added", **by)


def _make_and_miss(cast: Cast) -> tuple[Lot, Deviation]:
    dairy = cast.dairy
    with at(dairy, hours(0.5)):
        phone = a_device(dairy, cast.maker)
        lot = a_lot(cast)
        a_reading(cast, lot_slot(lot, "OPRP3"), hours(0.4), temperature="3.8")
        cold = a_reading(cast, day_slot(T0, "PRP1"), hours(0.2), temperature="3.5").reading
        a_photo(cast, cold.pk)
        behind = canonical.instant(hours(0.5) - timedelta(days=1))
        phone.send(phone.reading(day_slot(T0, "PRP3"), hours(0.1), strength="150"), sent_at=behind)
    with at(dairy, hours(2)):
        a_reading(cast, lot_slot(lot, "CCP1"), hours(1.6), **HOLD_PARTS)
        starter = an_event(cast, lot, "starter_added", hours(2))
    with at(dairy, hours(17)):
        explain_check(establishment=dairy, by=cast.maker, slot=day_slot(T0, "PRP1", 1), why="Power cut")
        sign_day(establishment=dairy, proof=cast.proof(cast.reviewer), day=T0.date())
    with at(dairy, hours(18)):
        a_reading(cast, lot_slot(lot, "OPRP1"), hours(18), ph="5.12")
    with at(dairy, hours(26)):
        found = a_reading(cast, lot_slot(lot, "CCP2"), hours(26), ph="4.71")
        corrected = EventContent(
            event="starter_added",
            observed_at=hours(2) - timedelta(minutes=1),
            details=({"name": "culture", "raw": "MA K81", "unit": "", "confirmed": False},),
            late_reason="Written down wrongly",
            reason="Read from the wrong line",
        )
        correct_event(establishment=dairy, by=cast.maker, original=starter, content=corrected)
    assert found.deviation is not None
    return lot, found.deviation


def _finish(cast: Cast, lot: Lot, deviation: Deviation) -> None:
    dairy = cast.dairy
    about = {"establishment": dairy, "deviation": deviation}
    with at(dairy, hours(27)):
        confirm_hold(by=cast.maker, place="Cold store", tag="H-1", pieces="280", mass_typed="33.6", **about)
        take_action(by=cast.maker, text="Lot tagged and chilled", **about)
        attach_file(by=cast.maker, name="count.txt", content=b"40 per g at 24 h\n", **about)
        attach_calculation(
            by=cast.maker,
            calculator="brine",
            task="make",
            typed=EXAMPLES["brine", "make"],
            note="For the record",
            **about,
        )
    with at(dairy, hours(80)):
        evaluate(by=cast.owner, text="No growth towards toxin", evidence="40 per g at 24 h", **about)
        lines = [Line("release", "270", "32.4"), Line("destroy", "10", "1.2")]
        dispose(proof=cast.proof(cast.owner), lines=lines, **about)
        find_cause(
            by=cast.maker,
            cause="Door closer broken",
            prevention="Closer fixed",
            under_control="Next lot at pH 4.5",
            reanalysis=False,
            reanalysis_reason="Foreseen by the plan",
            **about,
        )
        reviewer = cast.proof(cast.reviewer)
        close_deviation(proof=reviewer, recording_error=False, why="Complete", **about)
        an_event(cast, lot, "packed", hours(79.9), pieces="280", mass="33.6")
        owner = cast.proof(cast.owner)
        release_lot(establishment=dairy, proof=owner, lot=lot, pieces="270", mass_typed="32.4")


def _name_another(cast: Cast, lot: Lot) -> None:
    """Open a deviation of something that is no lot, and find later that it concerns a lot."""
    about = {"establishment": cast.dairy, "by": cast.maker}
    version = in_force(cast.dairy, hours(108))
    assert version is not None
    opened = open_unforeseen(
        plan=version.plan(), lot=None, held_what="Brine of tank 1", description="A hose ran into it", **about
    )
    held = {"place": "Cellar", "tag": "H-9", "pieces": "", "mass_typed": "", "volume_typed": "400"}
    confirm_hold(deviation=opened, **held, **about)
    add_affected_lot(deviation=opened, lot=lot, why="Salted in it that day", hold_required=False, **about)


def _let_go(cast: Cast, lot: Lot) -> None:
    leaving = {"establishment": cast.dairy, "by": cast.maker, "lot": lot, "customer": "Corner shop"}
    with at(cast.dairy, hours(81)):
        dispatch_lot(pieces="200", mass_typed="24", **leaving)
        _gone, left = record_left_on_hold(pieces="5", mass_typed="0.6", **leaving)
        decide_recall(
            establishment=cast.dairy,
            proof=cast.proof(cast.owner),
            deviation=left,
            recall=False,
            why="Released before it was dispatched",
        )
        issue_print(establishment=cast.dairy, by=cast.owner, what="lot", subject=str(lot.pk))


def _link(cast: Cast, lot: Lot) -> None:
    """Make a second lot of the first one's whey, put the amount right, and void an event told by mistake."""
    by = {"establishment": cast.dairy, "by": cast.maker}
    with at(cast.dairy, hours(81.5)):
        whey_lot = a_lot(cast, "TL-0514", "TL", started=hours(81.4))
        link = a_link(cast, lot, whey_lot, hours(81.5), "150", note="Still warm", known=True)
        content = LinkContent("whey", "140", hours(81.5), late_reason="Counted again", known=True)
        correct_link(original=link, content=content, why="Read from the wrong tank", **by)
        told = an_event(cast, whey_lot, "starter_added", hours(81.5))
        void_event(original=told, why="Told of the wrong lot", **by)


def _revise(cast: Cast) -> None:
    """Approve a second version while a lot is open, and apply it to that lot."""
    with at(cast.dairy, hours(82)):
        lot = a_lot(cast, "TF-0517", started=hours(82))
        an_event(cast, lot, "starter_added", hours(82))
    with at(cast.dairy, hours(105)):
        a_reading(cast, lot_slot(lot, "CCP2"), hours(105), ph=SOUR)
    version = revise(cast, with_cultures(tightened()), hour=106)
    apply_to(cast, lot, version=version, hour=107)
    with at(cast.dairy, hours(108)):
        a_culture(cast, "C-7")
        brewed = a_lot(cast, "TF-0519", started=hours(108))
        an_event(cast, brewed, "starter_added", hours(108), **{"culture": "C-7", "culture.dose": "12.5"})


@contextmanager
def rolled_back() -> Iterator[None]:
    """Undo everything that the block does."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def kind_of(row: Recorded) -> Kind:
    """Find the kind of a recorded row."""
    entry = Entry._base_manager.get(pk=row.pk)
    kind = register.get(entry.kind, entry.version)
    assert kind is not None
    return kind


def copy_of(row: Recorded) -> Any:
    """Give an unsaved twin of a recorded row with another key and other unique values."""
    values = {f.attname: getattr(row, f.attname) for f in row._meta.concrete_fields}
    twin = type(row)(**values)
    twin.entry_id = uuid4()
    for f in _unique_fields(type(row)):
        setattr(twin, f.attname, _another(f, row))
    return twin


def _unique_fields(model: type[Recorded]) -> list[Any]:
    listed = {
        name
        for constraint in model._meta.constraints
        if isinstance(constraint, models.UniqueConstraint)
        for name in constraint.fields
    }
    alone = [f for f in model._meta.concrete_fields if f.unique or f.name in listed]
    return [f for f in alone if f.name not in ("entry", "establishment")]


def _another(f: Any, row: Recorded) -> Any:
    value = getattr(row, f.attname)
    if f.name == "supersedes":
        return _newest(row)
    if f.name == "person":
        return value
    if f.related_model is Entry:  # a record of any kind that none of these is about
        about = type(row)._base_manager.values(f.attname)
        free = Entry._base_manager.filter(establishment=row.establishment_id).exclude(pk__in=about)
        return free.values_list("pk", flat=True).first()
    if isinstance(f, models.ForeignKey):
        return append_copy(getattr(row, f.name)).pk
    if isinstance(f, models.UUIDField):
        return uuid4()
    if isinstance(f, models.DateField):
        return value + timedelta(days=400)
    return value + 1000 if isinstance(value, int) else f"{value[:20]}9"


def _newest(row: Any) -> Any:
    rows = type(row)._base_manager.filter(establishment=row.establishment_id)
    replaced = rows.exclude(supersedes=None).values("supersedes")
    return rows.exclude(pk__in=replaced).values_list("pk", flat=True).first()


def append_copy(row: Recorded, **changes: Any) -> Any:
    """Record a twin of a row through the ledger, as a service does."""
    twin = copy_of(row)
    claim = None
    if "credential_id" in changes:
        text = canonical.dumps({"uuid": str(twin.entry_id)}).decode()
        claim = ledger.Claim(text, changes.pop("credential_id"), "signature")
    for name, value in changes.items():
        setattr(twin, name, value)
    dairy, kind = row.establishment, kind_of(row)
    ledger.append(kind=kind, row=twin, establishment=dairy, author=row.author, claim=claim)
    return twin
