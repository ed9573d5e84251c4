"""The words of brine and salt."""

from django.utils.translation import gettext_lazy as _

from safetyplan.words.shape import Words

NAMES: Words = {
    "brine": _("brine"),
    "make": _("make a brine"),
    "raise_strength": _("raise a tank"),
    "dilute": _("dilute a tank"),
    "after_batch": _("balance after a batch"),
    "hydrometer": _("hydrometer"),
    "hydrometer_reading": _("reading of the hydrometer"),
    "density_kg_m3": _("density in kg/m³"),
    "density_g_ml": _("density in g/ml (kg/l)"),
    "baume_145": _("°Bé, modulus 145 (60 °F)"),
    "baume_144_3": _("°Bé, modulus 144.3 (15 °C)"),
    "baume_146_78": _("°Bé, modulus 146.78 (15 °C)"),
    "salometer": _("°Sal, salometer for 60 °F (100 = 26.395 %)"),
    "salt_strength": _("strength of the brine"),
    "strength_ww": _("strength in % w/w"),
    "density_of_brine": _("clean brine at this temperature"),
    "brine_measured": _("the brine measured"),
    "brine_temperature": _("temperature of brine or water"),
    "strength_basis": _("what the strengths mean"),
    "weight_in_weight": _("% w/w: kg of salt in 100 kg of brine"),
    "salt_to_water": _("kg of salt to 100 L of water"),
    "weight_in_volume": _("% w/v: kg of salt in 100 L of brine"),
    "present_strength": _("strength now"),
    "target_strength": _("strength wanted"),
    "strength_before": _("strength before the batch"),
    "strength_measured_after": _("strength measured after the batch"),
    "brine_volume": _("volume of the brine"),
    "brine_mass": _("mass of the brine"),
    "water_volume": _("volume of the water"),
    "water_mass": _("mass of the water"),
    "cheese_mass": _("mass of the cheese put in"),
    "moisture_lost": _("moisture lost into the brine"),
    "salt_gained": _("salt taken up"),
}

FINDINGS: Words = {
    "brine_strength": _(
        "The brine is %(percent)s, by a density of %(density)s at %(temperature)s, if it is clean salt and "
        "water."
    ),
    "brine_bases": _(
        "At %(temperature)s, %(percent)s is %(water)s kg of salt to 100 L of water, or %(grams)s g of salt "
        "in a litre of brine (%(volume)s %% w/v). One brine, three figures: say which is meant."
    ),
    "brine_share": _("That is %(share)s of saturation (%(saturated)s at %(temperature)s)."),
    "brine_freezing": _("Ice begins to form at %(freezing)s."),
    "brine_no_freezing": _(
        "No freezing point is given above %(eutectic)s: there salt comes out before ice. The lowest is about "
        "%(lowest)s."
    ),
    "brine_field_rule": _(
        "By the rule of thumb %(reading)s is %(corrected)s at 15.6 °C: good enough for a look, not for a "
        "record. The answer above goes by density."
    ),
    "brine_stems": _(
        "In this brine a Baumé stem shows %(american)s °Bé by modulus 145, %(rational)s by 144.3, and "
        "%(gerlach)s by 146.78."
    ),
    "brine_make": _("Put %(salt)s of salt to %(water)s of water for a brine of %(percent)s."),
    "brine_raise": _("Put %(salt)s of salt to the tank, to bring it from %(present)s to %(wanted)s."),
    "brine_dilute": _(
        "Put %(water)s (%(volume)s) of water to the tank, to bring it from %(present)s to %(wanted)s."
    ),
    "brine_makes": _("That makes %(mass)s of brine, %(volume)s at %(temperature)s."),
    "brine_expected": _("By the balance the batch brings the brine from %(before)s to %(after)s."),
    "brine_uptake": _(
        "Measured at %(measured)s, the brine says that the cheese took up %(salt)s of salt: %(share)s of its "
        "mass as it went in."
    ),
    "brine_less_salt": _(
        "The brine holds %(salt)s of salt less than expected (%(measured)s measured, %(expected)s expected): "
        "the cheese took up more, brine was carried out, or a figure is wrong."
    ),
    "brine_more_salt": _(
        "The brine holds %(salt)s of salt more than expected (%(measured)s measured, %(expected)s expected): "
        "the cheese took up less, salt was added, water evaporated, or whey makes the hydrometer read high."
    ),
}

