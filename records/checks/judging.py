"""From what was typed to a judgement: parts read by the plan's limit, evidence collected, words rendered."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time, timedelta, tzinfo
from decimal import Decimal
from itertools import product
from typing import Any

from django.utils.translation import gettext as _

from records.checks.models import Reading
from safetyplan.calculation.judgement import Evidence, Judgement, Measured, State, severity
from safetyplan.calculation.limits.shape import Limit, Part
from safetyplan.calculation.rounding import trim
from safetyplan.calculation.times import parse_local
from safetyplan.calculation.unit_tables import QUANTITIES
from safetyplan.integrity import canonical
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean, in_words, number
from safetyplan.plans.document import Control
from safetyplan.words import render

CONTRADICTION = "reached_then_left"
IN_TIME = ("time", "date", "moment")
AHEAD_YEARS = timedelta(days=3653)
MOST_TEXT = 500  # the codes of all lots washed in a day


@dataclass(frozen=True)
class TypedPart:
    """One part of a reading as it is kept: the raw text beside what was read from it."""

    name: str
    entry: str
    raw: str
    value: str
    unit: str

    def document(self) -> dict[str, str]:
        """Give the part as a value of canonical JSON."""
        return {
            "name": self.name,
            "entry": self.entry,
            "raw": self.raw,
            "value": self.value,
            "unit": self.unit,
        }


def read_parts(
    limit: Limit, given: Sequence[Mapping[str, Any]], *, observed_at: datetime, zone: tzinfo
) -> tuple[TypedPart, ...]:
    """Read what was typed for each part the limit asks for; times of day are the last before the check.

    Of parts that are not required one at least must be there: an empty check shows nothing to anybody.
    """
    items = {str(item.get("name", "")): item for item in given}
    wanted = limit.parts()
    strange = set(items) - {part.name for part in wanted}
    if strange:
        raise BadInput(_("The plan does not ask for %(name)s here.") % {"name": sorted(strange)[0]})
    read = []
    for part in wanted:
        item = items.get(part.name, {})
        raw = str(item.get("raw", ""))
        if not raw.strip():
            if part.required:
                raise BadInput(_("%(name)s is missing.") % {"name": render(part.label)}, part=part.name)
            continue
        read.append(_read_part(part, item, raw, observed_at, zone))
    if wanted and not read:
        names = _(" or ").join(render(part.label) for part in wanted)
        raise BadInput(_("Enter at least one of: %(names)s.") % {"names": names}, part=wanted[0].name)
    return tuple(read)


def _read_part(
    part: Part, item: Mapping[str, Any], raw: str, observed_at: datetime, zone: tzinfo
) -> TypedPart:
    if part.entry == "number":
        unit = str(item.get("unit") or part.unit)
        if unit not in QUANTITIES[part.quantity].units:
            raise BadInput(_("This cannot be measured in %(unit)s.") % {"unit": unit}, part=part.name)
        typed = number(
            raw, quantity=part.quantity, unit=unit, part=part.name, confirmed=item.get("confirmed") is True
        )
        value = f"{typed.censored}{typed.text}" if typed.censored else typed.text
        return TypedPart(part.name, part.entry, raw, value, typed.unit)
    text = clean(raw, most=MOST_TEXT if part.entry == "text" else 100, part=part.name)
    if part.entry == "choice" and text not in part.options:
        raise BadInput(_("Choose one of the answers offered."), part=part.name)
    if part.entry in IN_TIME:
        text = canonical.instant(_read_time(part, text, observed_at, zone))
    return TypedPart(part.name, part.entry, raw, text, "")


def _read_time(part: Part, text: str, observed_at: datetime, zone: tzinfo) -> datetime:
    if part.entry == "date":
        return end_of_day(text, observed_at, zone, part.name)
    if part.entry == "moment":
        day, _blank, clock = text.partition(" ")
        with in_words(part.name):
            fold = int(part.second_of_two)
            return parse_local(day, clock, zone, now=observed_at, fold=fold, confirmed=True)
    return last_time(text, observed_at, zone, part.name, latest=part.second_of_two)


def end_of_day(text: str, observed_at: datetime, zone: tzinfo, part: str) -> datetime:
    """Read a date as the last instant of that local day, to the millisecond; up to ten years ahead."""
    with in_words(part):
        noon = parse_local(text, "12:00", zone, now=observed_at + AHEAD_YEARS, fold=0, confirmed=True)
    next_day = noon.astimezone(zone).date() + timedelta(days=1)
    return datetime.combine(next_day, time.min, tzinfo=zone).astimezone(UTC) - timedelta(milliseconds=1)


def last_time(text: str, before: datetime, zone: tzinfo, part: str, *, latest: bool = False) -> datetime:
    """Read a time of day as the last such time up to `before`.

    Where the clocks go back an hour comes twice: the first one is meant, or with `latest` the second. A start
    read as the second and an end read as the first make a process the shortest that it can have been.
    """
    local = before.astimezone(zone)
    found = before
    for day, fold in product((local.date(), local.date() - timedelta(days=1)), (1, 0) if latest else (0,)):
        with in_words(part):
            found = parse_local(day.isoformat(), text, zone, now=before + timedelta(days=1), fold=fold)
        if found <= before:
            break
    return found


def measured(parts: Sequence[Mapping[str, str]], observed_at: datetime) -> tuple[Measured, ...]:
    """Turn the kept parts of a reading into evidence."""
    found = []
    for part in parts:
        value: Decimal | None = None
        text: str | None = None
        at = observed_at
        if part["entry"] == "number":
            raw = part["value"]
            text = raw[0] if raw[0] in "<>" else None
            value = Decimal(raw.lstrip("<>"))
        elif part["entry"] in IN_TIME:
            at = canonical.read_instant(part["value"])
        else:
            text = part["value"]
        found.append(Measured(part["name"], value, part["unit"], at, text=text))
    return tuple(found)


def _asked(limit: Limit, parts: Sequence[Mapping[str, str]]) -> list[Mapping[str, str]]:
    """Leave out parts that the limit does not ask for: a reading may have been made by an older limit."""
    wanted = {part.name: part for part in limit.parts()}
    return [p for p in parts if p["name"] in wanted and _fits(wanted[p["name"]], p)]


def _fits(part: Part, kept: Mapping[str, str]) -> bool:
    same_quantity = not kept["unit"] or kept["unit"] in getattr(QUANTITIES.get(part.quantity), "units", ())
    return kept["entry"] == part.entry and same_quantity


def kept_parts(reading: Reading) -> list[dict[str, str]]:
    """Give the parts of a recorded reading."""
    value: list[dict[str, str]] = canonical.loads(reading.parts.encode())
    return value


def judge(
    limit: Limit,
    ordinal: int,
    parts: Sequence[Mapping[str, str]],
    *,
    observed_at: datetime,
    earlier: Sequence[Reading],
    events: Mapping[str, datetime],
    kept: bool = False,
) -> Judgement:
    """Judge one reading by itself; the earlier ones of the lot and control only show a contradiction.

    An earlier miss stays with its own reading and deviation: it neither excuses nor blames this one.
    kept: the reading is recorded already and cannot be typed again: what the limit would refuse then shows
    nothing.
    """
    own = Evidence(measured(_asked(limit, parts), observed_at), events, observed_at, ordinal)
    impossible = limit.refusals(own)
    if impossible and kept:
        return Judgement(State.NOT_SHOWN, impossible[0]).warned(*impossible[1:])
    if impossible:
        raise BadInput(" ".join(str(render(sentence)) for sentence in impossible))
    before = tuple(m for r in earlier for m in measured(_asked(limit, kept_parts(r)), r.observed_at))
    whole = limit.judge(Evidence((*before, *own.measured), events, observed_at, ordinal))
    return _contradicted(limit.judge(own), whole)


def _contradicted(own: Judgement, whole: Judgement) -> Judgement:
    """Say in a reading's judgement that the value was reached before and then left again."""
    found = [s for s in (whole.sentence, *whole.warnings) if s.code == CONTRADICTION]
    if not found:
        return own
    if severity(own.state) >= severity(State.OUTSIDE_TARGET):
        return own.warned(*found)
    return replace(own, state=State.OUTSIDE_TARGET, sentence=found[0]).warned(own.sentence)


def primary(parts: Sequence[TypedPart]) -> tuple[str, str]:
    """Give the value and unit that stand for a reading in lists: its first number."""
    for part in parts:
        if part.entry == "number" and part.value[0] not in "<>":
            return trim(Decimal(part.value)), part.unit
    return "", ""


def words(control: Control) -> str:
    """Write a limit in words, as on the form; at a critical control point it is a critical limit."""
    text = " ".join(str(render(sentence)) for sentence in control.limit.describe())
    return text.replace(_("Limit:"), _("Critical limit:")) if control.is_ccp else text
