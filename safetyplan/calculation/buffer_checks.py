"""A check of a pH meter in buffers: its readings by the tolerance, its electrode by the criterion."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from safetyplan.calculation import instruments
from safetyplan.calculation.instrument_checks import STATED, Allowed, Outcome, Point, judge_points
from safetyplan.calculation.instruments import Electrode
from safetyplan.calculation.instruments_tables import ACCEPTANCES, BUFFERS, Acceptance
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import amount, decimal_text, shown_against, trim
from safetyplan.calculation.sentences import Sentence, say


@dataclass(frozen=True)
class InBuffer:
    """A pH meter in one buffer: the buffer, its pH if it is none of the table, what was shown, millivolts."""

    buffer: str
    shown: Decimal | None = None
    mv: Decimal | None = None
    stated: Decimal | None = None

    def ph(self, temperature_c: Decimal) -> Decimal:
        """The pH of the buffer at a temperature; of one outside the table what its label states there."""
        if self.buffer != STATED:
            return instruments.buffer_ph(self.buffer, temperature_c=temperature_c)
        if self.stated is None:
            raise Refusal(say("ph_stated_missing"), "stated")
        return self.stated


def check_buffers(
    found: Sequence[InBuffer],
    *,
    temperature_c: Decimal,
    allowed: Allowed | None,
    criterion: str = "",
    slope_percent: Decimal | None = None,
    offset_mv: Decimal | None = None,
) -> Outcome:
    """A pH meter in buffers: its readings by the tolerance, and its electrode by the criterion.

    The electrode by the millivolts in two buffers, or else by slope and offset as the meter tells them.
    Passed only where all that was read is within. Raises Refusal: nothing that can be judged was read, or a
    temperature outside the tables.
    """
    read = [(one, one.ph(temperature_c)) for one in found]
    points = [Point(ph, one.shown) for one, ph in read if one.shown is not None]
    at = amount(decimal_text(temperature_c, 1), "degC")
    steps = tuple(
        say("ph_step_buffer", option=one.buffer, temperature=at, ph=amount(decimal_text(ph, 2), "pH"))
        for one, ph in read
    )
    sources = tuple(dict.fromkeys(BUFFERS[one.buffer].source for one in found if one.buffer in BUFFERS))
    outcome = Outcome(None)
    if points and allowed is not None:
        outcome = judge_points(points, unit="pH", allowed=allowed)
        outcome = replace(outcome, said=(*outcome.said, *_confused(read, temperature_c)))
    of_electrode = _electrode(read, temperature_c, slope_percent, offset_mv)
    if of_electrode is not None and criterion:
        outcome = _with_electrode(outcome, of_electrode, ACCEPTANCES[criterion])
        sources = (instruments.NERNST_SOURCE, *sources, ACCEPTANCES[criterion].source)
    if not outcome.said:
        raise Refusal(say("ph_nothing_to_judge"), "shown")
    if of_electrode is not None:
        outcome = replace(outcome, steps=(*outcome.steps, *_working(read, of_electrode, temperature_c)))
    return replace(outcome, steps=(*steps, *outcome.steps), sources=sources)


def _farthest(read: Sequence[tuple[InBuffer, Decimal]]) -> list[tuple[Decimal, Decimal]]:
    """The pH and the millivolts of the two buffers farthest apart; none where fewer were measured."""
    measured = sorted((ph, one.mv) for one, ph in read if one.mv is not None)
    return [measured[0], measured[-1]] if len(measured) > 1 else []


def _working(
    read: Sequence[tuple[InBuffer, Decimal]], found: Electrode, temperature_c: Decimal
) -> tuple[Sentence, ...]:
    """The working of slope and offset, where they were computed from millivolts."""
    pair = _farthest(read)
    if not pair:
        return ()
    (ph_low, mv_low), (ph_high, mv_high) = pair
    slope, theory = (amount(decimal_text(value, 2), "mV") for value in (found.slope_mv, found.theory_mv))
    low, at_low = amount(decimal_text(ph_low, 2), "pH"), amount(decimal_text(mv_low, 1), "mV")
    return (
        say("ph_step_theory", kelvin=decimal_text(temperature_c + instruments.KELVIN, 2), theory=theory),
        say(
            "ph_step_slope",
            mv_low=at_low,
            mv_high=amount(decimal_text(mv_high, 1), "mV"),
            ph_low=low,
            ph_high=amount(decimal_text(ph_high, 2), "pH"),
            found=slope,
            theory=theory,
            slope=amount(decimal_text(found.slope_percent, 1), "percent"),
        ),
        say(
            "ph_step_offset",
            mv_low=at_low,
            found=slope,
            ph_low=low,
            offset=amount(decimal_text(found.offset_mv, 1), "mV"),
        ),
    )


def _confused(read: Sequence[tuple[InBuffer, Decimal]], temperature_c: Decimal) -> tuple[Sentence, ...]:
    for one, ph in read:
        if one.shown is not None and one.buffer in BUFFERS:
            error = one.shown - ph
            if instruments.looks_confused(error, buffer=one.buffer, temperature_c=temperature_c):
                return (say("ph_buffers_confused"),)
    return ()


def _electrode(
    read: Sequence[tuple[InBuffer, Decimal]],
    temperature_c: Decimal,
    slope_percent: Decimal | None,
    offset_mv: Decimal | None,
) -> Electrode | None:
    """Slope and offset by the millivolts in the two buffers farthest apart, or as the meter tells them."""
    pair = _farthest(read)
    if pair:
        (ph_low, mv_low), (ph_high, mv_high) = pair
        return instruments.electrode(
            mv_low=mv_low, ph_low=ph_low, mv_high=mv_high, ph_high=ph_high, temperature_c=temperature_c
        )
    if slope_percent is None or offset_mv is None:
        return None
    theory = instruments.nernst_slope_mv(temperature_c=temperature_c)
    return Electrode(-theory * slope_percent / 100, theory, slope_percent, offset_mv, Decimal(0))


def _with_electrode(outcome: Outcome, found: Electrode, acceptance: Acceptance) -> Outcome:
    verdict = instruments.judge_electrode(found, acceptance)
    accepted = verdict == "accepted"
    readings_failed = outcome.passed is False
    return replace(
        outcome,
        passed=accepted and not readings_failed,
        said=(*outcome.said, electrode_said(verdict, found, acceptance)),
    )


def electrode_said(verdict: str, found: Electrode, acceptance: Acceptance) -> Sentence:
    """The words for an electrode against its criterion."""
    slope = amount(
        shown_against(found.slope_percent, _edge(found, acceptance), "percent", "percent"), "percent"
    )
    offset = amount(decimal_text(found.offset_mv, 1), "mV")
    low, high = (amount(trim(end), "percent") for end in (acceptance.slope_low, acceptance.slope_high))
    most = amount(trim(acceptance.offset_mv), "mV")
    if verdict == "accepted":
        return say("ph_accepted", slope=slope, offset=offset, low=low, high=high, most=most)
    if verdict == "slope":
        return say("ph_slope_outside", slope=slope, low=low, high=high)
    if verdict == "offset":
        return say("ph_offset_outside", offset=offset, most=most)
    return say("ph_both_outside", slope=slope, offset=offset, low=low, high=high, most=most)


def _edge(found: Electrode, acceptance: Acceptance) -> Decimal:
    """The edge of the criterion a slope lies nearer to."""
    low, high = acceptance.slope_low, acceptance.slope_high
    return low if abs(found.slope_percent - low) <= abs(found.slope_percent - high) else high
