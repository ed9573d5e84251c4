"""A recorded check of an instrument read again: its lines, what was typed, its working."""

from collections.abc import Mapping
from decimal import Decimal

from django.utils.translation import gettext as _

from records.instruments.measured import Readings, Round, circumstances, read_round
from records.instruments.models import Instrument, InstrumentCheck
from safetyplan.calculation import instrument_checks as checks
from safetyplan.calculation.instruments import ICE_C
from safetyplan.calculation.rounding import amount, decimal_text, difference, trim
from safetyplan.calculation.units import convert, convert_difference
from safetyplan.integrity import canonical
from safetyplan.words import name_words, sentence_case


class _Everything(frozenset[str]):
    """Every field: what is recorded was asked about when it was typed."""

    def __contains__(self, name: object) -> bool:
        return True


def judged_again(check: InstrumentCheck) -> tuple[Round, Round | None]:
    """Judge a recorded check once more from what was typed, for its working; as found, as left."""
    given = {
        k.removesuffix("_raw"): v for k, v in _texts(check.given).items() if k.endswith(("_raw", "_unit"))
    }
    by = circumstances(check.instrument, check.method, given, _Everything())
    found = read_round(by, typed_again(check.found), "found", _Everything())
    left = read_round(by, typed_again(check.left), "left", _Everything()) if check.adjusted else None
    return found, left


def _texts(document: str) -> dict[str, str]:
    value = canonical.loads(document.encode())
    assert isinstance(value, dict)
    return {str(name): str(text) for name, text in value.items()}


def lines_of(document: str) -> list[dict[str, str]]:
    """Give the lines of a round as they were recorded."""
    value = canonical.loads(document.encode())
    assert isinstance(value, list)
    return [dict(line) for line in value]


def typed_again(document: str) -> Readings:
    """Give a recorded round as it was typed."""
    points: list[dict[str, str]] = []
    told, again = {"slope": "", "offset": ""}, []
    for line in lines_of(document):
        if line["what"] in told:
            told[line["what"]] = line["raw"]
        elif line["what"] == "again":
            again.append(line["raw"])
        elif line["what"] == "millivolts" and points and "mv" not in points[-1] and _same(points[-1], line):
            points[-1]["mv"] = line["raw"]
        else:
            key = "mv" if line["what"] == "millivolts" else "shown"
            stated = line["true"] if line["name"] == checks.STATED else ""
            points.append(
                {"name": line["name"], "stated": stated, "true": line.get("true_raw", ""), key: line["raw"]}
            )
    return Readings(points, told["slope"], told["offset"], again)


def _same(point: Mapping[str, str], line: Mapping[str, str]) -> bool:
    return point["name"] == line["name"] and point["stated"] in ("", line["true"])


def passes_between(instrument: Instrument, method: str) -> str:
    """Say between which readings the ice point passes; "" where that depends on what is still to be read."""
    if method != checks.ICE or not instrument.tolerance_value or not instrument.unit:
        return ""
    true = convert(ICE_C, "degC", instrument.unit)
    off = convert_difference(
        Decimal(instrument.tolerance_value), str(instrument.tolerance_unit), instrument.unit
    )
    low, high = (amount(_short(true + end), instrument.unit) for end in (-off, off))
    return _("Within the tolerance from %(low)s to %(high)s.") % {"low": low, "high": high}


def state_code(passed: bool | None) -> str:
    """Give the mark of a result against the tolerance."""
    if passed is None:
        return "not_shown"
    return "within" if passed else "outside_limit"


def state_word(passed: bool | None) -> str:
    """Give the word of a result against the tolerance."""
    if passed is None:
        return _("Undecided")
    return _("Within the tolerance") if passed else _("Outside the tolerance")


def done_words(check: InstrumentCheck) -> str:
    """Say what was done after a check."""
    words = {"nothing": _("nothing"), "adjusted": _("adjusted"), "out_of_use": _("taken out of use")}
    told = words.get(check.done, check.done)
    return _("adjusted, then taken out of use") if check.adjusted and check.done == "out_of_use" else told


def _with_unit(number: str, unit: str) -> str:
    return amount(number, unit) if number else ""


def line_words(line: Mapping[str, str]) -> str:
    """Write one line of a round: what was true, what was shown."""
    shown = _with_unit(line["shown"], line["unit"])
    if line["what"] == "slope":
        return _("slope %(shown)s") % {"shown": shown}
    if line["what"] == "offset":
        return _("offset %(shown)s") % {"shown": shown}
    if line["what"] == "again":
        return _("the same weight again: %(shown)s") % {"shown": shown}
    buffer = name_words(line["name"]) if line["name"] else ""
    if line["what"] == "millivolts":
        return _("%(buffer)s: %(shown)s") % {"buffer": buffer, "shown": shown}
    unit, true = line["unit"], line["true"]
    short = decimal_text(Decimal(true), 2) if len(true.partition(".")[2]) > 3 else true
    told = {"buffer": buffer, "true": _with_unit(short, unit), "shown": shown}
    if buffer:
        return _("%(buffer)s, %(true)s: shown %(shown)s") % told
    return _("true %(true)s: shown %(shown)s") % told


def _short(value: Decimal) -> str:
    text = trim(value)
    return decimal_text(value, 2) if len(text.partition(".")[2]) > 2 else text


def given_words(check: InstrumentCheck) -> list[tuple[str, str]]:
    """Give what a check was judged by, beside the readings."""
    given, rows = _texts(check.given), []
    names = {
        "air_pressure": _("Air pressure"),
        "altitude": _("Altitude"),
        "temperature": _("Temperature of the buffers"),
    }
    for name, label in names.items():
        if name in given:
            rows.append((label, amount(given[name], given[f"{name}_unit"])))
    if check.reference is not None:
        rows.append((_("Reference"), f"{check.reference.code} {check.reference.name}"))
    if "certificate" in given:
        rows.append((_("Reference and certificate"), given["certificate"]))
    if "weights" in given:
        rows.append((_("Test weights"), given["weights"]))
    if check.tolerance_text:
        rows.append((_("Tolerance"), f"± {difference(check.tolerance_text, check.tolerance_unit)}"))
    if "criterion" in given:
        rows.append((_("Criterion for the electrode"), sentence_case(name_words(given["criterion"]))))
    return rows
