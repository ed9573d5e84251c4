"""The words of acidification."""

from django.utils.translation import gettext_lazy as _

from safetyplan.words.shape import Words

NAMES: Words = {
    "ph_forecast": _("pH forecast"),
    "target_time": _("when the target is reached"),
    "ph_log": _("pH readings of the vat"),
    "starter_to_first_reading": _("time from starter to first line"),
    "target_ph": _("target pH of the recipe"),
    "target_hours": _("hour by which it must be reached, after the starter"),
    "cheese_family": _("published values to compare with"),
    "hours_since_starter": _("hours since the starter"),
    "measured_ph": _("measured pH"),
    "titre": _("titre"),
    "normality": _("normality of the sodium hydroxide"),
    "sample_volume": _("volume of the sample"),
    "no_comparison": _("none"),
    "uncooked_semi_hard": _("uncooked semi-hard raw-milk cheese (Saint-Nectaire type)"),
    "salers_type": _("uncooked pressed raw-milk cheese (Salers type)"),
    "lactic_goat": _("farm goat lactic cheese"),
    "lactic_course": _("lactic cheese, taught values"),
    "fresh_white_mould": _("fresh white-mould cheese"),
    "cheddar": _("Cheddar"),
    "gouda": _("Gouda"),
    "soft_mould_ripened": _("soft mould-ripened cheese"),
    "cheddar_high_ph": _("a Cheddar make at higher pH"),
    "cheddar_low_ph": _("a Cheddar make at lower pH"),
    "make_start": _("the start of the make"),
    "renneting": _("renneting"),
    "renneting_fresh": _("renneting, fresh milk"),
    "renneting_ripened": _("renneting, ripened milk"),
    "moulding": _("moulding"),
    "unmoulding": _("unmoulding"),
    "draining_curd": _("draining of the curd"),
    "fresh_cheese": _("the fresh cheese"),
    "next_morning": _("the next morning"),
    "milk_for_cheese": _("coagulase-positive staphylococci in the milk"),
    "milk_for_cheese_best": _("coagulase-positive staphylococci in the milk, best"),
}

FINDINGS: Words = {
    "acidification_reached": _(
        "%(target)s was reached at about %(hours)s after the starter, read off a straight line between "
        "%(p0)s at %(t0)s and %(p1)s at %(t1)s."
    ),
    "acidification_measured": _("%(target)s was first measured at %(hours)s after the starter."),
    "acidification_from_start": _(
        "The first reading, at %(measured)s, is already at or below %(target)s. When it got there is "
        "not known."
    ),
    "acidification_not_reached": _(
        "%(target)s was not reached in this log; the lowest value is %(lowest)s at %(measured)s."
    ),
    "acidification_interpolated": _("This time was interpolated, not measured: it passes nothing."),
    "acidification_at_hour": _(
        "At %(hours)s the straight line gives %(ph)s: not measured, it passes nothing."
    ),
    "acidification_slow": _(
        "Slow vat: %(value)s measured at %(measured)s is above %(target)s, which the recipe wants by "
        "%(hours)s; "
        "by %(by)s."
    ),
    "acidification_in_time": _(
        "In time by a measured value: %(value)s at %(measured)s is at or below %(target)s, which the recipe "
        "wants by %(hours)s."
    ),
    "acidification_not_shown": _(
        "Whether the vat was in time is not shown: no measured value tells whether %(target)s was reached by "
        "%(hours)s."
    ),
    "acidification_rise": _(
        "The pH had reached %(target)s and was then measured above it: %(value)s at %(hours)s. A person must "
        "find out which reading is right."
    ),
    "acidification_hint": _(
        "Hint, not evidence: if the pH goes on falling as in the last two steps, it comes to "
        "%(target)s between "
        "%(first)s and %(last)s after the starter. Measure it."
    ),
    "acidification_hint_time": _(
        "Hint, not evidence: if the pH goes on falling as in the last two steps, it comes to "
        "%(target)s about "
        "%(time)s after the starter. Measure it."
    ),
    "acidification_hint_late": _(
        "By this hint the target may come later than %(hours)s. Do now what the plan says for a slow vat."
    ),
    "acidification_no_hint_reached": _("No hint: %(target)s has been reached."),
    "acidification_no_hint_few": _(
        "No hint: the log ends with %(count)s falling readings in a row, and at least %(least)s are needed."
    ),
    "acidification_no_hint_flat": _(
        "No hint: the curve flattens. The pH fell by %(latest)s an hour in the last step, less than half of "
        "the %(before)s an hour in the step before."
    ),
    "acidification_no_hint_far": _(
        "No hint: the target may lie %(ahead)s ahead, further than the falling readings reach back "
        "(%(back)s)."
    ),
}

