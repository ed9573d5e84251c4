"""What is due for the plan itself: its reanalysis, validations, and the duties of a qualified facility. Pure.

Dates come from the figures of the plan's regulatory profile, which the dairy may have changed; nothing is
assumed where the profile gives none. A duty says what is due, by when, how it stands, and by which text.

Sources of what is not a figure of the profile: 21 CFR 117.170(b) and (c) for the occasions of a reanalysis
and its 90 days; 21 CFR 117.201 for the status, the attestation in even years and its two options; Regulation
(EC) 852/2004, article 5(2), for a review at any change (all read). The days of notice are our own.
"""

from calendar import monthrange
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.translation import gettext as _

from safetyplan.plans.duty_words import outcome_words, trigger_words
from safetyplan.plans.parts import Control, Parameter, Plan

UPCOMING = "upcoming"
DUE = "due"
OVERDUE = "overdue"

REANALYSIS = "reanalysis"
STATUS = "status"
ATTESTATION = "attestation"
OPTION_I = "option_i"
OPTION_II = "option_ii"
QUALIFIED = "qualified"
NOT_QUALIFIED = "not_qualified"
NOTIFIED = "change_notified"
OUTCOMES: Mapping[str, tuple[str, ...]] = {
    REANALYSIS: ("unchanged", "revised"),
    STATUS: (QUALIFIED, NOT_QUALIFIED),
    ATTESTATION: (OPTION_I, OPTION_II, NOTIFIED),
}

NOTICE = timedelta(days=30)
NOTICE_OF_EXPIRY = timedelta(days=60)
# how long a change may be at work before the plan is analysed again, and the text that says so
AFTER_CHANGE: Mapping[str, tuple[int, str]] = {"us_full": (90, "21 CFR 117.170(b), (c)")}
CHANGE_TEXTS: Mapping[str, str] = {
    "eu": "Regulation (EC) 852/2004, article 5(2)",
    "gb": "Regulation (EC) 852/2004 as retained, article 5(2)",
}


@dataclass(frozen=True)
class Done:
    """A duty that was signed; sequence: its place in the ledger."""

    duty: str
    outcome: str
    on: date
    sequence: int


@dataclass(frozen=True)
class Occasion:
    """Something that asks for a reanalysis; sequence: the place in the ledger at which it became known."""

    trigger: str
    text: str
    on: date
    sequence: int


@dataclass(frozen=True)
class Known:
    """All that the duties depend on.

    approved_on, approved_at: day and ledger sequence of the newest approval. begun_on: day of the first one.
    since: from when a critical control point is in force, by code. first_made: day of the first lot, by
    product.
    """

    plan: Plan
    today: date
    approved_on: date
    approved_at: int
    begun_on: date
    done: Sequence[Done] = ()
    occasions: Sequence[Occasion] = ()
    since: Mapping[str, date] | None = None
    first_made: Mapping[str, date] | None = None

    def parameter(self, code: str) -> Parameter | None:
        """Find a figure of the plan's profile that has a value."""
        found = self.plan.profile.parameter(code) if self.plan.profile else None
        return found if found is not None and found.value.strip() else None

    def signed(self, duty: str, *outcomes: str) -> list[Done]:
        """Give how often a duty was signed, the newest last."""
        found = [d for d in self.done if d.duty == duty and (not outcomes or d.outcome in outcomes)]
        return sorted(found, key=lambda d: (d.on, d.sequence))

    @property
    def settled_at(self) -> int:
        """Give the ledger sequence up to which every occasion is answered."""
        return settled_at(self.approved_at, self.done)


@dataclass(frozen=True)
class Duty:
    """One duty. due_on None: no day is fixed. opens_on: the first day on which it can be done, if any."""

    code: str
    due_on: date | None
    state: str
    words: str
    citation: str = ""
    opens_on: date | None = None

    @property
    def is_near(self) -> bool:
        """Tell whether it is due, overdue, or close."""
        return self.state != UPCOMING


def settled_at(approved_at: int, done: Sequence[Done]) -> int:
    """Give the ledger sequence of the newest approval or signed reanalysis."""
    return max([approved_at, *(d.sequence for d in done if d.duty == REANALYSIS)])


