"""The words of the further kinds of limit."""

from django.utils.translation import gettext_lazy as _

from safetyplan.words.shape import Words

NAMES: Words = {
    "needles_out": _("needles out"),
    "needles_in": _("needles in"),
    "use_by": _("use-by date"),
    "used": _("used"),
    "milked": _("milked"),
    "received": _("received"),
    "wash_prepared": _("wash prepared"),
    "started": _("start of the lot"),
    "made": _("made"),
    "washed_lots": _("lots washed"),
}

DIFFERENCE: Words = {
    "plan_difference_none": _("Limit: %(part)s and %(basis)s are equal."),
    "plan_difference_at_most": _("Limit: %(part)s minus %(basis)s at most %(limit)s."),
    "plan_difference_at_least": _("Limit: %(part)s minus %(basis)s at least %(limit)s."),
    "plan_target_difference_at_most": _("Target: %(part)s minus %(basis)s at most %(limit)s."),
    "plan_target_difference_at_least": _("Target: %(part)s minus %(basis)s at least %(limit)s."),
    "plan_tolerance_difference": _("Tolerance of the difference of %(part)s and %(basis)s: %(tolerance)s."),
    "difference_none": _("Difference of %(part)s and %(basis)s: %(value)s. They are equal, as they must be."),
    "difference_at_most": _(
        "Difference of %(part)s and %(basis)s: %(value)s, at or below the limit %(limit)s, by %(by)s."
    ),
    "difference_at_least": _(
        "Difference of %(part)s and %(basis)s: %(value)s, at or above the limit %(limit)s, by %(by)s."
    ),
    "difference_above_target": _(
        "Difference of %(part)s and %(basis)s: %(value)s, above the target %(limit)s, by %(by)s."
    ),
    "difference_below_target": _(
        "Difference of %(part)s and %(basis)s: %(value)s, below the target %(limit)s, by %(by)s."
    ),
    "difference_above": _(
        "Difference of %(part)s and %(basis)s: %(value)s, above the limit %(limit)s, by %(by)s."
    ),
    "difference_below": _(
        "Difference of %(part)s and %(basis)s: %(value)s, below the limit %(limit)s, by %(by)s."
    ),
    "difference_open": _("%(value)s (%(part)s) leaves the difference open."),
}

AGES: Words = {
    "plan_not_after_event": _("Limit: from %(event)s to %(part)s at most %(hours)s."),
    "plan_not_after_made": _("Limit: from %(part)s to this check at most %(hours)s."),
    "plan_not_after_use_by": _("Limit: %(part)s not passed; its day is the last one."),
    "not_after_open": _(
        "Nothing was entered for: %(part)s. There is time until %(deadline_at)s (%(hours)s after %(event)s)."
    ),
    "not_after_missing": _(
        "Nothing was entered for: %(part)s. The time was up at %(deadline_at)s (%(hours)s after %(event)s)."
    ),
    "used_in_time": _("From %(event)s to %(part)s: %(age)s, at most %(hours)s, by %(by)s."),
    "used_too_late": _("From %(event)s to %(part)s: %(age)s, more than %(hours)s, by %(by)s."),
    "used_before_event": _("The time of “%(part)s” lies before “%(event)s”. One of the two cannot be right."),
    "not_too_old": _("From %(part)s to this check: %(age)s, at most %(hours)s, by %(by)s."),
    "too_old": _("From %(part)s to this check: %(age)s, more than %(hours)s, by %(by)s."),
    "made_after_check": _("The time of “%(part)s” lies after the check itself. Check both times."),
    "use_by_kept": _("The %(part)s %(deadline_at)s was not passed at %(used_at)s."),
    "use_by_passed": _("The %(part)s %(deadline_at)s was passed at %(used_at)s."),
    "limit_use_by_alone": _("A limit by a use-by date has neither hours nor an event."),
}

AGEING: Words = {
    "plan_not_before": _(
        "Limit: not before %(days)s at or above %(limit)s (%(part)s) since %(event)s; "
        "time below does not count."
    ),
    "plan_not_before_cover": _(
        "A hand reading of the %(part)s covers the %(hours)s after it; time beyond is not shown."
    ),
    "plan_not_before_counted": _(
        "The %(part)s are counted from the records of the room: only days with every reading at or above "
        "%(limit)s count."
    ),
    "not_before_more_than_passed": _(
        "%(part)s: these are more days than have passed since %(event)s. Count them again."
    ),
    "plan_not_before_minimum": _(
        "%(days)s are a legal minimum. Ageing alone controls neither Listeria nor Shiga toxin-producing "
        "E. coli (STEC)."
    ),
    "not_before_waits": _(
        "Not before %(earliest_at)s: %(days)s at or above %(limit)s since %(event)s are asked for. "
        "Counted: %(counted)s; below: %(below)s; not shown: %(unshown)s."
    ),
    "not_before_left_early": _(
        "Left at %(left_at)s, before %(earliest_at)s: %(days)s at or above %(limit)s since %(event)s are "
        "asked for. Counted: %(counted)s; below: %(below)s; not shown: %(unshown)s."
    ),
    "not_before_enough": _(
        "%(days)s at or above %(limit)s since %(event)s are asked for. "
        "Counted: %(counted)s; below: %(below)s; not shown: %(unshown)s."
    ),
    "not_before_not_shown": _(
        "By the calendar the %(days)s at or above %(limit)s since %(event)s are over, but not all of them "
        "are shown. Counted: %(counted)s; below: %(below)s; not shown: %(unshown)s."
    ),
    "not_before_instrument": _(
        "The instrument used for the %(part)s is not valid, so it does not show the %(days)s at or above "
        "%(limit)s. Counted: %(counted)s; below: %(below)s; not shown: %(unshown)s."
    ),
}

OTHERS: Words = {
    "plan_any_of": _("One of these is enough:"),
    "plan_any_or": _("or"),
    "plan_in_order_youngest": _("Limit: %(part)s: younger lots before older ones."),
    "plan_in_order_oldest": _("Limit: %(part)s: older lots before younger ones."),
    "order_kept": _("Order of %(part)s: %(count)s in the order of age, as it must be."),
    "order_broken": _(
        "Order of %(part)s: %(after)s (made %(after_made_at)s) came after %(before)s "
        "(made %(before_made_at)s)."
    ),
    "order_unknown": _("Order of %(part)s: it is not known when lot %(lot)s was made."),
    "order_without_times": _("Order of %(part)s: without the time of each lot it is not shown."),
    "hold_log_within": _("The log shows %(held)s without a dip or a gap, at least %(limit)s."),
    "hold_log_below_target": _(
        "The log shows %(held)s without a dip or a gap, at least %(limit)s, but not at the target."
    ),
    "hold_log_short": _(
        "The longest time without a dip in the log is %(held)s, shorter than %(limit)s, by %(by)s; "
        "a dip starts the clock again."
    ),
    "hold_log_gap": _(
        "The longest time the log shows without a dip or a gap is %(held)s, not %(limit)s: a gap in the "
        "log breaks the hold."
    ),
    "hold_log_missing": _("There is no log of the %(part)s, so the hold is not shown."),
}

WORDS: Words = {**DIFFERENCE, **AGES, **AGEING, **OTHERS}
