"""The words of ageing."""

from django.utils.translation import gettext_lazy as _

from safetyplan.words.shape import Words

NAMES: Words = {
    "ageing_time": _("ageing time"),
    "days_at_temperature": _("days that count"),
    "weight_lost": _("weight lost"),
    "room_warmth": _("warmth of the room over time"),
    "room_log": _("temperatures of the ripening room"),
    "make_to_first_reading": _("time from the make to the first line"),
    "rule_days": _("days of the rule"),
    "rule_temperature": _("lowest temperature of the rule"),
    "longest_gap": _("longest time one reading stands for"),
    "start_weight": _("weight at the start"),
    "weight_now": _("weight now"),
    "base_temperature": _("base of the degree-days"),
    "q10": _("Q10"),
    "reference_temperature": _("reference temperature"),
    "activation": _("heat of activation over gas constant, in kelvin"),
    "room_temperature": _("room temperature"),
    "ageing_days": _("days of ageing"),
    "days_since_make": _("days since the make"),
    "days_since_first_reading": _("days since the first reading"),
    "days_that_do_not_count": _("does not count, or not shown"),
    "mean_kinetic_temperature": _("mean kinetic temperature"),
}

FINDINGS: Words = {
    "ageing_days_reached": _(
        "By this log %(counted)s at or above %(limit)s count: the legal minimum of %(least)s is reached, and "
        "that is all it shows."
    ),
    "ageing_days_short": _(
        "By this log %(counted)s at or above %(limit)s count; %(short)s of the legal minimum of "
        "%(least)s are "
        "still missing."
    ),
    "ageing_days_below": _("Days that do not count, because a reading was below the rule: %(below)s."),
    "ageing_days_not_shown": _("Days not shown, because nobody measured: %(hidden)s. They do not count."),
    "ageing_by_calendar": _(
        "Made on %(made)s (day 0), the earliest day by the calendar is %(earliest)s (%(days)s days). "
        "Days that "
        "do not count make it later."
    ),
    "ageing_rule_met": _(
        "The days and the lowest temperature keep the legal minimum: %(least)s at %(limit)s."
    ),
    "ageing_rule_too_short": _("%(days)s is shorter than the legal minimum of %(least)s."),
    "ageing_rule_too_cold": _("The lowest temperature %(lowest)s is below %(limit)s of the rule."),
    "ageing_weight_loss": _("From %(start)s to %(now)s the weight loss is %(percent)s."),
    "ageing_weight_gain": _(
        "From %(start)s to %(now)s there is a gain of %(percent)s. A cheese that ripens loses "
        "weight: check the "
        "scale, and whether it is the same cheese."
    ),
    "ageing_kinetic": _(
        "Mean kinetic temperature over the %(days)s with readings: %(kinetic)s (the plain mean is %(mean)s)."
    ),
    "ageing_degree_days": _("Degree-days above %(base)s: %(total)s × days."),
    "ageing_q10": _("By the Q10 assumed, this is as %(days)s at %(reference)s."),
    "ageing_q10_assumed": _(
        "Q10 = %(q10)s is your assumption: no single value is published for the ripening of cheese."
    ),
}

