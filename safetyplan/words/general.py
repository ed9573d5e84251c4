"""The words of limits, judgements, typed values and times."""

from django.utils.translation import gettext_lazy as _

from safetyplan.words.shape import Words

NAMES: Words = {
    "temperature": _("temperature"),
    "ph": "pH",
    "duration": _("duration"),
    "volume": _("volume"),
    "mass": _("mass"),
    "length": _("length"),
    "pressure": _("pressure"),
    "salt": _("salt"),
    "acidity": _("acidity"),
    "strength": _("strength"),
    "strength_ppm": _("strength"),
    "count": _("number of pieces"),
    "colony_count": _("colony count"),
    "percent": _("percentage"),
    "result": _("result"),
    "hold_start": _("start of hold"),
    "hold_end": _("end of hold"),
    "product": _("lowest product temperature"),
    "air_space": _("air space temperature"),
    "air_space_start": _("air space temperature at start"),
    "air_space_end": _("air space temperature at end"),
    "indicating": _("indicating thermometer"),
    "recorder": _("recorder"),
    "chart_number": _("chart number"),
    "agitator": _("agitator"),
    "starter_added": _("starter added"),
    "rennet_added": _("rennet added"),
    "drained": _("drained"),
    "salted": _("salted"),
    "negative": _("negative"),
    "positive": _("positive"),
    "invalid": _("invalid"),
    "correct": _("correct"),
    "wrong": _("wrong"),
    "on": _("on"),
    "off": _("off"),
}

RESULTS: Words = {
    "within_at_most": _("%(value)s is at or below the limit %(limit)s, by %(by)s."),
    "within_at_least": _("%(value)s is at or above the limit %(limit)s, by %(by)s."),
    "within_target_at_most": _("%(value)s is at or below the target %(limit)s, by %(by)s."),
    "within_target_at_least": _("%(value)s is at or above the target %(limit)s, by %(by)s."),
    "within_target_at_most_at": _(
        "%(value)s is at or below the target %(limit)s at %(hours)s after %(event)s, by %(by)s."
    ),
    "within_target_at_least_at": _(
        "%(value)s is at or above the target %(limit)s at %(hours)s after %(event)s, by %(by)s."
    ),
    "above_limit": _("%(value)s is above the limit %(limit)s, by %(by)s."),
    "below_limit": _("%(value)s is below the limit %(limit)s, by %(by)s."),
    "above_target": _("%(value)s is above the target %(limit)s, by %(by)s."),
    "below_target": _("%(value)s is below the target %(limit)s, by %(by)s."),
    "within_at_most_at": _(
        "%(value)s is at or below the limit %(limit)s at %(hours)s after %(event)s, by %(by)s."
    ),
    "within_at_least_at": _(
        "%(value)s is at or above the limit %(limit)s at %(hours)s after %(event)s, by %(by)s."
    ),
    "above_limit_at": _("%(value)s is above the limit %(limit)s at %(hours)s after %(event)s, by %(by)s."),
    "below_limit_at": _("%(value)s is below the limit %(limit)s at %(hours)s after %(event)s, by %(by)s."),
    "above_target_at": _("%(value)s is above the target %(limit)s at %(hours)s after %(event)s, by %(by)s."),
    "below_target_at": _("%(value)s is below the target %(limit)s at %(hours)s after %(event)s, by %(by)s."),
    "censored_open": _("%(value)s leaves open whether the limit %(limit)s is kept."),
    "accepted": _("The %(part)s is %(option)s, as it must be."),
    "not_accepted": _("The %(part)s is %(option)s; accepted is only: %(options)s."),
    "part_missing": _("Nothing was entered for: %(part)s."),
    "unit_not_comparable": _("The unit of the %(part)s cannot be compared with its limit."),
    "instrument_not_valid": _(
        "The instrument behind “%(value)s” (%(part)s) is not valid, so it shows nothing."
    ),
    "instrument_failed": _("The instrument used for the %(part)s is not valid, so it shows nothing."),
    "event_unknown": _(
        "The time of “%(event)s” is not recorded, so the %(part)s has nothing to be counted from."
    ),
    "not_yet_due": _(
        "The %(part)s at %(hours)s after %(event)s is measured between %(opens_at)s and %(deadline_at)s."
    ),
    "not_measured_in_time": _(
        "The %(part)s at %(hours)s after %(event)s was not measured by %(deadline_at)s."
    ),
    "passed_too_late": _(
        "%(value)s was measured at %(measured_at)s, after the deadline %(deadline_at)s "
        "(%(hours)s after %(event)s); a later value does not show that the %(part)s was reached in time."
    ),
    "reached_then_left": _(
        "The %(part)s was reached (%(first)s at %(first_at)s) and then left again (%(second)s at "
        "%(second_at)s). "
        "A person must find out which is right."
    ),
    "hold_within": _("Held for %(held)s, at least %(limit)s, with every temperature at or above its limit."),
    "hold_long_enough": _("Held for %(held)s, at least %(limit)s."),
    "hold_short": _("Held for %(held)s, shorter than %(limit)s, by %(by)s."),
    "hold_dip": _(
        "During the hold the %(part)s was %(value)s, below the limit %(limit)s by %(by)s: "
        "the clock starts again from zero."
    ),
    "hold_backwards": _("The hold ends before it starts. Check both times."),
    "hold_without_times": _("Start and end of the hold are both needed."),
    "hold_without_chart": _(
        "Without the chart number the hold is not shown: two hand readings do not prove it."
    ),
    "recorder_above": _(
        "The recorder (%(recorder)s) reads above the indicating thermometer (%(indicating)s)."
    ),
    "recorder_not_above": _(
        "The recorder (%(recorder)s) does not read above the indicating thermometer (%(indicating)s)."
    ),
    "agitator_off": _("The agitator was not running during the whole hold."),
    "all_within": _("All %(count)s parts of this check are within their limits."),
}

