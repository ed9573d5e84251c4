"""Checking a pH meter: slope and offset from millivolts in two buffers, or its readings in buffers."""

from dataclasses import dataclass
from decimal import Decimal

from safetyplan.calculation import instruments
from safetyplan.calculation.instruments import Electrode
from safetyplan.calculation.instruments_tables import ACCEPTANCES, BUFFERS, Acceptance
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import amount, decimal_text, trim
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.worked.shape import Answers, Ask, Calculator, Chart, Task, Worked

_TEMPERATURE = Ask("buffer_temperature", quantity="temperature", units=("degC", "degF"))
_NEUTRAL = ("technical_7", "phosphate_6_86")
_OTHER = ("technical_4", "phthalate_4", "borate_9_18", "technical_10")


def _mv(value: Decimal) -> str:
    return amount(decimal_text(value, 1), "mV")


def _ph(value: Decimal) -> str:
    return amount(decimal_text(value, 2), "pH")


def _temperature(answers: Answers) -> Decimal:
    return answers.number("buffer_temperature").in_unit("degC")


def _buffer(name: str, temperature_c: Decimal) -> tuple[Decimal, Sentence]:
    try:
        ph = instruments.buffer_ph(name, temperature_c=temperature_c)
    except Refusal as refusal:
        raise Refusal(refusal.sentence, "buffer_temperature") from refusal
    at = amount(decimal_text(temperature_c, 1), "degC")
    return ph, say("ph_step_buffer", option=name, temperature=at, ph=_ph(ph))


@dataclass(frozen=True)
class _Pair:
    """Two buffers at a temperature with the millivolts in each, the lower pH first."""

    temperature_c: Decimal
    ph_low: Decimal
    mv_low: Decimal
    ph_high: Decimal
    mv_high: Decimal
    neutral_first: bool

    def electrode(self) -> Electrode:
        """Slope and offset; a refusal names the input of the buffer it belongs to."""
        try:
            return instruments.electrode(
                mv_low=self.mv_low,
                ph_low=self.ph_low,
                mv_high=self.mv_high,
                ph_high=self.ph_high,
                temperature_c=self.temperature_c,
            )
        except Refusal as refusal:
            of_neutral = "mv_low" if self.neutral_first else "mv_high"
            field = "mv_neutral" if refusal.field == of_neutral else "mv_other"
            raise Refusal(refusal.sentence, field) from refusal

    def steps(self, found: Electrode) -> tuple[Sentence, ...]:
        """The working of slope and offset."""
        slope, theory = (amount(decimal_text(value, 2), "mV") for value in (found.slope_mv, found.theory_mv))
        kelvin = decimal_text(self.temperature_c + instruments.KELVIN, 2)
        low, mv_low = _ph(self.ph_low), _mv(self.mv_low)
        return (
            say("ph_step_theory", kelvin=kelvin, theory=theory),
            say(
                "ph_step_slope",
                mv_low=mv_low,
                mv_high=_mv(self.mv_high),
                ph_low=low,
                ph_high=_ph(self.ph_high),
                found=slope,
                theory=theory,
                slope=_slope(found),
            ),
            say("ph_step_offset", mv_low=mv_low, found=slope, ph_low=low, offset=_mv(found.offset_mv)),
        )


def _slope(found: Electrode) -> str:
    return amount(decimal_text(found.slope_percent, 1), "percent")


