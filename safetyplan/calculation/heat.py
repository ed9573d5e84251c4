"""Heat treatment against a rule: whether a log shows what the rule asks, and what a phosphatase test proves.

Legality is judged here and by the table only: time at or above the temperature of the rule, in the unit of
the rule (`heat_requirement.py`). Lethal rates and equivalent times live in `lethality.py`; they are
supporting evidence, and nothing here looks at them.
"""

from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum

from safetyplan.calculation import rounding
from safetyplan.calculation.heat_requirement import Requirement, duration_text
from safetyplan.calculation.heat_tables import PHOSPHATASE, THERMISATIONS
from safetyplan.calculation.instruments import AsFound
from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.series import Series, Stretch, overlap
from safetyplan.calculation.units import convert, convert_difference

FEWEST_PAUSES = 10
LARGEST_ERROR_C = Decimal(5)
CLOSEST_POINTS_C = Decimal(10)
_NEVER = 1 << 62
_PRACTICE = "common practice, no source"


class HoldState(StrEnum):
    """What a log says about a hold. None of these releases a product."""

    SHOWN = "shown"
    TOO_SHORT = "too_short"
    GAP = "gap"
    AIR_SPACE_MISSING = "air_space_missing"
    INSTRUMENT_NOT_VALID = "instrument_not_valid"


@dataclass(frozen=True)
class HoldResult:
    """A log against a requirement: the longest stretch without dip or gap, and whether it is long enough.

    stretches: all of them in order, (from, to) in milliseconds since 1970; gaps: the pauses that break them.
    """

    state: HoldState
    held_seconds: Decimal
    hold_seconds: Decimal
    longest: Stretch | None
    stretches: tuple[Stretch, ...]
    gaps: tuple[Stretch, ...]

    @property
    def short_by_seconds(self) -> Decimal:
        """What the longest stretch lacks, zero when nothing."""
        return max(Decimal(0), self.hold_seconds - self.held_seconds)


def judge_hold(requirement: Requirement, *, product: Series, air_space: Series | None = None) -> HoldResult:
    """Judge a log by the table: product and air space together at or above their limits, for the hold.

    Only readings count: a stretch begins and ends on one, a dip of either restarts it, a gap of either breaks
    it, and exactly on the limit is at it. The limit stays in the unit of the rule. Too short: not long enough
    even if all was well where nobody looked; gap: long enough only then. An air space
    given where the rule has no figure is not judged. The longest pause of the product log may be a tenth of
    the hold, so that two readings never show one, that of the air space the hold itself (common practice, no
    source). Raises Refusal beyond that, and when there is no reading.
    """
    _check_pauses(requirement, product, air_space)
    if not product.times:
        raise Refusal(say("series_empty"), "heat_log")
    needs_air = requirement.air_space is not None
    air = air_space if needs_air and air_space is not None and len(air_space) else None
    stretches = _together(requirement, product, air)
    longest = max(stretches, key=lambda stretch: stretch[1] - stretch[0], default=None)
    held = _length(longest)
    possible = max(map(_length, _possible(requirement, product, air)), default=Decimal(0))
    state = HoldState.SHOWN
    if not product.valid or (air is not None and not air.valid):
        state = HoldState.INSTRUMENT_NOT_VALID
    elif possible < requirement.hold_seconds:
        state = HoldState.TOO_SHORT
    elif needs_air and air is None:
        state = HoldState.AIR_SPACE_MISSING
    elif held < requirement.hold_seconds:
        state = HoldState.GAP
    gaps = sorted({*product.gaps(), *(air.gaps() if air else ())})
    return HoldResult(state, held, requirement.hold_seconds, longest, tuple(stretches), tuple(gaps))


def _check_pauses(requirement: Requirement, product: Series, air_space: Series | None) -> None:
    hold = requirement.hold_seconds
    for series, most, field in (
        (product, hold / FEWEST_PAUSES, "heat_pause"),
        (air_space, hold, "air_pause"),
    ):
        if series is not None and Decimal(series.longest_gap_ms) > most * 1000:
            pause = duration_text(Decimal(series.longest_gap_ms) / 1000)
            words = say(
                "heat_pause_too_long", pause=pause, most=duration_text(most), hold=duration_text(hold)
            )
            raise Refusal(words, field)


def _together(requirement: Requirement, product: Series, air: Series | None) -> list[Stretch]:
    found = product.stretches_at_least(requirement.temperature, requirement.unit)
    if air is not None and requirement.air_space is not None:
        found = overlap(found, air.stretches_at_least(requirement.air_space, requirement.unit))
    return found


def _possible(requirement: Requirement, product: Series, air: Series | None) -> list[Stretch]:
    """The stretches there would be had every pause, and the air space beyond its log, been warm enough."""
    found = replace(product, longest_gap_ms=_NEVER).stretches_at_least(
        requirement.temperature, requirement.unit
    )
    if air is None or requirement.air_space is None:
        return found
    bridged = replace(air, longest_gap_ms=_NEVER)
    warm = bridged.stretches_at_least(requirement.air_space, requirement.unit)
    open_ended = [
        (-_NEVER if start == air.times[0] else start, _NEVER if end == air.times[-1] else end)
        for start, end in warm
    ]
    return overlap(found, open_ended)


