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
    "yersinia_enterocolitica": _("Yersinia enterocolitica"),
    "temperature_log": _("temperatures"),
    "reading_gap": _("longest pause between readings that is no gap"),
    "excursion_hours": _("hours"),
    "excursion_celsius": "°C",
    "excursion_fahrenheit": "°F",
    "excursion_measured": _("measured"),
    "excursion_growth_begins": _("growth begins"),
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
    "growth_no_rate": _("A rate of growth must be above zero, at a temperature at which the organism grows."),
    "growth_model_order": _("The temperatures of the model must rise: lowest, optimum, highest."),
    "growth_negative_time": _("A time cannot be below zero."),
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
    "plan_exposure_gap": _("Readings of %(part)s at most %(gap)s apart; a longer pause is not shown."),
    "exposure_within": _(
        "%(part)s above %(above)s for %(spent)s, at or below the limit %(limit)s, by %(by)s."
    ),
    "exposure_outside": _(
        "%(part)s above %(above)s for %(spent)s, longer than the limit %(limit)s, by %(by)s."
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
    "excursion_exceeded": _(
        "%(organism)s: %(share)s of the time that the table allows is used up: beyond it. Hold the product."
    ),
    "excursion_gaps": _(
        "%(organism)s: %(share)s of the time that the table allows, but %(gaps)s pauses show nothing: "
        "not shown."
    ),
    "excursion_below": _("%(organism)s: %(share)s of the time that the table allows is used up."),
    "excursion_step_band": _(
        "%(organism)s, band above %(above)s (%(celsius)s): %(hours)s of %(limit)s = %(share)s"
    ),
    "excursion_step_sum": _(
        "All bands together: %(total)s. More than 100 %% counts as too long: our own choice, towards "
        "the eater."
    ),
    "excursion_increase": _("%(organism)s could have grown by up to %(increase)s log10."),
    "excursion_step_increase": _(
        "%(organism)s: sum of hours × rate at the warmer end of each span = %(increase)s log10, a "
        "factor of %(times)s"
    ),
    "excursion_valid": _(
        "Between two readings at most %(gap)s apart the warmer one counts. The bands are taken as continuous."
    ),
    "excursion_gap_not_counted": _("%(gaps)s gaps: what grew in them is not counted."),
    "excursion_memory": _(
        "The table is from memory and was not verified in print: confirm it before relying on it."
    ),
    "excursion_lag": _("Lag is ignored, so the growth is not made too small."),
    "excursion_not_in_numbers": _("Acid, starter, salt and competition are not in these numbers."),
    "excursion_decides": _(
        "A model or a table alone never supports a release: a qualified person decides, with the "
        "evidence, and "
        "the authority has the last word."
    ),
    "excursion_gap_help": _("Common practice: a pause longer than an hour shows nothing."),
    "listeria_unknown_wording": _("Choose the wording of the criterion."),
    "listeria_unknown_rind": _("Choose the rind."),
    "listeria_ph_below": _("%(value)s is below %(limit)s."),
    "listeria_ph_most": _("%(value)s is at or below %(limit)s."),
    "listeria_aw_below": _("%(value)s is below %(limit)s."),
    "listeria_aw_most": _("%(value)s is at or below %(limit)s."),
    "listeria_both_below": _("%(ph)s is below pH 5.0, and %(aw)s below aw 0.94."),
    "listeria_both_most": _("%(ph)s is at or below pH 5.0, and %(aw)s at or below aw 0.94."),
    "listeria_dry_below": _("%(ph)s is below pH 5.0, and a moisture of %(moisture)s below 39 %%."),
    "listeria_days_most": _("A refrigerated life of %(days)s is at most 5 d."),
    "listeria_days_below": _("A shelf life of %(days)s is below 5 d."),
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
