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
    "protein": _("protein"),
    "salt_in_moisture": _("salt in moisture, S/M"),
    "water_phase_salt": _("salt of the water phase, S/(S+M)"),
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
    "low_fat": _("low fat"),
    "partially_skimmed": _("partially skimmed"),
    "skim": _("skim"),
    "equation": _("equation"),
    "every_equation": _("every equation whose inputs are given"),
    "equation_brine": _("plain brine, from the salt"),
    "equation_marcos": _("cheese of more than about 40 % moisture, from the salt"),
    "equation_unripe": _("unripe cheese, from salt and pH"),
    "equation_mould": _("mould-ripened cheese, from ash and nitrogen"),
    "equation_processed": _("processed cheese, from ash"),
}

WORDS: Words = {
    "composition_no_moisture": _("With no moisture there is nothing for the salt to be dissolved in."),
    "composition_over_100": _(
        "What was analysed (moisture, fat, salt, protein) comes to %(total)s together: at most 100 %% is the "
        "whole cheese."
    ),
    "composition_all_fat": _("With 100 %% fat nothing is left over."),
    "composition_all_moisture": _("With 100 %% moisture there is no dry matter."),
    "composition_needs_more": _("Give the fat, the salt, or both."),
    "composition_sm": _("Salt in moisture (S/M): %(result)s."),
    "composition_wps": _(
        "Salt of the water phase (S/(S+M)): %(result)s. It is not the same as salt in moisture."
    ),
    "composition_mnfs": _(
        "Moisture on a fat-free basis (MFFB, also called MNFS, moisture in non-fat substance): %(result)s."
    ),
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
    "composition_decides": _("Ask a qualified person what these figures mean for your cheese."),
    "composition_protein_help": _("Only to check that the parts are not more than the whole cheese."),
    "water_activity_impossible": _(
        "The estimate comes to %(value)s. By definition a water activity lies above 0 and is at most 1: "
        "check the inputs."
    ),
    "water_activity_needs": _("Give the salt in the cheese and its moisture, or the ash of its moisture."),
    "water_activity_highest": _(
        "Highest estimate: %(value)s (%(option)s). Reason from this one, with its error on top, because "
        "growth is judged on the highest water activity."
    ),
    "water_activity_left_out": _("This equation could not answer: %(option)s."),
    "water_activity_solution": _(
        "As if its moisture were plain brine at 25 °C: %(value)s. Error as a brine 0.0004, near saturation "
        "0.001; the other solutes of a cheese lower it further by an amount not known."
    ),
    "water_activity_marcos": _(
        "Cheese of more than about 40 %% moisture, from its salt: %(value)s. Its error is not stated."
    ),
    "water_activity_unripe": _(
        "Unripe cheese, from salt and pH: %(value)s, within 0.005 for 87 %% of samples."
    ),
    "water_activity_mould": _(
        "Mould-ripened cheese, from ash and nitrogen: %(value)s, within 0.01 for 97 %% of soft samples, and "
        "for 73 %% of blue ones (98 %% within 0.02)."
    ),
    "water_activity_processed": _(
        "Processed cheese, from ash: %(value)s, within 0.005 for 75 %% of samples, at most 0.01 off."
    ),
    "water_activity_step_molality": _(
        "m = 10 × salt to 100 g of water ÷ 58.443 = 10 × %(grams)s ÷ 58.443 = %(result)s"
    ),
    "water_activity_step_solution": _(
        "aw = exp(−2 × m × φ × 0.0180153), φ from the table of osmotic coefficients = exp(−2 × "
        "%(molality)s × %(phi)s × 0.0180153) = %(result)s"
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
        "Each estimate holds for the cheese it names: choose the equation of yours. From 4 to 25 °C the "
        "water activity of a brine differs by less than 0.0045."
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
    "water_activity_npn_help": _("From the laboratory; with ash, for the equation of mould-ripened cheese."),
    "water_activity_moisture_help": _("Needed with the salt."),
}
