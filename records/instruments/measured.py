"""What was typed of a check of an instrument: read, judged by its tolerance, and put into canonical texts."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from records.instruments.models import Instrument
from safetyplan.calculation import instrument_checks as checks
from safetyplan.calculation.buffer_checks import InBuffer, check_buffers
from safetyplan.calculation.instrument_checks import Allowed, Outcome, Point
from safetyplan.calculation.instruments import ICE_C
from safetyplan.calculation.instruments_tables import BUFFERS
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import amount, trim
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.calculation.units import convert, convert_difference
from safetyplan.integrity import canonical
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean, number
from safetyplan.words import name_words, render, sentence_case

Points = Sequence[tuple[int, Mapping[str, str]]]
PRESSURE_UNITS, ALTITUDE_UNITS, TEMPERATURE_UNITS = ("hPa", "inHg"), ("m", "ft"), ("degC", "degF")
MOST_AGAIN = 10
# Common practice, no source: a thermometer this far off at a known temperature was more likely misread.
FAR_C = Decimal(5)


@dataclass(frozen=True)
class Readings:
    """What was typed of one round: its points, and for a pH meter slope and offset as it tells them.

    points: each with `shown`, and by method `true` (the reference, the weight), `name` (the buffer), `mv`,
    `stated` (the pH of a buffer outside the tables). again: one weight shown again and again.
    """

    points: Sequence[Mapping[str, str]] = ()
    slope: str = ""
    offset: str = ""
    again: Sequence[str] = ()


@dataclass(frozen=True)
class Circumstances:
    """What a round is judged by, read once for both rounds."""

    method: str
    unit: str
    allowed: Allowed | None
    criterion: str
    document: dict[str, str]
    pressure_hpa: Decimal | None = None
    altitude_m: Decimal | None = None
    temperature_c: Decimal | None = None
    reference_in_order: bool = True


@dataclass(frozen=True)
class Round:
    """One round read and judged: its canonical list, and what it says."""

    document: list[dict[str, str]]
    outcome: Outcome

    @property
    def text(self) -> str:
        """Give the list as canonical text."""
        return canonical.dumps(self.document).decode()

    @property
    def sentences(self) -> str:
        """Give what it says as canonical text."""
        return canonical.dumps([s.to_document() for s in self.outcome.said]).decode()

    @property
    def words(self) -> str:
        """Give what it says in words."""
        return " ".join(str(render(s)) for s in self.outcome.said)


@dataclass
class _Reader:
    """Reads typed numbers; `confirmed` names the fields whose unlikely value a person stood by."""

    confirmed: frozenset[str]
    document: list[dict[str, str]] = field(default_factory=list)

    def read(self, raw: str, *, quantity: str, unit: str, part: str) -> Decimal:
        if not raw.strip():
            raise BadInput(_("A value is missing here."), part=part)
        return number(raw, quantity=quantity, unit=unit, part=part, confirmed=part in self.confirmed).value

    def keep(self, what: str, shown: Decimal, unit: str, raw: str, **more: str) -> None:
        line = {"what": what, "name": "", "true": "", "shown": trim(shown), "unit": unit, "raw": clean(raw)}
        self.document.append({**line, **more})


def unit_chosen(given: Mapping[str, str], name: str, units: Sequence[str]) -> str:
    """Give the unit chosen for a field; the first one offered when none was chosen."""
    chosen = given.get(f"{name}_unit", "") or units[0]
    if chosen not in units:
        raise BadInput(_("Choose one of the units offered."), part=name)
    return chosen


def circumstances(
    instrument: Instrument,
    method: str,
    given: Mapping[str, str],
    confirmed: frozenset[str],
    *,
    reference_in_order: bool = True,
) -> Circumstances:
    """Read what a check is judged by: tolerance and criterion, pressure or altitude, temperature."""
    if method not in checks.methods_of(instrument.quantity):
        raise BadInput(_("Choose how the instrument was checked."), part="method")
    allowed = None
    if instrument.tolerance_value and instrument.tolerance_unit:
        allowed = Allowed(Decimal(instrument.tolerance_value), instrument.tolerance_unit)
    criterion = (instrument.criterion or "") if method == checks.BUFFER else ""
    if not instrument.unit or (allowed is None and not criterion):
        raise BadInput(
            _("%(code)s has no tolerance in the register yet: nothing can be judged without it.")
            % {"code": instrument.code},
            part="method",
        )
    read, document = _given(given, method, confirmed)
    return Circumstances(
        method,
        instrument.unit,
        allowed,
        criterion,
        {**document, **({"criterion": criterion} if criterion else {})},
        reference_in_order=reference_in_order,
        **read,
    )


_ASKED = {
    "air_pressure": (checks.BOILING, "air_pressure", PRESSURE_UNITS, "pressure_hpa"),
    "altitude": (checks.BOILING, "altitude", ALTITUDE_UNITS, "altitude_m"),
    "temperature": (checks.BUFFER, "temperature", TEMPERATURE_UNITS, "temperature_c"),
}


def _given(
    given: Mapping[str, str], method: str, confirmed: frozenset[str]
) -> tuple[dict[str, Any], dict[str, str]]:
    reader, read, document = _Reader(confirmed), dict[str, Any](), dict[str, str]()
    for name, (for_method, quantity, units, key) in _ASKED.items():
        raw = given.get(name, "")
        if method != for_method or (not raw.strip() and name != "temperature"):
            continue
        unit = unit_chosen(given, name, units)
        value = reader.read(raw, quantity=quantity, unit=unit, part=name)
        read[key] = convert(value, unit, units[0])
        document |= {name: trim(value), f"{name}_unit": unit, f"{name}_raw": clean(raw, part=name)}
    return read, document


def read_round(by: Circumstances, typed: Readings, side: str, confirmed: frozenset[str]) -> Round:
    """Read one round of readings and judge it; a refusal names its field: `<side>_<n>_shown` and so on."""
    reader = _Reader(confirmed)
    points = [
        (n, point)
        for n, point in enumerate(typed.points, 1)
        if any(point.get(key, "").strip() for key in ("shown", "true", "mv", "stated"))
    ]
    if len(points) > checks.MOST_POINTS or len(typed.again) > MOST_AGAIN:
        raise BadInput(_("More readings than a check takes."), part=f"{side}_1_shown")
    try:
        outcome = _ROUNDS[by.method](by, points, typed, side, reader)
    except Refusal as refusal:
        field = _FIELDS.get(refusal.field, refusal.field or "shown")
        part = field if field in _ASKED else f"{side}_1_{field}"
        raise BadInput(sentence_case(render(refusal.sentence)), part=part) from refusal
    return Round(reader.document, outcome)


_FIELDS = {"mv_low": "mv", "mv_high": "mv", "buffer_high": "name"}


def _allowed(by: Circumstances) -> Allowed:
    if by.allowed is None:
        raise BadInput(_("The instrument has no tolerance in the register yet."), part="method")
    return by.allowed


def _beside(by: Circumstances, points: Points, side: str, reader: _Reader, truth_c: Decimal) -> Decimal:
    """Read a thermometer at a known temperature; far from it a person has to stand by the reading."""
    raw, part = points[0][1].get("shown", "") if points else "", f"{side}_1_shown"
    about = {"quantity": "temperature", "unit": by.unit, "part": part}
    true = convert(truth_c, "degC", by.unit)
    shown = _Reader(frozenset({part})).read(raw, **about)
    if abs(convert_difference(shown - true, by.unit, "degC")) > FAR_C and part not in reader.confirmed:
        reader.read(raw, **about)
        raise _far(raw, shown, by.unit, part)
    reader.keep("point", shown, by.unit, raw, true=trim(true))
    return shown


def _far(raw: str, shown: Decimal, unit: str, part: str) -> BadInput:
    text = amount(trim(shown), unit)
    offer = {"label": text, "raw": raw, "unit": unit, "confirmed": True, "fold": None}
    return BadInput(
        _("%(shown)s is far from what is true here. Is it what it shows?") % {"shown": text},
        part=part,
        offers=[offer],
    )


def _ice(by: Circumstances, points: Points, typed: Readings, side: str, reader: _Reader) -> Outcome:
    shown = _beside(by, points, side, reader, ICE_C)
    return checks.check_ice(shown=shown, unit=by.unit, allowed=_allowed(by))


def _boiling(by: Circumstances, points: Points, typed: Readings, side: str, reader: _Reader) -> Outcome:
    truth, _unsure, _steps = checks.boiling_truth(pressure_hpa=by.pressure_hpa, altitude_m=by.altitude_m)
    return checks.check_boiling(
        shown=_beside(by, points, side, reader, truth),
        unit=by.unit,
        allowed=_allowed(by),
        pressure_hpa=by.pressure_hpa,
        altitude_m=by.altitude_m,
    )


def _pairs(by: Circumstances, points: Points, side: str, reader: _Reader, quantity: str) -> list[Point]:
    found = []
    for n, typed in points or [(1, {})]:
        true, shown = (
            reader.read(typed.get(key, ""), quantity=quantity, unit=by.unit, part=f"{side}_{n}_{key}")
            for key in ("true", "shown")
        )
        more = {"true": trim(true), "true_raw": clean(typed["true"])}
        reader.keep("point", shown, by.unit, typed["shown"], **more)
        found.append(Point(true, shown))
    return found


def _reference(by: Circumstances, points: Points, typed: Readings, side: str, reader: _Reader) -> Outcome:
    pairs = _pairs(by, points, side, reader, UNITS[by.unit].quantity)
    return checks.check_reference(pairs, unit=by.unit, allowed=_allowed(by), in_order=by.reference_in_order)


def _scales(by: Circumstances, points: Points, typed: Readings, side: str, reader: _Reader) -> Outcome:
    pairs = _pairs(by, points, side, reader, "mass")
    again = []
    for n, raw in enumerate(typed.again, 1):
        if raw.strip():
            shown = reader.read(raw, quantity="mass", unit=by.unit, part=f"{side}_again_{n}")
            reader.keep("again", shown, by.unit, raw)
            again.append(shown)
    return checks.check_scales(pairs, unit=by.unit, allowed=_allowed(by), repeated=again)


def _buffers(by: Circumstances, points: Points, typed: Readings, side: str, reader: _Reader) -> Outcome:
    assert by.temperature_c is not None
    read = [_in_buffer(one, n, side, reader, by.temperature_c) for n, one in points]
    told: dict[str, Decimal | None] = {}
    for name, raw, quantity, unit in (
        # a slope may lie above 100 %, which a share of something cannot
        ("slope", typed.slope, "ratio", "percent"),
        ("offset", typed.offset, "potential", "mV"),
    ):
        told[name] = None
        if raw.strip():
            asked = "ratio" if quantity == "ratio" else unit
            plain = raw.replace("%", "") if quantity == "ratio" else raw
            value = reader.read(plain, quantity=quantity, unit=asked, part=f"{side}_{name}")
            told[name] = value
            reader.keep(name, value, unit, raw)
    if (told["slope"] is None) != (told["offset"] is None):
        missing = "slope" if told["slope"] is None else "offset"
        raise BadInput(_("Give slope and offset together."), part=f"{side}_{missing}")
    return check_buffers(
        read,
        temperature_c=by.temperature_c,
        allowed=by.allowed,
        criterion=by.criterion,
        slope_percent=told["slope"],
        offset_mv=told["offset"],
    )


def _in_buffer(
    typed: Mapping[str, str], n: int, side: str, reader: _Reader, temperature_c: Decimal
) -> InBuffer:
    name = typed.get("name", "")
    if name not in BUFFERS and name != checks.STATED:
        raise BadInput(_("Choose the buffer."), part=f"{side}_{n}_name")
    values: dict[str, Decimal | None] = {}
    for key, quantity, unit in (("stated", "ph", "pH"), ("shown", "ph", "pH"), ("mv", "potential", "mV")):
        raw = typed.get(key, "")
        part = f"{side}_{n}_{key}"
        values[key] = reader.read(raw, quantity=quantity, unit=unit, part=part) if raw.strip() else None
    one = InBuffer(name, values["shown"], values["mv"], values["stated"])
    try:
        true = trim(one.ph(temperature_c))
    except Refusal as refusal:
        part = "temperature" if refusal.field == "temperature" else f"{side}_{n}_stated"
        raise BadInput(sentence_case(render(refusal.sentence)), part=part) from refusal
    if one.shown is not None:
        reader.keep("point", one.shown, "pH", typed.get("shown", ""), name=name, true=true)
    if one.mv is not None:
        reader.keep("millivolts", one.mv, "mV", typed.get("mv", ""), name=name, true=true)
    return one


_ROUNDS = {
    checks.ICE: _ice,
    checks.BOILING: _boiling,
    checks.REFERENCE: _reference,
    checks.SCALES: _scales,
    checks.BUFFER: _buffers,
}


def method_words(method: str) -> str:
    """Name a method."""
    return sentence_case(name_words(method))