def _length(stretch: Stretch | None) -> Decimal:
    return Decimal(stretch[1] - stretch[0]) / 1000 if stretch else Decimal(0)


def corrected_for_error(series: Series, *, error: Decimal, unit: str) -> Series:
    """The series with a constant as-found error taken off: true = reading - error.

    error: reading minus reference, so positive when the probe reads high, a difference in `unit` (°C or °F).
    Valid for errors up to 5 °C either way, beyond which a probe is to be replaced (common practice, no
    source), and near the temperature at which the error was found. Values half up to thousandths. To be done
    before anything is computed from the log. Raises Refusal for a larger error.
    """
    _check_error(error, unit, "probe_error")
    own = convert_difference(error, unit, series.unit)
    return series.corrected(lambda value: value - own)


def corrected_for_two_points(
    series: Series,
    *,
    low_reading: Decimal,
    low_true: Decimal,
    high_reading: Decimal,
    high_true: Decimal,
    unit: str,
) -> Series:
    """The series put right by two as-found points: the straight line through (reading, true), all in `unit`.

    true = low_true + (reading - low_reading) * (high_true - low_true) / (high_reading - low_reading); beyond
    the points the line is continued. Valid for errors up to 5 °C at points at least 10 °C apart (common
    practice, no source). Values half up to thousandths. Raises Refusal otherwise.
    """
    low, low_ref = convert(low_reading, unit, series.unit), convert(low_true, unit, series.unit)
    high, high_ref = convert(high_reading, unit, series.unit), convert(high_true, unit, series.unit)
    _check_error(low_reading - low_true, unit, "low_reading")
    _check_error(high_reading - high_true, unit, "high_reading")
    apart = min(high - low, high_ref - low_ref)
    if convert_difference(apart, series.unit, "degC") < CLOSEST_POINTS_C:
        raise Refusal(say("heat_points_too_close", least=rounding.amount("10", "degC")), "high_reading")
    line = AsFound.two_points(shown_low=low, true_low=low_ref, shown_high=high, true_high=high_ref)
    return series.corrected(line.corrected)


def _check_error(error: Decimal, unit: str, field: str) -> None:
    error_c = convert_difference(error, unit, "degC") if error.is_finite() else error
    require_within(
        error_c,
        -LARGEST_ERROR_C,
        LARGEST_ERROR_C,
        quantity="probe_error",
        unit="degC",
        source=_PRACTICE,
        field=field,
    )


@dataclass(frozen=True)
class PhosphataseResult:
    """A phosphatase test: whether it counts as negative, and what that proves."""

    negative: bool
    limit_milliunits_per_l: Decimal
    law: bool
    sentence: Sentence
    proves: Sentence
    source: str


def judge_phosphatase(species: str, *, milliunits_per_l: Decimal) -> PhosphataseResult:
    """Alkaline phosphatase of milk in mU/L against the limit of its species (or of the American ordinance).

    Cow 350 mU/L or less (EU law, ISO 11816-1); goat 300 and sheep 500 are an opinion of EFSA, not law; the
    American ordinance says less than 350. Valid for milk and cream, not for cheese: there hot scalding and
    inner mould disturb it (scope of ISO 11816-2). A pass shows that the enzyme was destroyed, which happens
    at about the heat of pasteurisation; it does not show the time or that nothing came in later, and in goat
    milk it says less, as its raw milk has about a fifth of the enzyme. Raises Refusal for an unknown species
    or a value that is negative or above 10 000 000 mU/L.
    """
    if species not in PHOSPHATASE:
        raise Refusal(
            say("heat_species_unknown", option=species, options=" ".join(PHOSPHATASE)), "phosphatase_milk"
        )
    limit = PHOSPHATASE[species]
    require_within(
        milliunits_per_l,
        Decimal(0),
        Decimal(10_000_000),
        quantity="phosphatase",
        unit="ratio",
        source=_PRACTICE,
        field="phosphatase",
    )
    most = limit.milliunits_per_l
    negative = milliunits_per_l < most or (limit.exactly_passes and milliunits_per_l == most)
    value, bound = f"{rounding.trim(milliunits_per_l)} mU/L", f"{rounding.trim(most)} mU/L"
    sentence = (
        say("heat_phosphatase_negative", option=species, value=value, limit=bound)
        if negative
        else say("heat_phosphatase_positive", option=species, value=value, limit=bound)
    )
    proves = say("heat_phosphatase_goat") if species == "goat_milk" else say("heat_phosphatase_proves")
    return PhosphataseResult(negative, most, limit.law, sentence, proves, limit.source)


def thermisation_credit() -> tuple[Decimal, Sentence]:
    """The log10 reduction credited to a heat treatment below pasteurisation: always zero, with the reason.

    Source: D of S. aureus in whey (about 2 log10 in 15 s at 65.6 °C) and survivors of L. monocytogenes up to
    67.5 °C in 16.2 s; temperatures and times: `heat_tables.THERMISATIONS`.
    """
    row = THERMISATIONS[0]
    low, high = (rounding.amount(rounding.trim(value), "degC") for value in (row.low_c, row.high_c))
    return Decimal(0), say("heat_thermisation", low=low, high=high, hold=duration_text(row.seconds))