PLAN: Words = {
    "part": "%(part)s",
    "plan_at_most": _("Limit: %(part)s at most %(limit)s."),
    "plan_at_least": _("Limit: %(part)s at least %(limit)s."),
    "plan_target_at_most": _("Target: %(part)s at most %(limit)s."),
    "plan_target_at_least": _("Target: %(part)s at least %(limit)s."),
    "plan_tolerance": _("Tolerance of the instrument for %(part)s: %(tolerance)s."),
    "plan_accepted": _("Limit: %(part)s is %(options)s."),
    "plan_reached_at_most": _("Limit: %(part)s at most %(limit)s within %(hours)s of %(event)s."),
    "plan_reached_at_least": _("Limit: %(part)s at least %(limit)s within %(hours)s of %(event)s."),
    "plan_reached_target_at_most": _("Target: %(part)s at most %(limit)s within %(hours)s of %(event)s."),
    "plan_reached_target_at_least": _("Target: %(part)s at least %(limit)s within %(hours)s of %(event)s."),
    "plan_window": _(
        "Measured in the last %(minutes)s min before %(hours)s after %(event)s; "
        "a value measured later does not count."
    ),
    "plan_hold": _("Limit: held continuously for at least %(limit)s; a dip starts the clock again."),
    "plan_hold_recorder": _("The recorder may not read above the indicating thermometer."),
    "plan_hold_agitator": _("The agitator runs during the whole hold."),
    "plan_hold_chart": _("Read from the recorder chart of the hold; its number is recorded."),
}