STEPS: Words = {
    "acidification_step_log": _("%(count)s readings, from %(first)s to %(last)s after the starter."),
    "acidification_step_first": _(
        "The first reading at or below %(target)s is %(value)s at %(measured)s after the starter."
    ),
    "acidification_step_line": _(
        "From %(p0)s to %(p1)s in a straight line, to %(target)s: time = %(t0)s + %(over)s ÷ "
        "%(fall)s × %(span)s "
        "= %(hours)s."
    ),
    "acidification_step_lowest": _(
        "The lowest reading is %(value)s at %(measured)s; it is above %(target)s. Nothing is computed beyond "
        "the last reading."
    ),
    "acidification_step_rule": _(
        "Rule of the hint: the log ends with at least three falling readings; the fall per hour in the last "
        "step is at least half of that in the step before; and the target lies no further ahead than these "
        "readings reach back."
    ),
    "acidification_step_slope": _("From %(p0)s to %(p1)s: fall per hour = %(fall)s ÷ %(span)s = %(slope)s."),
    "acidification_step_ahead": _(
        "Still to fall: %(still)s. Earliest = %(last)s + %(still)s ÷ %(fast)s = %(earliest)s; latest "
        "= %(last)s "
        "+ %(still)s ÷ %(slow)s = %(latest)s."
    ),
    "acidification_step_at": _("At the hour: %(p0)s + (%(change)s) × %(into)s ÷ %(span)s = %(ph)s."),
    "acidification_step_pace": _(
        "Against the recipe (%(target)s by %(hours)s) the measured value %(value)s at %(measured)s decides."
    ),
    "acidification_step_pace_none": _(
        "Against the recipe (%(target)s by %(hours)s) no measured value decides; an interpolated one "
        "never does."
    ),
}

COMPARED: Words = {
    "acidification_published": _(
        "Published for comparison, not prefilled: %(food)s, %(event)s: %(value)s (%(source)s)."
    ),
    "acidification_published_at": _(
        "Published for comparison, not prefilled: %(food)s, %(hours)s after %(event)s: %(value)s "
        "(%(source)s)."
    ),
    "acidification_published_below": _(
        "Published for comparison, not prefilled: %(food)s, %(event)s: below %(high)s (%(source)s)."
    ),
    "acidification_published_most": _(
        "Published for comparison, not prefilled: %(food)s, %(event)s: at most %(high)s (%(source)s)."
    ),
    "acidification_published_most_at": _(
        "Published for comparison, not prefilled: %(food)s, %(hours)s after %(event)s: at most %(high)s "
        "(%(source)s)."
    ),
    "acidification_record": _(
        "Published for comparison: %(food)s came to %(target)s at about %(hours)s after its start "
        "(%(source)s)."
    ),
    "acidification_record_not": _(
        "Published for comparison: %(food)s went down to %(lowest)s in its record (%(source)s)."
    ),
}

NOTES: Words = {
    "acidification_help_log": _(
        "One line per reading: the time, then the pH. A plain number of hours counts from the starter. For "
        "clock times the first line is the moment of the starter, unless the next field says otherwise; "
        "write “-” where no pH was taken."
    ),
    "acidification_help_first": _("Leave empty when the first line is the moment of the starter."),
    "acidification_validity_line": _(
        "Between two readings a straight line is assumed. Through hourly readings a smooth curve differs by "
        "minutes; the further apart the readings, the less is known."
    ),
    "acidification_validity_range": _("For pH 0 to 14 and up to 720 h after the starter."),
    "acidification_hint_passes_nothing": _(
        "A hint or an interpolated time passes nothing: only a value measured in time does."
    ),
    "acidification_measure": _(
        "Measure at the hour of the recipe, with a pH meter checked in buffers that day."
    ),
    "acidification_slow_vat": _(
        "In a slow vat Staphylococcus aureus may have grown, and no heat takes its toxin away. Hold the lot: "
        "heating it again is no way out."
    ),
    "acidification_qualified_person": _(
        "The target and its hour are those of the recipe. What happens to a lot is decided by a qualified "
        "person, under the rules of the authority."
    ),
}

REFUSALS: Words = {
    "acidification_two_values": _("Two different pH values are given for %(hours)s. Which one is right?"),
    "acidification_outside_log": _(
        "%(hours)s lies outside the log, which goes from %(low)s to %(high)s (%(source)s); nothing "
        "is guessed "
        "beyond."
    ),
    "acidification_no_hours": _(
        "The hour of the recipe must be later than the starter: above 0 h, at most 720 h."
    ),
    "acidification_two_starts": _(
        "The first line is written as %(first)s after the starter, and this field says %(other)s. "
        "Which one is "
        "right?"
    ),
}

WORDS: Words = {**FINDINGS, **STEPS, **COMPARED, **NOTES, **REFUSALS}
