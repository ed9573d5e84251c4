"""The words of growth during excursions."""

from django.utils.translation import gettext_lazy as _

from safetyplan.words.shape import Words

NAMES: Words = {
    "excursion": _("excursion in temperature"),
    "time_in_warmth": _("time in the warmth"),
    "listeria_growth": _("growth of Listeria over the shelf life"),
    "food_state": _("state of the food"),
    "milk_before_starter": _("milk before the starter"),
    "finished_cheese": _("finished cheese"),
    "curd_in_process": _("curd in process"),
    "organism": _("organism"),
    "every_organism": _("every organism of the table"),
    "salmonella": _("Salmonella"),
    "staphylococcus_aureus": _("Staphylococcus aureus"),
    "listeria_monocytogenes": _("Listeria monocytogenes"),
    "escherichia_coli": _("pathogenic Escherichia coli"),
    "bacillus_cereus": _("Bacillus cereus"),
    "clostridium_perfringens": _("Clostridium perfringens"),
    "clostridium_botulinum_proteolytic": _("Clostridium botulinum, proteolytic"),
    "clostridium_botulinum_e": _("Clostridium botulinum, not proteolytic"),
    "campylobacter_jejuni": _("Campylobacter jejuni"),
    "shigella": _("Shigella"),
    "staphylococcus_aureus_toxin": _("toxin of Staphylococcus aureus"),
    "vibrio": _("Vibrio"),
    "yersinia_enterocolitica": _("Yersinia enterocolitica"),
    "temperature_log": _("temperatures"),
    "reading_gap": _("longest pause between readings that is no gap"),
    "excursion_hours": _("hours"),
    "excursion_celsius": "°C",
    "excursion_fahrenheit": "°F",
    "excursion_measured": _("measured"),
    "excursion_growth_begins": _("growth begins"),
    "excursion_counted": _("time that counts"),
    "growth_rate": _("rate of growth"),
    "growth_share": _("share of the rate"),
    "generation_time": _("generation time"),
    "rind_not_given": _("not given"),
    "rind": _("rind"),
    "rind_none": _("none, fresh cheese"),
    "rind_dry": _("dry or coated"),
    "rind_bloomy": _("bloomy rind"),
    "rind_washed": _("washed rind"),
    "rind_blue": _("blue"),
    "highest_ph": _("highest pH of the shelf life"),
    "highest_aw": _("highest water activity of the shelf life"),
    "shelf_life": _("shelf life"),
    "wording": _("wording of the criterion"),
    "wording_eu": _("EU, Regulation 2073/2005"),
    "wording_australia": _("Australia"),
    "challenge_study": _("challenge study of this cheese"),
    "study_none": _("none"),
    "study_attached": _("there is one, attached to the plan"),
}

