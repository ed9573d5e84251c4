"""The words of trends and of signals in the keeping of records."""

from django.utils.translation import gettext_lazy as _

from safetyplan.words.shape import Words

NAMES: Words = {
    "control_chart": _("trend of values"),
    "individuals_chart": _("control chart of single values"),
    "median_of_values": _("median"),
    "cusum_chart": _("cumulative sums"),
    "ewma_chart": _("weighted moving average"),
    "trend_target": _("target"),
    "cusum_slack": _("slack (K)"),
    "cusum_decision": _("decision interval (H)"),
    "cusum_larger": _("larger of the upper and the lower sum"),
    "ewma_sigma": _("sigma"),
    "ewma_weight": _("weight of the newest value"),
    "ewma_average": _("weighted average"),
    "trend_values": _("values in the order of time"),
    "trend_kind": _("kind of values"),
    "values_plain": _("measured values"),
    "values_counts": _("colony counts (taken as log10)"),
    "trend_rules": _("rules of patterns"),
    "rules_default": _("four rules, usual for weekly data (Nelson 1, 2, 3 and 5)"),
    "rules_western": _("the four Western Electric rules"),
    "rules_nelson": _("all eight Nelson rules"),
    "trend_number": _("number of the value"),
    "trend_value": _("value"),
    "trend_control_limits": _("control limits and mean"),
    "trend_ewma_limits": _("limits of the average"),
    "trend_pattern": _("a pattern is complete"),
    "trend_first": _("number of first values that the limits rest on"),
    "trend_critical_limit": _("critical limit of the plan"),
    "temperature_chart": _("control chart of temperatures"),
    "ph_chart": _("control chart of pH"),
    "nelson_1": _("one value beyond three sigma"),
    "nelson_2": _("nine in a row on one side of the mean"),
    "nelson_3": _("six in a row rising, or falling"),
    "nelson_4": _("fourteen in a row up and down in turn"),
    "nelson_5": _("two of three beyond two sigma on one side"),
    "nelson_6": _("four of five beyond one sigma on one side"),
    "nelson_7": _("fifteen in a row within one sigma"),
    "nelson_8": _("eight in a row beyond one sigma on both sides"),
    "western_1": _("one value beyond three sigma (Western Electric)"),
    "western_2": _("two of three beyond two sigma on one side (Western Electric)"),
    "western_3": _("four of five beyond one sigma on one side (Western Electric)"),
    "western_4": _("eight in a row on one side of the mean (Western Electric)"),
}