REFUSALS: Words = {
    "typed_empty": _("Nothing was typed."),
    "typed_digits": _("This is not a number. Use the digits 0 to 9, with a comma or a point for decimals."),
    "typed_not_a_number": _("This is not a number. If nothing was measured, say so instead."),
    "typed_exponent": _("Write the number out, without “e”."),
    "typed_marks": _(
        "Use one comma or point for decimals, with digits on both sides, and no blanks or marks "
        "for thousands."
    ),
    "typed_number_only": _("Type only the number."),
    "typed_too_long": _("Too long: at most %(digits)s digits before the decimal mark."),
    "typed_unknown_unit": _("“%(typed)s” is not a unit known here. Type only the number."),
    "typed_wrong_quantity": _("“%(typed)s” does not belong here; the unit is %(unit)s."),
    "typed_other_unit": _("The unit here is %(unit)s, not “%(typed)s”."),
    "typed_censored": _("“%(mark)s” is for colony counts only. Type the number that was read."),
    "typed_negative": _("This cannot be below zero: %(quantity)s."),
    "typed_thousands": _("“%(typed)s” can be read in two ways. Which is meant?"),
    "typed_whole": _("Only whole numbers here: %(quantity)s."),
    "typed_impossible": _("Not possible: %(quantity)s lies between %(low)s and %(high)s."),
    "typed_decimals": _("More than %(most)s decimals. Take the rounded value?"),
    "typed_unlikely": _("%(shown)s is far from what is usual. Is it right?"),
    "typed_clock": _("“%(typed)s” can be hours and minutes, or minutes and seconds. Which is meant?"),
    "offer_converted": "%(typed)s = %(shown)s",
    "offer_number": "%(shown)s",
    "offer_as_typed": _("Yes, %(shown)s"),
    "offer_time_first": _("the first time (UTC %(offset)s)"),
    "offer_time_second": _("the second time (UTC %(offset)s)"),
    "time_date_form": _("Write the date as year-month-day, such as 2026-05-14."),
    "time_form": _("Write the time as hours and minutes from 00:00 to 23:59."),
    "time_midnight": _("24:00 is 00:00 of the next day. Write it that way."),
    "time_no_such_day": _("There is no day %(date)s."),
    "time_year": _("The year must be between %(first)s and %(last)s."),
    "time_gap": _("The time %(time)s did not exist on %(date)s: the clocks went forward."),
    "time_twice": _("The time %(time)s happened twice on %(date)s: the clocks went back. Which one?"),
    "time_future": _("%(observed_at)s is still to come."),
    "time_old": _("%(observed_at)s is more than 48 hours ago. Give the reason for the late entry."),
    "code_empty": _("Type the lot code."),
    "code_long": _("The lot code has at most %(most)s characters."),
    "code_character": _("Only letters, digits, blanks and - / . _ # + in a lot code."),
    "code_mixed_script": _("The lot code mixes letters of two alphabets that look alike. Type it again."),
    "unit_unknown": _("“%(unit)s” is not a unit known here."),
    "unit_no_conversion": _("%(unit)s cannot be converted into %(into)s."),
}

LIMITS: Words = {
    "limit_not_a_document": _("The limit is not written as a document of named values."),
    "limit_unknown_kind": _("“%(kind)s” is not a kind of limit."),
    "limit_open": _("No limit is set yet: %(prompt)s"),
    "limit_unknown_key": _("A limit of kind “%(kind)s” has no “%(key)s”."),
    "limit_missing_key": _("A limit of kind “%(kind)s” needs “%(key)s”."),
    "limit_wrong_value": _("The value of “%(key)s” does not fit a limit of kind “%(kind)s”."),
    "limit_without_bound": _("The limit has no bound: nothing could be outside it."),
    "limit_impossible": _("%(value)s cannot be measured, so it cannot be a limit."),
    "limit_negative_tolerance": _("The tolerance of the instrument cannot be below zero."),
    "limit_empty_range": _("The lower bound lies above the upper one."),
    "limit_target_not_inside": _(
        "The target %(target)s must lie inside the limit %(limit)s by at least the tolerance %(tolerance)s."
    ),
    "limit_accepted_options": _("Some of the options are accepted, and not all of them."),
    "limit_window": _("The point at %(hours)s does not fit its reading window."),
    "limit_points_order": _("The points must be in the order of their hours."),
    "limit_points_inside": _("A limit with several points cannot be part of a combined limit."),
    "limit_same_part": _("“%(part)s” would be entered twice in one check."),
}

WORDS: Words = {**RESULTS, **PLAN, **REFUSALS, **LIMITS}
