"""The one parser of a date and a time of day typed by a person, and whether a record is late.

Dates are year-month-day, times 24-hour HH:MM; local to the establishment, returned in UTC.
"""

import re
from datetime import UTC, datetime, timedelta, tzinfo

from safetyplan.calculation.sentences import say
from safetyplan.calculation.typed import Offer, TypedRefusal, tidy

AHEAD = timedelta(minutes=2)
OLD = timedelta(hours=48)
FIRST_YEAR = 2000
_DATE = re.compile(r"([0-9]{4})-([0-9]{1,2})-([0-9]{1,2})")
_TIME = re.compile(r"([0-9]{1,2}):([0-9]{2})")


def parse_local(
    date_text: str,
    time_text: str,
    zone: tzinfo,
    *,
    now: datetime,
    fold: int | None = None,
    confirmed: bool = False,
) -> datetime:
    """Read the local date and time at which something was observed; returns the instant in UTC.

    fold: for a local time that happened twice, 0 the first, 1 the second. confirmed: the reason for a late
    entry has been given. No rounding. Raises TypedRefusal: not a date or time, a time that did not exist
    (clocks forward), a time that happened twice without fold, years outside 2000 to next year, more than 2
    minutes ahead of `now`, and with grade C more than 48 hours before it. Source of the zone rules: the
    tzinfo given (IANA).
    """
    naive = _naive(date_text, time_text, now)
    first, second = (naive.replace(tzinfo=zone, fold=which).astimezone(UTC) for which in (0, 1))
    if first.astimezone(zone).replace(tzinfo=None) != naive:
        raise TypedRefusal(say("time_gap", time=f"{naive:%H:%M}", date=f"{naive:%Y-%m-%d}"))
    if first != second and fold is None:
        raise _which_of_two(naive, time_text, zone)
    instant = second if fold else first
    _check_age(instant, now, confirmed=confirmed)
    return instant


def lateness(observed: datetime, recorded: datetime, tolerance: timedelta) -> bool:
    """Whether a record came later than the plan tolerates; exactly the tolerance is in time."""
    return recorded - observed > tolerance


def instant_text(instant: datetime) -> str:
    """RFC 3339 in UTC with milliseconds, cut, not rounded: "2026-05-14T18:00:00.000Z"."""
    return instant.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _naive(date_text: str, time_text: str, now: datetime) -> datetime:
    date, time = _DATE.fullmatch(tidy(date_text)), _TIME.fullmatch(tidy(time_text))
    if not date:
        raise TypedRefusal(say("time_date_form"))
    if not time:
        raise TypedRefusal(say("time_form"))
    year, month, day, hour, minute = map(int, (*date.groups(), *time.groups()))
    if (hour, minute) == (24, 0):
        raise TypedRefusal(say("time_midnight"))
    if hour > 23 or minute > 59:
        raise TypedRefusal(say("time_form"))
    if not FIRST_YEAR <= year <= now.year + 1:
        raise TypedRefusal(say("time_year", first=str(FIRST_YEAR), last=str(now.year + 1)))
    try:
        return datetime(year, month, day, hour, minute)  # noqa: DTZ001 - the zone is applied by the caller, with fold
    except ValueError:
        raise TypedRefusal(say("time_no_such_day", date=f"{year:04}-{month:02}-{day:02}")) from None


def _which_of_two(naive: datetime, time_text: str, zone: tzinfo) -> TypedRefusal:
    offers = []
    for fold in (0, 1):
        offset = f"{naive.replace(tzinfo=zone, fold=fold):%z}"
        code = say("offer_time_second", offset=offset) if fold else say("offer_time_first", offset=offset)
        offers.append(Offer(tidy(time_text), "", False, code, time_text, fold=fold))
    return TypedRefusal(say("time_twice", time=f"{naive:%H:%M}", date=f"{naive:%Y-%m-%d}"), offers)


def _check_age(instant: datetime, now: datetime, *, confirmed: bool) -> None:
    if instant - now > AHEAD:
        raise TypedRefusal(say("time_future", observed_at=instant_text(instant)))
    if now - instant > OLD and not confirmed:
        raise TypedRefusal(say("time_old", observed_at=instant_text(instant)), grade="C")