def work_millivolts(answers: Answers) -> Worked:
    """Slope and offset from the millivolts in a neutral and another buffer."""
    temperature = _temperature(answers)
    neutral, other = answers.choice("buffer_neutral"), answers.choice("buffer_other")
    ph_neutral, step_neutral = _buffer(neutral, temperature)
    ph_other, step_other = _buffer(other, temperature)
    mv_neutral, mv_other = answers.number("mv_neutral").value, answers.number("mv_other").value
    low, high = sorted(((ph_neutral, mv_neutral), (ph_other, mv_other)))
    pair = _Pair(temperature, *low, *high, neutral_first=low[0] == ph_neutral)
    found = pair.electrode()
    acceptance = ACCEPTANCES[answers.choice("electrode_acceptance")]
    verdict = instruments.judge_electrode(found, acceptance)
    confused = instruments.electrode_looks_confused(
        found, seven=neutral, other_ph=ph_other, temperature_c=temperature
    )
    sources = (BUFFERS[neutral].source, BUFFERS[other].source, acceptance.source)
    return Worked(
        result=_verdict(verdict, found, acceptance),
        steps=(step_neutral, step_other, *pair.steps(found)),
        validity=(say("ph_valid"),),
        cautions=_cautions(verdict, confused),
        sources=(instruments.NERNST_SOURCE, *sources),
        chart=Chart(x="buffer_ph", y="electrode_mv", trace="electrode_line", points=(low, high)),
    )


def _verdict(verdict: str, found: Electrode, acceptance: Acceptance) -> Sentence:
    slope, offset = _slope(found), _mv(found.offset_mv)
    low, high = (amount(trim(end), "percent") for end in (acceptance.slope_low, acceptance.slope_high))
    most = amount(trim(acceptance.offset_mv), "mV")
    if verdict == "accepted":
        return say("ph_accepted", slope=slope, offset=offset, low=low, high=high, most=most)
    if verdict == "slope":
        return say("ph_slope_outside", slope=slope, low=low, high=high)
    if verdict == "offset":
        return say("ph_offset_outside", offset=offset, most=most)
    return say("ph_both_outside", slope=slope, offset=offset, low=low, high=high, most=most)


def _cautions(verdict: str, confused: bool) -> tuple[Sentence, ...]:
    found = [] if verdict == "accepted" else [say("instrument_look_back"), say("ph_what_to_do")]
    if confused:
        found.append(say("ph_buffers_confused"))
    return (*found, say("instrument_caution"))


def work_readings(answers: Answers) -> Worked:
    """The meter's own reading in a buffer, against the buffer's pH at its temperature."""
    temperature = _temperature(answers)
    name = answers.choice("buffer_read")
    true, step = _buffer(name, temperature)
    shown, tolerance = answers.number("ph_shown"), answers.number("ph_tolerance")
    if tolerance.value <= 0:
        raise Refusal(say("ph_tolerance_positive"), "ph_tolerance")
    error = instruments.error_of(shown=shown.value, true=true)
    text = f"{'+' if error > 0 else ''}{decimal_text(error, 2)}"
    within = instruments.within_tolerance(error, tolerance.value)
    verdict = (
        say("ph_reading_within", error=text, tolerance=trim(tolerance.value))
        if within
        else say("ph_reading_outside", error=text, tolerance=trim(tolerance.value))
    )
    cautions = [] if within else [say("instrument_look_back"), say("ph_what_to_do")]
    if instruments.looks_confused(error, buffer=name, temperature_c=temperature):
        cautions.append(say("ph_buffers_confused"))
    return Worked(
        result=verdict,
        steps=(step, say("ph_step_error", shown=shown.text, true=_ph(true), error=text)),
        validity=(say("ph_valid"),),
        cautions=(*cautions, say("instrument_caution")),
        sources=(BUFFERS[name].source,),
    )


CALCULATOR = Calculator(
    "ph_meter_check",
    (
        Task(
            "electrode_millivolts",
            (
                Ask("buffer_neutral", "choice", options=_NEUTRAL),
                Ask("mv_neutral", quantity="potential", units=("mV",)),
                Ask("buffer_other", "choice", options=_OTHER),
                Ask("mv_other", quantity="potential", units=("mV",)),
                _TEMPERATURE,
                Ask("electrode_acceptance", "choice", options=tuple(ACCEPTANCES)),
            ),
            work_millivolts,
        ),
        Task(
            "buffer_readings",
            (
                Ask("buffer_read", "choice", options=tuple(BUFFERS)),
                Ask("ph_shown", quantity="ph", units=("pH",)),
                _TEMPERATURE,
                Ask("ph_tolerance", quantity="ph", units=("pH",), default="0.05"),
            ),
            work_readings,
        ),
    ),
)