STEPS: Words = {
    "brine_basis_weight": _("For the %(part)s: %(value)s %% w/w, as given."),
    "brine_basis_water": _(
        "For the %(part)s: 100 L of water weigh %(water)s kg. Strength = 100 × salt ÷ (salt + water) = "
        "100 × %(value)s ÷ (%(value)s + %(water)s) = %(result)s."
    ),
    "brine_basis_volume": _(
        "For the %(part)s: strength × density ÷ 1000 = kg of salt in 100 L. Brine of %(result)s weighs "
        "%(density)s, and %(result)s × %(density)s ÷ 1000 = %(value)s."
    ),
    "brine_step_mass": _(
        "Mass = volume × density ÷ 1000 = %(volume)s × %(density)s (at %(temperature)s) ÷ 1000 = %(mass)s."
    ),
    "brine_step_converted": _("%(given)s = %(result)s."),
    "brine_step_make": _(
        "Salt = water × strength ÷ (100 − strength) = %(water)s × %(percent)s ÷ %(rest)s = %(salt)s."
    ),
    "brine_step_raise": _(
        "Salt = brine × (wanted − present) ÷ (100 − wanted) = %(mass)s × (%(wanted)s − %(present)s) ÷ "
        "%(rest)s = %(salt)s."
    ),
    "brine_step_dilute": _(
        "Water = brine × (present − wanted) ÷ wanted = %(mass)s × (%(present)s − %(wanted)s) ÷ %(wanted)s = "
        "%(water)s."
    ),
    "brine_step_volume": _(
        "Volume = mass × 1000 ÷ density = %(mass)s × 1000 ÷ %(density)s (at %(temperature)s) = %(volume)s."
    ),
    "brine_step_density": _("The hydrometer shows the density itself: %(density)s."),
    "brine_step_baume": _(
        "Density = water at %(reference)s × modulus ÷ (modulus − °Bé) = %(water)s × %(modulus)s ÷ "
        "(%(modulus)s − %(value)s) = %(density)s."
    ),
    "brine_step_salometer": _(
        "%(value)s °Sal × 0.26395 = %(percent)s at 60 °F. Such a brine has %(density)s there, and that is "
        "what the stem shows."
    ),
    "brine_step_table": _(
        "Density table at %(temperature)s: %(low)s has %(low_density)s, %(high)s has %(high_density)s."
    ),
    "brine_step_between": _(
        "On the straight line between them: %(low)s + (%(density)s − %(low_density)s) × (%(high)s − %(low)s) "
        "÷ (%(high_density)s − %(low_density)s) = %(result)s."
    ),
    "brine_step_to_water": _(
        "Salt to 100 L of water = strength ÷ (100 − strength) × density of water ÷ 10 = %(percent)s ÷ "
        "%(rest)s × %(water)s ÷ 10 = %(result)s."
    ),
    "brine_step_to_volume": _(
        "Salt in a litre = strength × density ÷ 100 = %(percent)s × %(density)s ÷ 100 = %(result)s."
    ),
    "brine_step_share": _(
        "Share of saturation = 100 × strength ÷ saturated strength = 100 × %(percent)s ÷ %(saturated)s = "
        "%(share)s."
    ),
    "brine_step_held": _(
        "Before the batch: %(mass)s of brine × %(percent)s ÷ 100 = %(salt)s of salt; the rest, %(water)s, is "
        "water."
    ),
    "brine_step_water_after": _(
        "Water after = before + cheese × moisture lost ÷ 100 = %(before)s + %(cheese)s × %(lost)s ÷ 100 = "
        "%(after)s."
    ),
    "brine_step_salt_after": _(
        "Salt expected after = before − cheese × salt taken up ÷ 100 = %(before)s − %(cheese)s × %(gained)s "
        "÷ 100 = %(after)s."
    ),
    "brine_step_expected": _(
        "Strength expected = 100 × salt ÷ (salt + water) = 100 × %(salt)s ÷ %(mass)s = %(result)s."
    ),
    "brine_step_salt_measured": _(
        "Salt by the measurement = water × strength ÷ (100 − strength) = %(water)s × %(percent)s ÷ %(rest)s "
        "= %(salt)s."
    ),
    "brine_step_uptake": _(
        "Salt taken up = before − after = %(before)s − %(after)s = %(salt)s; 100 × %(salt)s ÷ %(cheese)s = "
        "%(share)s of the cheese."
    ),
    "brine_step_difference": _(
        "Difference of salt = expected − measured = %(expected)s − %(measured)s = %(difference)s."
    ),
}

