"""The words of checks of instruments."""

from django.utils.translation import gettext_lazy as _

from safetyplan.words.shape import Words

NAMES: Words = {
    "thermometer_check": _("thermometer check"),
    "ice_point": _("ice point"),
    "boiling_point": _("boiling point"),
    "readings_two_points": _("readings put right by two points"),
    "readings_one_point": _("readings put right by one error"),
    "thermometer_shown": _("what the thermometer shows"),
    "thermometer_use": _("kind of thermometer"),
    "probe_half_degree": _("probe for food, ± 0.5 °C"),
    "probe_one_degree": _("probe for food, ± 1 °C"),
    "air_space_thermometer": _("air-space thermometer of a pasteuriser, ± 0.5 °C"),
    "recorder_thermometer": _("recording thermometer, ± 1 °F"),
    "storage_thermometer": _("thermometer of a store, ± 2 °F"),
    "shown_low": _("shown at the cold point"),
    "true_low": _("true at the cold point"),
    "shown_high": _("shown at the hot point"),
    "true_high": _("true at the hot point"),
    "error_found": _("error found: shown minus true"),
    "readings": _("readings"),
    "ph_meter_check": _("pH meter check"),
    "electrode_millivolts": _("slope and offset from millivolts"),
    "buffer_readings": _("reading in a buffer"),
    "buffer_neutral": _("neutral buffer"),
    "buffer_other": _("second buffer"),
    "buffer_read": _("buffer"),
    "buffer_temperature": _("temperature of the buffers"),
    "buffer_ph": _("pH of the buffer"),
    "mv_neutral": _("millivolts in the neutral buffer"),
    "mv_other": _("millivolts in the second buffer"),
    "electrode_mv": "mV",
    "electrode_line": _("measured"),
    "electrode_acceptance": _("criterion"),
    "electrode_usual": _("85 to 105 %, offset 30 mV"),
    "electrode_food": _("92 to 102 %, offset 30 mV"),
    "electrode_strict": _("95 to 102 %, offset 30 mV"),
    "technical_4": _("technical buffer 4.00"),
    "technical_7": _("technical buffer 7.00"),
    "phosphate_6_86": _("phosphate buffer 6.86"),
    "phthalate_4": _("phthalate buffer 4.01"),
    "borate_9_18": _("borate buffer 9.18"),
    "technical_10": _("technical buffer 10.01"),
    "ph_shown": _("what the meter shows"),
    "ph_tolerance": _("tolerance"),
    "slope": _("slope of the line through two points"),
    "buffers": _("buffers"),
    "reference": _("comparison with a reference"),
    "scales": _("test weights"),
    "stated_buffer": _("another buffer, its pH as on the label"),
}

