"""Tells a story through the services, under the demonstration clock."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from pathlib import Path
from uuid import UUID

from django.conf import settings
from django.db import transaction

from records.batches.models import Lot, LotEvent
from records.batches.services import EventContent, record_event, start_lot
from records.checks.services import ReadingContent, Recorded, correct_reading, record_reading
from records.checks.slots import day_slot_id, lot_slot_id
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity import clock
from safetyplan.integrity.models import SignatureProof
from safetyplan.integrity.signatures import PASSWORD as METHOD

FOLDER = Path(settings.BASE_DIR) / "fixtures" / "demo"
WRITING = timedelta(minutes=2)


@dataclass
class Teller:
    """A dairy, its people, and the present moment of the story."""

    dairy: Establishment
    maker: Person
    owner: Person
    local: ZoneTime
    today: date

    def moment(self, day: int, clock_time: str) -> datetime:
        """Give an instant: days from today, local time."""
        return self.local.instant(self.today + timedelta(days=day), time.fromisoformat(clock_time))

    @contextmanager
    def at(self, moment: datetime) -> Iterator[None]:
        """Let the story stand at a moment."""
        with clock.demonstration_clock(self.dairy, moment), transaction.atomic():
            yield

    def proof(self, person: Person) -> SignatureProof:
        """Give a person's proof for one signature; the story knows that it is them."""
        return SignatureProof.objects.create(person=person, method=METHOD, made_at=clock.now(self.dairy))

    def start(self, product: str, started: datetime, milk: str) -> Lot:
        """Start a lot whose code is its product and day."""
        code = f"{product}-{self.local.local(started):%m%d}"
        with self.at(started + WRITING):
            return start_lot(
                establishment=self.dairy,
                by=self.maker,
                code=code,
                product=product,
                vat="Vat 1",
                milk=milk,
                started_at=started,
            )

    def event(self, lot: Lot, event: str, observed: datetime, **details: str) -> LotEvent:
        """Record an event two minutes after it happened."""
        content = EventContent(
            event=event,
            observed_at=observed,
            details=tuple(
                {"name": n, "raw": raw, "unit": "", "confirmed": True} for n, raw in details.items()
            ),
        )
        with self.at(observed + WRITING):
            return record_event(establishment=self.dairy, by=self.maker, lot=lot, content=content)

    def read(
        self,
        slot: str,
        observed: datetime,
        parts: dict[str, str],
        *,
        written: datetime | None = None,
        late: str = "",
        instrument: UUID | None = None,
    ) -> Recorded:
        """Record a reading, two minutes after it was taken unless `written` says when."""
        content = replace(self._content(slot, observed, late, parts), instrument=instrument)
        with self.at(written or observed + WRITING):
            return record_reading(establishment=self.dairy, by=self.maker, content=content)

    def correct(
        self, original: Recorded, written: datetime, why: str, observed: datetime, **parts: str
    ) -> Recorded:
        """Correct a reading."""
        content = self._content(original.reading.slot, observed, "", parts)
        with self.at(written):
            return correct_reading(
                establishment=self.dairy,
                by=self.maker,
                original=original.reading,
                content=content,
                why=why,
            )

    @staticmethod
    def _content(slot: str, observed: datetime, late: str, parts: dict[str, str]) -> ReadingContent:
        return ReadingContent(
            slot=slot,
            observed_at=observed,
            parts=[{"name": n, "raw": raw, "unit": "", "confirmed": True} for n, raw in parts.items()],
            late_reason=late,
        )

    def of_lot(self, lot: Lot, control: str, ordinal: int | str = 0) -> str:
        """Name a slot of a lot."""
        return lot_slot_id(lot.pk, control, ordinal)

    def of_day(self, day: int, control: str, ordinal: int | str = 0) -> str:
        """Name a slot of a day."""
        return day_slot_id(self.today + timedelta(days=day), control, ordinal)