REFUSALS: Words = {
    "brine_too_strong": _(
        "%(value)s is above %(high)s, the most that is known here (0 to %(high)s; %(source)s). It is an "
        "entry error, or the brine is saturated, with salt left over at the bottom."
    ),
    "brine_density_outside": _(
        "%(value)s lies outside what clean brine has at %(temperature)s: %(low)s (water) to %(high)s "
        "(26.3 %% w/w; %(source)s). Check the scale of the hydrometer and the temperature; above, the brine "
        "is saturated or holds more than salt."
    ),
    "brine_grams_outside": _(
        "%(value)s g of salt in a litre lies outside what is known here: 0 to %(high)s g/l (%(source)s)."
    ),
    "brine_amount": _("An amount must be above zero and at most %(most)s (%(source)s)."),
    "brine_is_stronger": _(
        "The brine is already at %(present)s, stronger than %(wanted)s. To weaken it, use “dilute a tank”."
    ),
    "brine_is_weaker": _(
        "The brine is only at %(present)s, weaker than %(wanted)s. To strengthen it, use “raise a tank”."
    ),
    "brine_target_too_weak": _("The strength wanted must be at least %(least)s (%(source)s)."),
    "brine_not_enough_salt": _(
        "The cheese cannot take up %(taken)s of salt: the brine held only %(held)s. Check the amounts."
    ),
    "brine_gained_salt": _(
        "By the strength measured after there is more salt than before (%(after)s, before %(before)s). "
        "Cheese gives none: check the readings, or whether salt was added or water evaporated."
    ),
    "brine_two_amounts": _("Give the volume or the mass, not both."),
    "brine_no_amount": _("Give the volume or the mass."),
    "brine_batch_needs": _("Give the salt taken up, or the strength measured after the batch, or both."),
}

NOTES: Words = {
    "brine_help_reading": _("The number on the stem, on the scale chosen."),
    "brine_help_basis": _(
        "“20 %%” can mean three brines. 20 kg of salt to 100 L of water is 16.7 %% w/w; 20 %% w/w is 229.6 g "
        "in a litre."
    ),
    "brine_help_amount": _("Give the volume or the mass, one of the two."),
    "brine_help_share": _("In kg per 100 kg of the cheese as it went in."),
    "brine_validity": _(
        "Clean sodium chloride in water, all dissolved: 0 to 26.3 %% w/w, 0 to 30 °C. Volume becomes mass "
        "through the density at the temperature given."
    ),
    "brine_validity_table": _(
        "Density by straight lines between the figures of a table (%(source)s), which keeps within 0.5 "
        "kg/m³, about 0.06 %% of salt."
    ),
    "brine_validity_reading": _(
        "The temperature is that of the brine at the reading: 5 °C overlooked are about 0.3 %% of salt. "
        "Salometers made for 38 °F, or with 25 %% at 100, and Baumé stems of another modulus read otherwise."
    ),
    "brine_validity_batch": _(
        "The cheese takes up salt and gives off water, nothing else: brine that drips off with the cheese, "
        "evaporation and whey are not counted. Salt up to 10 and moisture up to 30 kg per 100 kg of cheese "
        "(common practice, no source)."
    ),
    "brine_caution_used": _(
        "A used brine reads high: whey, lactate and calcium make it denser, by 1 to 2 °Bé after two or three "
        "months, so the true salt is lower. Only a salt titration tells."
    ),
    "brine_caution_listeria": _(
        "Salt alone does not control Listeria: it has survived for months in dairy brines, longer in the "
        "cold. Cleaning, renewal and testing of the brine belong to the plan."
    ),
    "brine_caution_plan": _(
        "Check the pH and the temperature of the brine too. What applies is your plan and your local "
        "authority; this result releases nothing, and a qualified person decides."
    ),
    "brine_caution_measure": _(
        "Dissolve and mix well, then measure again before the tank is used: weak brine floats on strong."
    ),
}

WORDS: Words = {**FINDINGS, **STEPS, **REFUSALS, **NOTES}
