"""What the benchmark measures: two dairies in one scratch database, one with many records, one with few."""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from django.db import transaction

from records.batches.queries import open_lots
from records.checks.due import lot_states
from records.checks.models import Reading
from records.checks.services import ReadingContent, record_reading
from records.checks.slots import day_slot_id
from records.demonstration import tarrowby
from records.signoff.queries import day_sheet
from records.today.queries import today
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Establishment, Membership, Person
from safetyplan.establishments.queries import zone_of
from safetyplan.installation import prepare_database, prepare_folder
from safetyplan.integrity import clock, ledger
from safetyplan.integrity.kinds import register
from safetyplan.integrity.models import Entry
from safetyplan.integrity.verification import verify
from safetyplan.integrity.verifier import leaf_hash

FEW = 1000
HASHED = 100_000  # bodies kept in memory for the chain alone


@dataclass
class Side:
    """One dairy of the measurement and the acts that are timed on it."""

    dairy: Establishment
    maker: Person
    now: datetime
    written: int = 0

    def _clock(self) -> ZoneTime:
        return ZoneTime(zone_of(self.dairy))

    def day_sheet(self) -> None:
        """Compose the sheet of the last day."""
        local = self._clock()
        sheet = day_sheet(self.dairy, local.local(self.now).date(), local, self.now)
        sheet.expected()

    def today(self) -> None:
        """Compose the page of today."""
        today(self.dairy, self._clock(), self.now)

    def due_list(self) -> None:
        """Compose the due list."""
        for states in lot_states(self.dairy, open_lots(self.dairy), self.now).values():
            for state in states:
                _ = state.status

    def record(self) -> None:
        """Record ten checks, each in its own transaction."""
        for _ in range(10):
            self.written += 1
            day = self._clock().local(self.now).date()
            content = ReadingContent(
                slot=day_slot_id(day, "PRP1", "extra"),
                observed_at=self.now + timedelta(seconds=self.written),
                parts=[{"name": "temperature", "raw": "3.6", "unit": "", "confirmed": False}],
            )
            with clock.demonstration_clock(self.dairy, self.now + timedelta(minutes=5)):
                record_reading(establishment=self.dairy, by=self.maker, content=content)


@dataclass
class Place:
    """The scratch database."""

    large: Side
    small: Side
    bodies: list[bytes] = field(default_factory=list)
    hashes: list[str] = field(default_factory=list)


def build(count: int) -> Place:
    """Tell the invented month twice and fill one of the dairies up to a number of records."""
    prepare_folder()
    prepare_database()
    now = datetime.now(UTC)
    sides = []
    for name in ("large", "small"):
        dairy = tarrowby.tell(now=now, slug=name, suffix=f"-{name}")
        maker = Membership.objects.of(dairy).get(initials="MO").person
        sides.append(Side(dairy, maker, now))
    fill(sides[0], count)
    fill(sides[1], FEW)
    entries = Entry.objects.of(sides[0].dairy).order_by("sequence").values_list("body", "hash")[:HASHED]
    bodies, hashes = zip(*[(bytes(body), value) for body, value in entries], strict=True)
    return Place(sides[0], sides[1], list(bodies), list(hashes))


def fill(side: Side, count: int) -> None:
    """Copy one real reading again and again, at earlier times, up to a number of records."""
    kind = register.get("reading", 1)
    assert kind is not None
    pattern = Reading.objects.of(side.dairy).filter(control="PRP1").select_related("plan_version")[0]
    columns = [f.attname for f in Reading._meta.concrete_fields if f.attname != "entry_id"]
    missing = count - ledger.head(side.dairy)[0]
    while missing > 0:
        with transaction.atomic():
            items = []
            for number in range(min(missing, 2000)):
                row = Reading(**{name: getattr(pattern, name) for name in columns})
                row.observed_at = side.now - timedelta(days=40, minutes=missing - number)
                row.slot = day_slot_id(row.observed_at.date(), "PRP1", "extra")
                items.append((kind, row, None))
            ledger.append_many(establishment=side.dairy, author=side.maker, items=items, at=side.now)
        missing -= 2000


def small_and_large(place: Place) -> tuple[Side, Side]:
    """Give both sides."""
    return place.small, place.large


def chain(place: Place) -> None:
    """Check the hash of every body."""
    for body, value in zip(place.bodies, place.hashes, strict=True):
        if leaf_hash(body).hex() != value:
            raise ValueError("the chain is broken")


def verify_all(place: Place) -> None:
    """Check everything recorded for the large dairy."""
    found = verify(place.large.dairy)
    if found:
        raise ValueError(found[0].message)
