"""The clock of the device that made a record: how far off it was, and what that changes.

skew = the server's clock at receipt minus the device's clock when it sent. The device also says how far off
it knew itself to be when the record was made (from the server's last answer before it). The times of a record
are corrected by the skew only where nothing says that the clock was changed in between; either way it is
noted beside the record. What the device said stays in the claim, byte for byte.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from records.checks.kinds import CLOCK_NOTED
from records.checks.models import ClockNoted
from safetyplan.calculation.times import AHEAD
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import until
from safetyplan.integrity import canonical, ledger
from safetyplan.integrity.models import Entry

TOLERATED = timedelta(minutes=2)
LONGEST = timedelta(days=36525)


@dataclass(frozen=True)
class DeviceClock:
    """What is known of a device's clock when its record arrives; `offset` is the server's minus its own."""

    received_at: datetime
    sent_at: datetime | None = None
    offset: timedelta | None = None

    @property
    def skew(self) -> timedelta:
        """Give how far the server's clock was ahead at sending; nothing where it is not said."""
        return self.received_at - self.sent_at if self.sent_at is not None else timedelta()

    @property
    def off(self) -> bool:
        """Tell whether the clock was off by more than is tolerated, now or when the record was made."""
        return max(abs(self.skew), abs(self.offset or timedelta())) > TOLERATED

    @property
    def corrects(self) -> bool:
        """Tell whether the skew may correct the record's times: the clock was not changed since."""
        changed = self.offset is not None and abs(self.skew - self.offset) > TOLERATED
        return self.off and self.sent_at is not None and not changed

    def captured(self, said: datetime, observed: datetime) -> datetime:
        """Give when the record was made: never ahead of the server, nor before what it tells of.

        A device whose clock stands before the observation does not prove it was in time: the server's counts.
        """
        at = said + self.skew if self.corrects else said
        told = self.observed(said, observed)
        return self.received_at if at > self.received_at or at < told - AHEAD else at

    def observed(self, said: datetime, observed: datetime) -> datetime:
        """Give when it was observed; a time that a person stated stays as stated.

        Recorded as it happened, it is the time of capture, and it is corrected with that.
        """
        if observed != said or not self.off:
            return observed
        at = said + self.skew if self.corrects else said
        return min(at, self.received_at)


def read_clock(received_at: datetime, sent_at: str, offset: str) -> DeviceClock:
    """Read what a request's headers say of the clock; what cannot be read is as if it were not said."""
    try:
        sent: datetime | None = canonical.read_instant(sent_at)
    except (ValueError, TypeError):
        sent = None
    known = None
    if offset.removeprefix("-").isdecimal() and offset.isascii() and len(offset) <= 16:
        known = timedelta(milliseconds=int(offset))
    if known is not None and abs(known) > LONGEST:
        known = None
    return DeviceClock(received_at, sent, known)


def note_clock(
    *, establishment: Establishment, about: Entry, clock: DeviceClock, said: datetime
) -> ClockNoted | None:
    """Record beside an entry that the clock of its device was off; nothing where it was right."""
    if not clock.off:
        return None
    row = ClockNoted(
        about=about,
        device_captured_at=said,
        sent_at=clock.sent_at,
        received_at=clock.received_at,
        skew_seconds=round(clock.skew.total_seconds()),
        offset_seconds=None if clock.offset is None else round(clock.offset.total_seconds()),
        corrected=clock.corrects,
    )
    ledger.append(kind=CLOCK_NOTED, row=row, establishment=establishment, author=None)
    return row


def clock_notes(
    establishment: Establishment, about: list[UUID], as_of: int | None = None
) -> dict[Any, ClockNoted]:
    """Give the notes on the devices' clocks by the record they stand beside."""
    rows = until(ClockNoted.objects.of(establishment), as_of).filter(about__in=about)
    return {row.about_id: row for row in rows}


def _length(seconds: int) -> str:
    minutes = round(abs(seconds) / 60)
    days, rest = divmod(minutes, 1440)
    hours, minutes = divmod(rest, 60)
    parts = [(days, _("%(n)d d")), (hours, _("%(n)d h")), (minutes, _("%(n)d min"))]
    return " ".join(words % {"n": number} for number, words in parts if number) or _("under a minute")


def clock_words(note: ClockNoted, device_time: str) -> str:
    """Say how far a device's clock was off; `device_time`: the time it gave, as it is shown."""
    seconds = note.skew_seconds if abs(note.skew_seconds) > TOLERATED.seconds else note.offset_seconds or 0
    given = {"length": _length(seconds), "time": device_time}
    if not note.corrected:
        return _("DEVICE CLOCK changed or off by %(length)s; it gave %(time)s, not corrected") % given
    if seconds > 0:
        return _("DEVICE CLOCK %(length)s behind: it gave %(time)s, corrected") % given
    return _("DEVICE CLOCK %(length)s ahead: it gave %(time)s, corrected") % given