WORDS: Words = {
    "look_back_since": _(
        "Instrument %(instrument)s failed its check on %(failed_at)s. What it showed since its last good "
        "check on %(good_at)s is not valid."
    ),
    "look_back_never": _(
        "Instrument %(instrument)s failed its check on %(failed_at)s, and no earlier check found it good: "
        "nothing that it showed since it was registered is valid."
    ),
    "look_back_known": _(
        "Instrument %(instrument)s had failed its check on %(failed_at)s and was not found good again before "
        "this reading: it is not valid."
    ),
    "instrument_no_number": _("An error needs two numbers: what was shown, and what is true."),
    "instrument_points_close": _(
        "The two points must lie at least 1 ° apart and rise together: check which is cold and which is hot."
    ),
    "instrument_within": _("The error is %(error)s, within the tolerance of ± %(tolerance)s."),
    "instrument_outside": _(
        "The error is %(error)s, outside the tolerance of ± %(tolerance)s: the check fails."
    ),
    "instrument_undecided": _(
        "Undecided: the error is %(error)s against a tolerance of ± %(tolerance)s, and the weather alone can "
        "make ± %(unsure)s of it. Use the pressure of the place."
    ),
    "instrument_repeat_within": _(
        "The same weight again differs by %(spread)s at most, within %(tolerance)s."
    ),
    "instrument_repeat_outside": _(
        "The same weight again differs by %(spread)s, more than %(tolerance)s: the check fails."
    ),
    "instrument_reference_not_in_order": _(
        "The reference is itself not in order (its certificate has expired, its check is overdue or has "
        "failed): with it nothing passes."
    ),
    "instrument_step_ice": _("Melting ice of clean water is %(true)s."),
    "instrument_step_pressure": _("At %(pressure)s water boils at %(true)s."),
    "instrument_step_altitude": _(
        "Standard atmosphere at h = %(altitude)s: 1013.25 hPa × (1 − 0.0000225577 × h)^5.25588 = "
        "%(pressure)s."
    ),
    "instrument_step_error": _("Error = shown − true = %(shown)s − %(true)s = %(error)s"),
    "instrument_step_constant": _("True = shown − error, with an error of %(error)s at every temperature."),
    "instrument_step_line": _(
        "Slope = (true hot − true cold) ÷ (shown hot − shown cold) = (%(true_high)s − %(true_low)s) ÷ "
        "(%(shown_high)s − %(shown_low)s) = %(slope)s"
    ),
    "instrument_step_reading": _(
        "True = true cold + slope × (shown − shown cold) = %(true_low)s + %(slope)s × (%(shown)s − "
        "%(shown_low)s) = %(true)s"
    ),
    "instrument_recomputed": _("Shown %(shown)s: true would have been %(true)s."),
    "instrument_recomputed_caution": _(
        "A recomputed value is evidence for the person who evaluates. It does not replace the reading and "
        "acquits nothing."
    ),
    "instrument_look_back": _(
        "A failed check reaches back: every critical reading since the last good check of this instrument is "
        "in question, with its lots. Open a deviation."
    ),
    "instrument_caution": _(
        "A check shows the instrument at one moment. A qualified person decides whether it stays in use."
    ),
    "instrument_valid_ice": _(
        "Crushed ice of clean water, half melted and stirred, the probe in the middle, read when it "
        "stands still."
    ),
    "instrument_valid_pressure": _(
        "The pressure of the place itself, 600 to 1100 hPa, not the one reduced to sea level of a forecast; "
        "clean water at a full boil."
    ),
    "instrument_valid_altitude": _(
        "Standard atmosphere, −100 to 3500 m. The weather moves the boiling point by up to 0.5 °C: with"
        " a tighter "
        "tolerance use the pressure of the place."
    ),
    "instrument_valid_line": _("Between and near the two points; the error is taken as a straight line."),
    "instrument_valid_constant": _("Near the temperature at which the error was found."),
    "instrument_pressure_or_altitude": _(
        "Give the air pressure of the place, or the altitude: one of the two."
    ),
    "instrument_pressure_help": _("Of the place, not reduced to sea level."),
    "instrument_altitude_help": _("Where the pressure is not known."),
    "ph_stated_missing": _("Give the pH on the label of this buffer, at its temperature."),
    "ph_nothing_to_judge": _(
        "Nothing here can be judged: give what the meter shows in a buffer (by its tolerance), or "
        "millivolts, or slope and offset (by the criterion of its electrode)."
    ),
    "ph_buffers_close": _("The two buffers must lie at least 1 pH apart."),
    "ph_step_buffer": _("The %(option)s has %(ph)s at %(temperature)s."),
    "ph_millivolts_exchanged": _(
        "The more acid buffer must give the higher millivolts. Were the two readings exchanged?"
    ),
    "ph_step_theory": _(
        "Slope by theory = 1000 × ln 10 × 8.31446 × T ÷ 96485.3, T = %(kelvin)s K: %(theory)s per pH."
    ),
    "ph_step_slope": _(
        "Slope = (%(mv_high)s − %(mv_low)s) ÷ (%(ph_high)s − %(ph_low)s) = %(found)s per pH; ÷ %(theory)s by "
        "theory = %(slope)s"
    ),
    "ph_step_offset": _(
        "Offset, at pH 7 on the same line = %(mv_low)s + (%(found)s per pH) × (pH 7 − %(ph_low)s) = "
        "%(offset)s"
    ),
    "ph_step_error": _("Error = shown − true = %(shown)s − %(true)s = %(error)s"),
    "ph_accepted": _(
        "Slope %(slope)s (%(low)s to %(high)s) and offset %(offset)s (at most ± %(most)s): the "
        "electrode meets "
        "the criterion."
    ),
    "ph_slope_outside": _("Slope %(slope)s, outside %(low)s to %(high)s: the electrode fails the criterion."),
    "ph_offset_outside": _("Offset %(offset)s, beyond ± %(most)s: the electrode fails the criterion."),
    "ph_both_outside": _(
        "Slope %(slope)s (%(low)s to %(high)s) and offset %(offset)s (at most ± %(most)s): both outside, the "
        "electrode fails the criterion."
    ),
    "ph_reading_within": _("The error is %(error)s pH, within the tolerance of ± %(tolerance)s pH."),
    "ph_reading_outside": _(
        "The error is %(error)s pH, outside the tolerance of ± %(tolerance)s pH: the check fails."
    ),
    "ph_tolerance_positive": _("The tolerance must be above zero."),
    "ph_valid": _(
        "Fresh buffers, their pH at the temperature measured; electrode rinsed and at rest. Cheese lies"
        " between "
        "the buffers 4 and 7."
    ),
    "ph_what_to_do": _(
        "Clean the electrode, take fresh buffers, calibrate, and check again before the next reading."
    ),
    "ph_buffers_confused": _(
        "This also comes of taking the buffer 6.86 for the buffer 7.00, or the reverse, which differ by "
        "about 0.14 pH: read the label."
    ),
}