WORDS: Words = {
    "trend_too_few": _("At least %(least)s values are needed (%(source)s)."),
    "trend_too_large": _("Values beyond %(high)s, or that are no number, are not taken (%(source)s)."),
    "trend_counts": _(
        "A count must be above zero to have a logarithm. For “<10” write 10 or 5, and say which."
    ),
    "trend_flat": _("Every value is the same: there is no variation to measure with."),
    "trend_cusum_range": _("The slack must not be below zero, the decision interval must be above zero."),
    "trend_ewma_range": _(
        "The weight lies above 0 and at most at 1, sigma not below 0, the width above 0 to 10."
    ),
    "trend_result_flat": _("Every value is %(mean)s: a chart of values that never differ shows nothing."),
    "trend_result_signals": _(
        "%(count)s patterns that a steady process seldom makes; control limits %(lower)s to %(upper)s. "
        "Look for "
        "a cause."
    ),
    "trend_result_quiet": _("No pattern found; control limits %(lower)s to %(upper)s."),
    "trend_signal": _("%(rule)s: complete at value number %(points)s."),
    "trend_step_mean": _("Mean = sum ÷ number = (%(sum)s) ÷ %(count)s = %(mean)s"),
    "trend_step_range": _(
        "Mean moving range = sum of the differences between neighbours, without sign ÷ their number = "
        "(%(sum)s) ÷ %(count)s = %(range)s"
    ),
    "trend_step_sigma": _("Sigma = mean moving range ÷ 1.128 = %(range)s ÷ 1.128 = %(sigma)s"),
    "trend_step_limits": _(
        "Control limits = mean ± 3 × sigma = %(mean)s ± 3 × %(sigma)s = %(lower)s and %(upper)s"
    ),
    "trend_step_range_limit": _("Largest usual moving range = 3.267 × %(range)s = %(upper)s"),
    "trend_step_sorted": _("Sorted: %(values)s"),
    "trend_step_middle": _("The middle one, of an even number the mean of the two: %(median)s"),
    "trend_cusum_signal": _(
        "The sums pass the decision interval %(decision)s at value number %(first)s: the process has "
        "drifted. "
        "Look for a cause."
    ),
    "trend_cusum_quiet": _("No sum passes the decision interval %(decision)s; the largest is %(largest)s."),
    "trend_cusum_valid": _("The sums are never set back after a signal; a person begins anew on purpose."),
    "trend_step_cusum_formula": _(
        "Upper sum = max(0, value − (%(target)s + %(slack)s) + the one before); lower sum = max(0, "
        "(%(target)s "
        "− %(slack)s) − value + the one before); both begin at 0"
    ),
    "trend_step_cusum": _("Number %(number)s, value %(value)s: upper sum %(high)s, lower sum %(low)s"),
    "trend_ewma_signal": _(
        "The weighted average leaves its limits at value number %(first)s. Look for a cause."
    ),
    "trend_ewma_quiet": _("The weighted average stays within its limits; the last is %(average)s."),
    "trend_ewma_valid": _("The limits widen over the first values and stand at three sigma of the average."),
    "trend_step_ewma_formula": _(
        "Average = %(weight)s × value + (1 − %(weight)s) × the one before; it begins at the target %(target)s"
    ),
    "trend_step_ewma": _(
        "Number %(number)s, value %(value)s: average %(average)s, limits %(lower)s to %(upper)s"
    ),
    "trend_median": _("The median of %(count)s values is %(median)s."),
    "trend_valid": _("Single values in the order of time, from a process that was not changed in between."),
    "trend_valid_median": _("Half of the values lie at or below it, half at or above."),
    "trend_provisional": _(
        "Only %(points)s values: with fewer than %(enough)s the limits are provisional and should not "
        "be frozen."
    ),
    "trend_frozen": _(
        "The limits rest on the first %(first)s of the %(count)s values and stay as they are for the later "
        "ones."
    ),
    "trend_first_range": _("%(typed)s: it must be a whole number from 2 to the %(count)s values given."),
    "trend_first_help": _(
        "Leave empty to take all. Limits from a first, quiet period stay frozen: later values do not move "
        "them."
    ),
    "trend_critical_between": _(
        "The critical limit %(limit)s lies between the control limits %(lower)s and %(upper)s: a process "
        "without any pattern can still be outside it."
    ),
    "trend_critical_beyond": _(
        "The critical limit %(limit)s lies outside the control limits %(lower)s to %(upper)s. It is judged "
        "by itself, value by value."
    ),
    "trend_given_logged": _(
        "Counts were brought to log10 first: target and widths are read as log10 too, 1 being a factor of "
        "ten."
    ),
    "trend_logged": _("Counts were brought to log10 first; the limits are log10 too."),
    "trend_not_critical": _(
        "A control limit is not a critical limit: it says what the process did, not what it must do. "
        "The critical "
        "limit stands in the plan."
    ),
    "trend_false_alarms": _(
        "A pattern can come by chance, with more rules more often: the four Western Electric rules "
        "together about "
        "every 92 points (from memory). For weekly data four rules (Nelson 1, 2, 3 and 5) are therefore set "
        "at first. A person looks for the cause."
    ),
    "trend_median_caution": _("A median hides the extremes: look at the largest values too."),
    "trend_values_help": _("At least two; twenty or more make limits worth keeping."),
    "trend_median_help": _("Such as days to the end of deviations, or minutes of delay; in any order."),
    "signals_nothing": _("There are no records to look at."),
    "signals_no_digit": _("Only values with digits can be compared."),
    "signals_least": _("Fewer than two entries in a minute are no signal."),
    "signals_delays_prove": _(
        "A late entry proves little: wet hands write after the vat. Many of them say that the page is "
        "not at hand."
    ),
    "signals_repeats_prove": _(
        "Repeated values prove little: a store that is well set shows the same for weeks. A thermometer"
        " read to "
        "the whole degree repeats itself too."
    ),
    "signals_bursts_prove": _(
        "Many entries in one minute prove little: a round of cold stores is written down at its end. "
        "Ask how the "
        "round is made."
    ),
}