def later(day: date, months: int) -> date:
    """Give the same day some months later; the last day of a month that is too short for it."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def _state(today: date, due_on: date, notice: timedelta = NOTICE) -> str:
    if today > due_on:
        return OVERDUE
    return DUE if due_on - today <= notice else UPCOMING


def _whole(parameter: Parameter) -> int | None:
    text = parameter.value.strip()
    return int(text) if text.isascii() and text.isdigit() and len(text) < 5 else None


def _day_of_year(text: str, year: int) -> date | None:
    """Read "07-01" as a day of a year; the last of February is there in every year."""
    month_day = "02-28" if text.strip() == "02-29" else text.strip()
    try:
        return date.fromisoformat(f"{year:04d}-{month_day}")
    except ValueError:
        return None


def _unreadable(parameter: Parameter, wanted: str) -> Duty:
    words = _("The regulatory profile says “%(value)s” for %(code)s: write it as %(wanted)s.") % {
        "value": parameter.value,
        "code": parameter.code,
        "wanted": wanted,
    }
    return Duty("unreadable", None, DUE, words, parameter.citation)


# Reanalysis ----------------------------------------------------------------------------------------


def _reanalysis(known: Known) -> Iterator[Duty]:
    parameter = known.parameter("reanalysis_months")
    if parameter is None:
        return
    months = _whole(parameter)
    if months is None or months == 0:
        yield _unreadable(parameter, _("whole months, like 12"))
        return
    last, by = known.approved_on, _("the newest version was approved")
    signed = known.signed(REANALYSIS)
    if signed and signed[-1].on >= last:
        last, by = signed[-1].on, _("the last reanalysis was signed")
    due_on = later(last, months)
    words = _("Analyse the whole plan again, at the latest %(months)d months after %(day)s, when %(by)s.") % {
        "months": months,
        "day": last.isoformat(),
        "by": by,
    }
    yield Duty(REANALYSIS, due_on, _state(known.today, due_on), words, parameter.citation)


def _occasions(known: Known) -> Iterator[Duty]:
    """Give what happened since the last approval or signed reanalysis and asks for one."""
    profile = known.plan.profile.code if known.plan.profile else ""
    days, citation = AFTER_CHANGE.get(profile, (None, CHANGE_TEXTS.get(profile, "")))
    for occasion in sorted(known.occasions, key=lambda o: (o.on, o.sequence)):
        if occasion.sequence <= known.settled_at:
            continue
        due_on = occasion.on + timedelta(days=days) if days is not None else occasion.on
        words = _("%(what)s, %(day)s: %(text)s. Analyse the plan again before it is put to work.")
        if occasion.trigger == "unforeseen":
            words = _("%(what)s, %(day)s: %(text)s. Analyse the plan again, or say why not.")
        told = {
            "what": trigger_words(occasion.trigger),
            "day": occasion.on.isoformat(),
            "text": occasion.text.rstrip("."),
        }
        state = OVERDUE if days is not None and known.today > due_on else DUE
        yield Duty("occasion", due_on, state, words % told, citation)


# Validation ----------------------------------------------------------------------------------------


def _expiring(known: Known) -> Iterator[Duty]:
    for validation in known.plan.validations:
        if not validation.valid_until:
            continue
        until = date.fromisoformat(validation.valid_until)
        told = {
            "code": validation.code,
            "text": validation.text.rstrip("."),
            "controls": ", ".join(validation.controls),
            "day": until.isoformat(),
        }
        words = _("Validation %(code)s of %(controls)s is valid until %(day)s: %(text)s.")
        if known.today > until:
            words = _("Validation %(code)s of %(controls)s expired on %(day)s: %(text)s.")
        state = _state(known.today, until, NOTICE_OF_EXPIRY)
        yield Duty("validation_expiry", until, state, words % told)


def unvalidated(plan: Plan) -> list[Control]:
    """Give the critical control points without any evidence."""
    return [c for c in plan.controls if c.is_ccp and not plan.validations_of(c)]


def _missing(known: Known) -> Iterator[Duty]:
    parameter = known.parameter("validation_days")
    if parameter is None:
        return
    days = _whole(parameter)
    if days is None:
        yield _unreadable(parameter, _("whole days, like 90"))
        return
    for control in unvalidated(known.plan):
        made = [day for code, day in (known.first_made or {}).items() if code in control.products]
        told = {"control": f"{control.code} {control.name}", "days": days}
        if not made:
            words = _("%(control)s is not validated: due before its first lot is made.")
            if days:
                words = _("%(control)s is not validated: due within %(days)d days after its first lot.")
            yield Duty("validation", None, UPCOMING if days else DUE, words % told, parameter.citation)
            continue
        first = max(min(made), (known.since or {}).get(control.code, min(made)))
        due_on = first + timedelta(days=days)
        words = _("%(control)s is not validated: it was due before its first lot, made on %(day)s.")
        if days:
            words = _("%(control)s is not validated: due within %(days)d days after its first lot, %(day)s.")
        told["day"] = first.isoformat()
        # with no days of grace the day of the first lot is itself too late
        state = _state(known.today, due_on) if days else OVERDUE
        yield Duty("validation", due_on, state, words % told, parameter.citation)


# Qualified facility --------------------------------------------------------------------------------


def _status(known: Known) -> Iterator[Duty]:
    """Give the determination of the status, due every year."""
    parameter = known.parameter("status_by")
    if parameter is None:
        return
    this_year = _day_of_year(parameter.value, known.today.year)
    if this_year is None:
        yield _unreadable(parameter, _("month and day, like 07-01"))
        return
    due_on = this_year
    if any(done.on.year == known.today.year for done in known.signed(STATUS)):
        due_on = _day_of_year(parameter.value, known.today.year + 1) or this_year + timedelta(days=365)
    elif known.begun_on > this_year:
        due_on = known.begun_on  # begun after the day of the year: due at once, not next year
    words = _("Determine whether the dairy is still a qualified facility, and write it down, for %(year)d.")
    told = words % {"year": due_on.year}
    yield Duty(STATUS, due_on, _state(known.today, due_on), told, parameter.citation)


def _status_change(known: Known) -> Iterator[Duty]:
    """Give the notice of a status that changed, until it is signed."""
    parameter = known.parameter("status_change_by")
    statuses = known.signed(STATUS)
    if parameter is None or not statuses:
        return
    newest, before = statuses[-1], statuses[-2].outcome if len(statuses) > 1 else QUALIFIED
    told_since = any(done.sequence > newest.sequence for done in known.signed(ATTESTATION))
    if newest.outcome == before or told_since:
        return
    due_on = _day_of_year(parameter.value, newest.on.year)
    if due_on is None:
        yield _unreadable(parameter, _("month and day, like 07-31"))
        return
    words = _("The status changed to: %(status)s. Tell the authority by %(day)s.")
    if newest.outcome == NOT_QUALIFIED:
        words = _(
            "The status changed to: %(status)s. Tell the authority by %(day)s; the whole part on hazard "
            "analysis then applies, and another regulatory profile."
        )
    told = words % {"status": outcome_words(newest.outcome), "day": due_on.isoformat()}
    yield Duty("status_change", due_on, OVERDUE if known.today > due_on else DUE, told, parameter.citation)


def _window(parameter: Parameter, year: int) -> tuple[date, date] | None:
    """Read "10-01 to 12-31" as a window of a year."""
    first, _to, last = parameter.value.partition(" to ")
    opens, closes = _day_of_year(first, year), _day_of_year(last, year)
    return (opens, closes) if opens and closes and opens <= closes else None


def _attestation(known: Known) -> Iterator[Duty]:
    """Give the attestation: first before operations begin, then in its window of every even year."""
    parameter = known.parameter("attestation_window")
    if parameter is None or _is_not_qualified(known):
        return
    if _window(parameter, known.today.year) is None:
        yield _unreadable(parameter, _("a window of the year, like 10-01 to 12-31"))
        return
    attested = known.signed(ATTESTATION, OPTION_I, OPTION_II)
    if not attested:
        begun = min((known.first_made or {}).values(), default=None)
        words = _("No attestation is on record here: a facility attests before it begins. %(option)s")
        due_on = begun or known.begun_on
        state = OVERDUE if begun is not None and known.today > begun else DUE
        yield Duty(ATTESTATION, due_on, state, words % {"option": _option(known)}, parameter.citation)
        return
    opens, closes = _next_window(parameter, attested[-1].on)
    words = _("Attest again between %(opens)s and %(closes)s. %(option)s")
    told = {"opens": opens.isoformat(), "closes": closes.isoformat(), "option": _option(known)}
    state = UPCOMING if known.today < opens - NOTICE else OVERDUE if known.today > closes else DUE
    yield Duty(ATTESTATION, closes, state, words % told, parameter.citation, opens)


def _is_not_qualified(known: Known) -> bool:
    statuses = known.signed(STATUS)
    return bool(statuses) and statuses[-1].outcome == NOT_QUALIFIED


def _next_window(parameter: Parameter, last: date) -> tuple[date, date]:
    """Give the first window of an even year in which, or after which, nothing was attested yet."""
    year = last.year + last.year % 2
    while True:
        found = _window(parameter, year)
        assert found is not None  # it could be read for this year
        if last < found[0]:
            return found
        year += 2


def _option(known: Known) -> str:
    """Say which option the attestation takes, and what the second asks for besides."""
    parameter = known.parameter("attestation_option")
    attested = known.signed(ATTESTATION, OPTION_I, OPTION_II)
    chosen = parameter.value.strip() if parameter else ""
    if chosen not in ("i", "ii"):
        chosen = {OPTION_I: "i", OPTION_II: "ii"}.get(attested[-1].outcome, "") if attested else ""
    second = _(
        "With option (ii) the name and the full business address stand on the label, or at the point of "
        "purchase and in online notices."
    )
    first = _("Option (i): hazards are identified, controls are in place and monitored.")
    law = _("Option (ii): the dairy complies with state, local or other food law.")
    return {"i": first, "ii": f"{law} {second}"}.get(chosen, f"{first} {law} {second}")


def duties(known: Known) -> list[Duty]:
    """List what is due: the overdue first, then by day; what has no day last of its state."""
    found = [
        *_occasions(known),
        *_reanalysis(known),
        *_missing(known),
        *_expiring(known),
        *_status(known),
        *_status_change(known),
        *_attestation(known),
    ]
    order = (OVERDUE, DUE, UPCOMING)
    return sorted(found, key=lambda d: (order.index(d.state), d.due_on is None, d.due_on or date.max))
