"""The words of composition and water activity."""

from django.utils.translation import gettext_lazy as _

from safetyplan.words.shape import Words

NAMES: Words = {
    "salt_and_moisture": _("salt and moisture"),
    "composition": _("composition and classes"),
    "water_activity_estimate": _("water activity, estimated"),
    "moisture": _("moisture"),
    "fat": _("fat"),
    "salt_content": _("salt in the cheese"),
    "salt_in_moisture": _("salt to 100 g of moisture"),
    "moisture_without_fat": _("moisture on a fat-free basis"),
    "fat_in_dry_matter": _("fat in dry matter"),
    "ash_in_moisture": _("ash in 100 g of moisture"),
    "npn_in_moisture": _("non-protein nitrogen in 100 g of moisture"),
    "brine_strength": _("strength of the brine"),
    "extra_hard": _("extra hard"),
    "very_hard": _("very hard"),
    "hard": _("hard"),
    "firm_semi_hard": _("firm or semi-hard"),
    "semi_hard": _("semi-hard"),
    "semi_soft": _("semi-soft"),
    "soft": _("soft"),
    "high_fat": _("high fat"),
    "full_fat": _("full fat"),
    "medium_fat": _("medium fat"),
    "partially_skimmed": _("partially skimmed"),
    "skim": _("skim"),
}

WORDS: Words = {
    "composition_no_moisture": _("With no moisture there is nothing for the salt to be dissolved in."),
    "composition_over_100": _(
        "Moisture, fat and salt come to %(total)s together: more than the whole cheese."
    ),
    "composition_all_fat": _("With 100 %% fat nothing is left over."),
    "composition_all_moisture": _("With 100 %% moisture there is no dry matter."),
    "composition_needs_more": _("Give the fat, the salt, or both."),
    "composition_sm": _("Salt in moisture (S/M): %(result)s."),
    "composition_wps": _(
        "Salt of the water phase (S/(S+M)): %(result)s. It is not the same as salt in moisture."
    ),
    "composition_mnfs": _("Moisture on a fat-free basis (MFFB): %(result)s."),
    "composition_fdm": _("Fat in dry matter (FDM): %(result)s."),
    "composition_firmness": _("Firmness, every class that fits: %(options)s (%(source)s)."),
    "composition_fat_class": _("Fat class: %(option)s (%(source)s)."),
    "composition_step_sm": _("S/M = 100 × salt ÷ moisture = 100 × %(salt)s ÷ %(moisture)s = %(result)s"),
    "composition_step_wps": _(
        "S/(S+M) = 100 × salt ÷ (salt + moisture) = 100 × %(salt)s ÷ (%(salt)s + %(moisture)s) = %(result)s"
    ),
    "composition_step_mnfs": _(
        "MFFB = 100 × moisture ÷ (100 − fat) = 100 × %(moisture)s ÷ (100 − %(fat)s) = %(result)s"
    ),
    "composition_step_fdm": _(
        "FDM = 100 × fat ÷ (100 − moisture) = 100 × %(fat)s ÷ (100 − %(moisture)s) = %(result)s"
    ),
    "composition_validity": _(
        "All inputs in percent by mass of the same sample, on the same day: a cheese dries, and its salt in "
        "moisture rises with age."
    ),
    "composition_caution": _(
        "One sample is not the lot: salt is uneven for weeks. A class is a name for trade, not a finding "
        "about hazards."
    ),
    "water_activity_impossible": _("The estimate comes to %(value)s, which no cheese has: check the inputs."),
    "water_activity_needs": _("Give the salt in the cheese, or the ash of its moisture."),
    "water_activity_highest": _("Highest estimate: %(value)s (%(source)s). Reason from this one."),
    "water_activity_solution": _("As if its moisture were plain brine at 25 °C: %(value)s."),
    "water_activity_marcos": _("Cheese of more than about 40 %% moisture, from its salt: %(value)s."),
    "water_activity_unripe": _(
        "Unripe cheese, from salt and pH: %(value)s, within 0.005 for 87 %% of samples."
    ),
    "water_activity_mould": _("Mould-ripened cheese, from ash and nitrogen: %(value)s."),
    "water_activity_processed": _("Processed cheese, from ash: %(value)s."),
    "water_activity_step_solution": _(
        "%(grams)s g of salt to 100 g of water ÷ 58.443 × 10 = %(molality)s; aw = exp(−2 × m × φ × "
        "0.0180153) with φ from the table = %(result)s"
    ),
    "water_activity_step_marcos": _("aw = 1 − 0.033 × m = 1 − 0.033 × %(molality)s = %(result)s"),
    "water_activity_step_unripe": _(
        "aw = 0.9719 − 0.0044 × salt to 100 g of moisture + 0.0041 × pH = 0.9719 − 0.0044 × %(grams)s + "
        "0.0041 × %(ph)s = %(result)s"
    ),
    "water_activity_step_mould": _(
        "aw = 1.0058 − 0.0045 × ash − 0.0107 × nitrogen = 1.0058 − 0.0045 × %(ash)s − 0.0107 × %(npn)s = "
        "%(result)s"
    ),
    "water_activity_step_processed": _("aw = 0.9951 − 0.0032 × ash = 0.9951 − 0.0032 × %(ash)s = %(result)s"),
    "water_activity_validity": _(
        "Each estimate holds for the cheese it names. At 4 to 25 °C the water activity of brine differs by "
        "less than 0.0045."
    ),
    "water_activity_caution": _(
        "An estimate is never the only ground for saying that something cannot grow: measure, and let a "
        "qualified person judge."
    ),
    "water_activity_highest_caution": _(
        "Growth is judged on the highest water activity and pH of the whole shelf life, rind included."
    ),
    "water_activity_ph_help": _("For the equation of unripe cheese."),
    "water_activity_ash_help": _("From the laboratory: grams of ash to 100 g of moisture."),
    "water_activity_npn_help": _(
        "From the laboratory; with ash, for mould-ripened cheese. Without it, ash is taken for processed "
        "cheese."
    ),
}