STEPS: Words = {
    "ageing_step_log": _(
        "%(count)s readings. From the make to the last line: %(whole)s, of which %(before)s before the first "
        "line."
    ),
    "ageing_step_stretch": _(
        "From %(first)s to %(last)s every reading is at or above %(limit)s, without a gap: %(days)s."
    ),
    "ageing_step_other_stretches": _("%(count)s further stretches in the same way, together %(days)s."),
    "ageing_step_counted": _("Days that count = the sum of these stretches = %(counted)s."),
    "ageing_step_below": _(
        "Between two readings of which at least one is below %(limit)s nothing counts: %(below)s."
    ),
    "ageing_step_hidden": _(
        "Not shown = %(whole)s − %(counted)s − %(below)s = %(hidden)s (before the first line, in "
        "gaps, after the "
        "last reading)."
    ),
    "ageing_step_weight": _(
        "Weight loss = 100 × (start − now) ÷ start = 100 × (%(start)s − %(now)s) ÷ %(start)s = %(percent)s."
    ),
    "ageing_step_kinetic_formula": _(
        "Each reading stands for half the time to its neighbours; a gap counts for nothing. T in "
        "kelvin (°C + "
        "273.15). Rate of each, relative to the first (%(first)s): exp(%(activation)s ÷ T first − "
        "%(activation)s "
        "÷ T)."
    ),
    "ageing_step_rate": _("%(temperature)s stands for %(days)s: rate %(rate)s."),
    "ageing_step_other_readings": _("%(count)s further readings in the same way."),
    "ageing_step_kinetic_mean": _("Mean rate = sum of (days × rate) ÷ sum of the days = %(rate)s."),
    "ageing_step_kinetic": _(
        "Mean kinetic temperature = %(activation)s ÷ (%(activation)s ÷ %(first)s − ln %(rate)s) = "
        "%(kelvin)s K "
        "= %(kinetic)s."
    ),
    "ageing_step_base_formula": _(
        "Degree-days: for each span between two readings, its days × the mean height above %(base)s; "
        "where the "
        "line crosses the base, only the part above it (height × height ÷ (2 × whole difference)). "
        "Gaps count "
        "for nothing."
    ),
    "ageing_step_span": _(
        "%(days)s from %(low)s to %(high)s: mean height above %(base)s = %(mean)s degrees."
    ),
    "ageing_step_other_spans": _("%(count)s further spans in the same way."),
    "ageing_step_degree_days": _("Sum of (days × mean height) = %(total)s × days."),
    "ageing_step_q10_formula": _(
        "Equivalent days = sum of (days × factor), factor = %(q10)s to the power of (T − "
        "%(reference)s) ÷ 10 °C."
    ),
    "ageing_step_q10_reading": _("%(temperature)s stands for %(days)s: factor %(factor)s."),
    "ageing_step_q10_sum": _("Sum of (days × factor) = %(days)s."),
}

NOTES: Words = {
    "ageing_help_log": _(
        "One line per reading: the date and time, then the temperature; or a plain number of days since the "
        "make. Write “-” where nothing was read."
    ),
    "ageing_help_first": _(
        "Leave empty when the first line is the make, or when the log is in days since it."
    ),
    "ageing_help_gap": _("A longer pause between two readings is a gap: what happened in it is not shown."),
    "ageing_help_q10": _(
        "How many times faster ripening goes when it is 10 °C warmer. Your assumption; give a reference "
        "temperature with it."
    ),
    "ageing_validity_span": _(
        "A span counts when the readings at both of its ends are at or above the temperature of the rule, "
        "compared in the unit of the rule. Days are days of 24 hours; the calendar day of make is day 0."
    ),
    "ageing_validity_room": _("For rooms from -30 to 60 °C (-22 to 140 °F) and up to 3650 days."),
    "ageing_validity_weight": _("For weights above 0 and up to 50 000 kg."),
    "ageing_validity_kinetic": _(
        "Straight lines between readings are assumed. The mean kinetic temperature is never below "
        "the mean; its "
        "10 000 K is the customary value, from memory."
    ),
    "ageing_alone": _("Ageing alone never controls Listeria or STEC."),
    "ageing_legal_minimum": _(
        "60 days is a legal minimum of some countries, not a kill step: outbreaks have shown it."
    ),
    "ageing_warmth_only": _(
        "These figures sum up the warmth of a room. No limit is published for them in cheese; they "
        "judge nothing."
    ),
    "ageing_same_scale": _("Weigh the same cheese on the same checked scale."),
    "ageing_weight_says_nothing": _(
        "Weight loss alone tells nothing about water activity or about a hazard."
    ),
    "ageing_qualified_person": _(
        "What may leave is decided by a qualified person, under the rules of the authority of your country."
    ),
}

REFUSALS: Words = {
    "ageing_not_valid": _("The instrument behind this log is not valid, so it shows nothing."),
    "ageing_no_span": _("Two readings without a gap between them are needed: one alone lasts for no time."),
    "ageing_no_such_date": _("%(days)s days after %(made)s is beyond the calendar (years 1 to 9999)."),
    "ageing_whole_days": _("The days of the rule are whole days, from 1 to 3650, not %(days)s."),
    "ageing_two_starts": _(
        "The first line is written as %(first)s after the make, and this field says %(other)s. Which one is "
        "right?"
    ),
}

WORDS: Words = {**FINDINGS, **STEPS, **NOTES, **REFUSALS}