WORDS: Words = {
    "growth_unknown_organism": _("Nothing is known here about %(organism)s."),
    "growth_unknown_rind": _("Choose the rind."),
    "growth_no_rate": _("A rate of growth must be known, at a temperature at which the organism grows."),
    "growth_model_order": _("The figures of the model must rise: lowest, optimum, highest."),
    "growth_negative_time": _("A time lies between 0 and 87 600 hours here."),
    "growth_possible": _(
        "%(organism)s: growth possible at %(value)s. It begins at %(limit)s by the source that is lowest "
        "(%(source)s), and at %(highest)s by the one that is highest."
    ),
    "growth_possible_unknown": _(
        "%(organism)s: growth possible, for in a gap the temperature is not known. It begins at %(limit)s "
        "(%(source)s)."
    ),
    "growth_possible_rind": _(
        "%(organism)s: growth possible, whatever the figures: on a %(option)s the pH rises as it ripens. "
        "Only a challenge study of this cheese can show otherwise."
    ),
    "growth_too_cold": _(
        "%(organism)s: no source has growth at %(value)s or colder; the lowest begins at %(limit)s "
        "(%(source)s)."
    ),
    "growth_too_hot": _(
        "%(organism)s: no source has growth at %(value)s or hotter; the highest ends at %(limit)s "
        "(%(source)s)."
    ),
    "growth_too_low": _(
        "%(organism)s: no source has growth at %(value)s; the lowest begins at %(limit)s (%(source)s)."
    ),
    "exposure_curd": _(
        "The table is not for curd in process: its pH falls and the starter competes (%(source)s). Judge the "
        "vat by its pH at the hours of the recipe."
    ),
    "exposure_unknown_food": _("Choose milk before the starter, or finished cheese."),
    "limit_exposure_curd": _(
        "A limit on time in warmth cannot be set for curd in process: set a pH by an hour."
    ),
    "limit_exposure_order": _("The temperatures must rise, and each hotter one must allow fewer minutes."),
    "plan_exposure": _(
        "Limit: %(part)s of %(food)s above %(above)s for at most %(limit)s in all, from %(event)s on."
    ),
    "plan_exposure_until": _("The time ends with: %(event)s."),
    "plan_exposure_gap": _(
        "Readings of %(part)s at most %(gap)s apart; a longer pause is not shown. Between two readings the "
        "warmer one counts."
    ),
    "exposure_within": _(
        "%(part)s above %(above)s for %(spent)s, at or below the limit %(limit)s, by %(by)s."
    ),
    "exposure_outside": _(
        "%(part)s above %(above)s for %(spent)s, longer than the limit %(limit)s, by %(by)s."
    ),
    "exposure_together": _(
        "Each band is within its limit, but the shares of all together are %(share)s of the whole. A "
        "qualified person should look at it."
    ),
    "exposure_backwards": _(
        "The time to be shown for the %(part)s ends before it starts (%(event)s). Check both times."
    ),
    "exposure_no_reading": _("There is no reading of %(part)s in the time to be shown."),
    "exposure_late_start": _(
        "The first reading of %(part)s is of %(first_at)s, too late to show the beginning."
    ),
    "exposure_early_end": _("The last reading of %(part)s is of %(last_at)s, too early to show the end."),
    "exposure_gap": _("Readings of %(part)s are more than %(gap)s apart: the pause is not shown."),
    "excursion_gap_range": _("The longest pause lies above 0 and at most at %(high)s minutes."),
    "excursion_two_readings": _("At least two temperatures are needed."),
    "excursion_temperatures": _("Temperatures lie between −40 and 100 °C here."),
    "excursion_rind_needed": _(
        "Say which rind the cheese has: on some rinds its pH and water activity rise and show nothing."
    ),
    "excursion_exceeded": _(
        "%(organism)s: %(share)s of the time that the table (from memory) allows is used up: beyond it. Hold "
        "the product."
    ),
    "excursion_gaps": _(
        "%(organism)s: %(share)s of the time that the table (from memory) allows, but %(gaps)s gaps show "
        "nothing: not shown."
    ),
    "excursion_below": _(
        "%(organism)s: %(share)s of the time that the table (from memory) allows is used up."
    ),
    "excursion_step_warm": _("Spans whose warmer end is %(temperature)s: %(hours)s in all"),
    "excursion_step_warm_rest": _("Spans with one of %(count)s lower temperatures: %(hours)s in all"),
    "excursion_step_no_span": _("Every pause between two readings is a gap: no time can be counted."),
    "excursion_step_band": _(
        "%(organism)s, band above %(above)s (%(celsius)s; table from memory): %(hours)s of %(limit)s = "
        "%(share)s"
    ),
    "excursion_step_sum": _(
        "%(organism)s, all bands together: %(total)s. More than 100 %% counts as too long: our own choice, "
        "towards the eater."
    ),
    "excursion_formula_at_5": _(
        "%(organism)s: rate in log10 per hour = R / 24 × ((T − Tmin) / (5 − Tmin))², with R = %(rate)s log10 "
        "per day at 5 °C and Tmin = %(lowest)s °C; 0 at and below Tmin; above %(highest)s the rate of "
        "%(highest)s is taken"
    ),
    "excursion_formula_slope": _(
        "%(organism)s: rate in log10 per hour = (b × (T − Tmin))², with b = %(slope)s and Tmin = %(lowest)s "
        "°C; 0 at and below Tmin; above %(highest)s the rate of %(highest)s is taken"
    ),
    "excursion_formula_cardinal": _(
        "%(organism)s: rate in log10 per hour = M × (T − Tmax) × (T − Tmin)² / ((Topt − Tmin) × ((Topt − "
        "Tmin) × (T − Topt) − (Topt − Tmax) × (Topt + Tmin − 2 × T))) / ln 10, with M = %(rate)s per hour, "
        "Tmin = %(lowest)s °C, Topt = %(optimum)s °C and Tmax = %(highest)s °C; 0 outside Tmin to Tmax; a "
        "span with Topt between its ends counts at Topt"
    ),
    "excursion_step_rate": _(
        "%(organism)s at %(temperature)s: %(hours)s × %(rate)s log10 per hour = %(increase)s log10"
    ),
    "excursion_step_rate_rest": _(
        "%(organism)s at %(count)s other temperatures, in the same way: %(increase)s log10"
    ),
    "excursion_increase": _("%(organism)s could have grown by up to %(increase)s log10."),
    "excursion_increase_most": _(
        "%(organism)s could have grown by more than %(most)s log10: as far as it can in any food."
    ),
    "excursion_step_increase": _(
        "%(organism)s: all together %(increase)s log10, which is %(times)s times as many"
    ),
    "excursion_step_increase_most": _(
        "%(organism)s: all together %(increase)s log10, more than any population gains; read as more than "
        "%(most)s"
    ),
    "excursion_valid": _(
        "Between two readings at most %(gap)s apart the warmer one counts. The bands are taken as continuous."
    ),
    "excursion_rates_of": _(
        "Each rate of growth is of one study in one food, named under the sources; for the other organisms "
        "there is none here."
    ),
    "excursion_gap_not_counted": _("%(gaps)s gaps: what grew in them is not counted."),
    "excursion_memory": _(
        "The table is from memory and was not verified in print: confirm it before relying on it."
    ),
    "excursion_lag": _("Lag is ignored, so the growth is not made too small."),
    "excursion_model_zero": _(
        "That a model or a limit shows no growth is no proof: sources differ on where growth begins."
    ),
    "excursion_not_in_numbers": _("Acid, starter, salt and competition are not in the rates of growth."),
    "excursion_decides": _(
        "A model or a table alone never supports a release: a qualified person decides, with the evidence, "
        "and the authority has the last word."
    ),
    "excursion_gap_help": _("Common practice: a pause longer than an hour shows nothing."),
    "excursion_rind_help": _("Of a finished cheese. Needed when its pH or water activity is given."),
    "listeria_unknown_wording": _("Choose the wording of the criterion."),
    "listeria_ph_below": _("%(value)s is below %(limit)s."),
    "listeria_ph_most": _("%(value)s is at or below %(limit)s."),
    "listeria_aw_below": _("%(value)s is below %(limit)s."),
    "listeria_aw_most": _("%(value)s is at or below %(limit)s."),
    "listeria_both_below": _("%(ph)s is below pH 5.0, and %(aw)s below aw 0.94."),
    "listeria_both_most": _("%(ph)s is at or below pH 5.0, and %(aw)s at or below aw 0.94."),
    "listeria_dry_below": _("%(ph)s is below pH 5.0, and a moisture of %(moisture)s below 39 %%."),
    "listeria_days_most": _("A refrigerated life of %(days)s is at most 5 d."),
    "listeria_days_below": _("A shelf life of %(days)s is below 5 d (this clause from memory)."),
    "listeria_rind": _(
        "Growth possible: on a %(option)s the pH rises as it ripens. Only a challenge study of this "
        "cheese can "
        "show otherwise."
    ),
    "listeria_possible": _("Growth possible: no clause of the criterion is met (%(source)s)."),
    "listeria_deemed": _("Deemed not to support growth by the criterion (%(source)s). It releases nothing."),
    "listeria_no_clause": _("No clause is met by what was given."),
    "listeria_step_wording": _("Clauses of: %(option)s"),
    "listeria_valid": _(
        "The highest pH and water activity of the whole shelf life, measured on the surface too: a rind"
        " ripens "
        "upwards."
    ),
    "listeria_wordings_differ": _(
        "One wording says “below”, the other “at or below”: exactly on a figure differs."
    ),
    "listeria_deemed_only": _(
        "The criterion says what the law deems. Listeria comes after the heat, from drains, boards and "
        "smear: swab "
        "and clean all the same."
    ),
    "listeria_highest_help": _("At the end of the shelf life, on the rind: not the pH of the young curd."),
}
