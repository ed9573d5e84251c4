"""The words of heat treatment."""

from django.utils.translation import gettext_lazy as _

from safetyplan.words.shape import Words

RULES: Words = {
    "us_cheese": _("United States, milk for cheese (21 CFR 133.3)"),
    "us_milk": _("United States, milk and milk products (21 CFR 1240.61)"),
    "us_ordinance": _("United States, pasteurized milk ordinance (as in Texas)"),
    "us_michigan": _("United States, Michigan"),
    "eu_hygiene": _("European Union"),
    "gb_hygiene": _("Great Britain"),
    "codex_hygiene": _("Codex, milk hygiene code"),
    "canada_law": _("Canada"),
    "australia_code": _("Australia"),
}

ORGANISMS: Words = {
    "listeria_whole_milk": _("Listeria monocytogenes in whole milk"),
    "listeria_milks_and_cream": _("Listeria monocytogenes in milks and cream"),
    "listeria_foods": _("Listeria monocytogenes in foods in general"),
    "salmonella_milk": _("Salmonella in whole milk"),
    "salmonella_senftenberg": _("Salmonella senftenberg 775W in whole milk"),
    "staphylococcus_whey": _("Staphylococcus aureus in whey"),
    "staphylococcus_milk": _("Staphylococcus aureus in milk"),
    "coxiella_cow_milk": _("Coxiella burnetii in cow milk"),
    "coxiella_goat_milk": _("Coxiella burnetii in goat milk"),
    "coxiella_camel_milk": _("Coxiella burnetii in camel milk"),
    "escherichia_ground_turkey": _("Escherichia coli O157:H7 in ground turkey"),
}

INPUTS: Words = {
    "heat_hold": _("heat hold"),
    "hold_with_air_space": _("vat hold with air space"),
    "hold_product_only": _("hold of the product alone"),
    "heat_kill": _("estimate of the kill (supporting evidence)"),
    "phosphatase_test": _("phosphatase test of milk"),
    "heat_rule": _("rule"),
    "hold_asked": _("hold asked for"),
    "vat_fat": _("fat in the vat"),
    "vat_solids": _("total solids in the vat"),
    "vat_kind": _("kind of product"),
    "kind_plain": _("nothing added, not concentrated"),
    "kind_sweetened": _("with added sweetener"),
    "kind_concentrated": _("concentrated"),
    "kind_particles": _("with particles"),
    "sweetened": _("added sweetener"),
    "concentrated": _("concentrated product"),
    "heat_log": _("temperature log"),
    "heat_pause": _("longest pause between readings"),
    "air_pause": _("longest pause between readings of the air space"),
    "probe_error": _("error of the product probe"),
    "air_probe_error": _("error of the air space probe"),
    "heat_organism": _("organism"),
    "phosphatase": _("alkaline phosphatase in mU/L"),
    "phosphatase_milk": _("limit to compare with"),
    "cow_milk": _("cow milk"),
    "goat_milk": _("goat milk"),
    "sheep_milk": _("sheep milk"),
    "us_grade_a": _("pasteurized milk of the American ordinance"),
    "reference_temperature": _("reference temperature"),
    "equivalent_time": _("equivalent time"),
    "z_value": _("z"),
    "d_value": _("D"),
    "heat_minutes": _("minutes since the first reading"),
    "heat_celsius": _("temperature (°C)"),
    "heat_fahrenheit": _("temperature (°F)"),
    "heat_limit": _("limit of the product"),
    "heat_held": _("held"),
}

NAMES: Words = {**RULES, **ORGANISMS, **INPUTS}

HELP: Words = {
    "heat_ask_rule": _(
        "The rule of the place where the cheese is made. Ask the local regulator which holds."
    ),
    "heat_ask_hold": _("Exactly a time the rule lists, such as 30 min or 15 s."),
    "heat_ask_fat": _("Fat of the milk as it is heated, cream included."),
    "heat_ask_solids": _("Needed for the rules that count them; may be left empty otherwise."),
    "heat_ask_pause": _(
        "A longer pause breaks the hold. Left empty: a thirtieth of the hold, 1 min for 30 min."
    ),
    "heat_ask_air_pause": _("Left empty: the same as for the product. At most the hold itself."),
    "heat_ask_kill_pause": _("A longer pause adds nothing. Left empty: 1 min."),
    "heat_ask_error": _(
        "Reading minus reference at the last check near this temperature. Above zero when the probe reads "
        "high."
    ),
}

RESULTS: Words = {
    "heat_hold_enough": _(
        "This log shows the product at or above %(limit)s continuously for %(held)s; the rule asks for "
        "%(hold)s, so the hold is long enough."
    ),
    "heat_hold_enough_air": _(
        "This log shows the product at or above %(limit)s and the air space at or above %(air)s, together "
        "and continuously, for %(held)s; the rule asks for %(hold)s, so the hold is long enough."
    ),
    "heat_hold_short": _(
        "Too short by %(by)s: this log shows the product at or above %(limit)s continuously for %(held)s; "
        "the rule asks for %(hold)s."
    ),
    "heat_hold_short_air": _(
        "Too short by %(by)s: this log shows the product at or above %(limit)s and the air space at or "
        "above %(air)s, together and continuously, for %(held)s; the rule asks for %(hold)s."
    ),
    "heat_hold_gap": _(
        "Not shown: the record has gaps (%(count)s), and without them the hold is only %(held)s; the rule "
        "asks for %(hold)s."
    ),
    "heat_hold_air_not_covered": _(
        "Not shown: the readings of the air space at or above %(air)s cover only %(held)s of the hold; the "
        "rule asks for %(hold)s."
    ),
    "heat_hold_air_missing": _(
        "Not shown: the product was at or above %(limit)s continuously for %(held)s (%(hold)s are asked "
        "for), but the rule also asks for an air space of at least %(air)s, and it was not read."
    ),
    "heat_kill_about": _(
        "By the model, %(organism)s falls by about %(log10)s log10 over this log. This is supporting "
        "evidence only and never makes a hold legal."
    ),
    "heat_kill_more_than": _(
        "By the model, %(organism)s falls by more than %(most)s log10 over this log; beyond that nothing "
        "was measured. This is supporting evidence only and never makes a hold legal."
    ),
    "heat_phosphatase_negative": _("Negative: %(value)s against the limit %(limit)s (%(option)s)."),
    "heat_phosphatase_positive": _("Positive: %(value)s against the limit %(limit)s (%(option)s)."),
    "heat_raise_beyond_print": _(
        "Some prints mark the raise of %(by)s only for 30 min and 15 s. It is applied to the row of "
        "%(hold)s too, which is the stricter reading."
    ),
    "heat_no_raise_printed": _(
        "This product is rich, and this rule (%(rule)s) prints no raise for it. Other rules ask for 3 °C (5 "
        "°F) more: ask the local regulator."
    ),
    "heat_correction_grants_nothing": _(
        "With the probe put right the hold would be long enough, but a correction never grants a hold: this "
        "is for a qualified person to evaluate."
    ),
    "heat_air_practice_warm": _(
        "The rule has no figure for the air space. Its lowest reading was %(lowest)s, at or above the "
        "%(level)s that other rules would ask for."
    ),
    "heat_air_practice_cold": _(
        "The rule has no figure for the air space. Its lowest reading was %(lowest)s, below the %(level)s "
        "that other rules would ask for: foam and splashes may not have been heated enough."
    ),
    "heat_equivalent": _("Equivalent time: the log is worth %(time)s at %(reference)s."),
    "heat_pilot": _(
        "For comparison, %(organism)s: in a pilot plant %(hold)s at %(temperature)s killed more than "
        "%(log10)s log10."
    ),
    "heat_effect": _("Pasteurisation effect p* of the log: %(effect)s (1 is 15 s at 72 °C, with z = 8 °C)."),
}

STEPS: Words = {
    "heat_step_row": _("The row of the table: %(temperature)s for %(hold)s (%(rule)s)."),
    "heat_step_rich": _("The product counts as rich under this rule: %(option)s."),
    "heat_step_raise": _("So the limit is raised: %(table)s + %(by)s = %(limit)s."),
    "heat_step_no_raise": _("No raise for a rich product applies, so the limit is %(limit)s."),
    "heat_step_edge": _(
        "Compared in the unit of the rule, %(limit)s: in this log a reading counts from %(passes)s on "
        "(%(part)s)."
    ),
    "heat_step_no_air": _("This rule has no figure for the air space at a hold of %(hold)s (%(rule)s)."),
    "heat_step_air": _("The air space must be warmer than that: %(limit)s + %(above)s = %(air)s."),
    "heat_step_probe": _(
        "The probe was off by %(error)s (%(part)s): true value = reading - error, so the first reading "
        "%(reading)s stands for %(true)s."
    ),
    "heat_step_probe_hold": _(
        "Longest stretch as read: %(as_read)s; with the probes put right: %(right)s. The one that shows "
        "less decides."
    ),
    "heat_step_probe_time": _(
        "What that changes: the equivalent time is %(before)s as read and %(after)s with the probe put "
        "right, a factor of %(factor)s."
    ),
    "heat_step_no_probe": _("No error of a probe was given, so the readings are taken as they are."),
    "heat_step_pauses": _(
        "Gaps in the record, which are pauses longer than allowed (%(pause)s for the product): %(count)s."
    ),
    "heat_step_gap": _("Gap from %(start)s to %(end)s: %(length)s."),
    "heat_step_stretch": _("At or above the limit from %(start)s to %(end)s without dip or gap: %(length)s."),
    "heat_step_no_stretch": _("No reading is at or above the limit."),
    "heat_step_more_stretches": _("And %(count)s further stretches."),
    "heat_step_long_enough": _("The longest stretch, %(held)s, is at least %(hold)s."),
    "heat_step_lacks": _("The longest stretch, %(held)s, is shorter than %(hold)s by %(by)s."),
    "heat_step_rate": _(
        "Lethal rate of each reading T: L = 10^((T - Tref) / z), with Tref = %(reference)s and z = %(z)s."
    ),
    "heat_step_hottest": _("The hottest reading, %(reading)s, gives the highest rate: L = %(rate)s."),
    "heat_step_share": _("From %(start)s to %(end)s: (%(before)s + %(after)s) / 2 × %(length)s = %(added)s."),
    "heat_step_more_shares": _("%(count)s further steps in the same way: %(added)s together."),
    "heat_step_sum": _("Sum: F = %(total)s at %(reference)s."),
    "heat_step_straight": _(
        "The steps overstate a curve. Along straight lines between the readings, F = %(straight)s; the "
        "lower one is used."
    ),
    "heat_step_d": _(
        "D at %(reference)s: %(line)s on the line of the study; single values measured are up to %(above)s "
        "times that, so D = %(d_value)s."
    ),
    "heat_step_reduction": _("log10 reduction = F / D = %(straight)s / %(d_value)s = %(log10)s."),
    "heat_step_beyond": _(
        "log10 reduction = F / D = %(straight)s / %(d_value)s, which is more than anybody measured."
    ),
    "heat_step_phosphatase": _("Compared: %(value)s with %(limit)s."),
}

VALIDITY: Words = {
    "heat_valid_table": _(
        "Judged by the table of the rule alone, in its unit. Only readings count, and between two of them "
        "nobody looked."
    ),
    "heat_valid_pause": _(
        "Longest pause allowed: %(pause)s in a hold of %(hold)s (common practice, no source)."
    ),
    "heat_valid_air_pause": _(
        "The air space may pause for %(pause)s (common practice, no source). In that time its temperature "
        "is assumed."
    ),
    "heat_valid_probe": _("The error of a probe is taken as the same at every temperature of the log."),
    "heat_valid_study": _("Holds for %(organism)s from %(low)s to %(high)s, the range of the study."),
    "heat_valid_outside": _(
        "Readings below that range: %(colder)s; the time next to them adds nothing. Readings above it: "
        "%(hotter)s, counted as %(high)s."
    ),
    "heat_valid_log_linear": _(
        "Assumes that the same time always kills the same share, that the product was mixed through, and "
        "that the coldest point was logged."
    ),
    "heat_valid_kill_pause": _(
        "Pauses longer than %(pause)s add nothing (common practice, no source); there are %(count)s of them."
    ),
    "heat_valid_phosphatase": _(
        "For milk and cream right after heating. In hot-scalded or inside-mould cheese the test is disturbed."
    ),
    "heat_phosphatase_law": _("The limit %(limit)s is law."),
    "heat_phosphatase_opinion": _("The limit %(limit)s is a scientific opinion, not law."),
}

CAUTIONS: Words = {
    "heat_caution_regulator": _(
        "This supports the judgement of a qualified person and does not replace it. The local regulator has "
        "the last word, and nothing here releases a product."
    ),
    "heat_caution_chart": _(
        "Two hand readings do not prove a hold. The recorder chart of the hold is the record and must be "
        "kept."
    ),
    "heat_caution_coldest": _(
        "It holds only where the probe sat at the coldest point and the agitator ran the whole time."
    ),
    "heat_caution_tube": _(
        "In a flow through a holding tube the time is that of the tube and its flow test, not of this log."
    ),
    "heat_caution_not_shown": _(
        "Treat the milk as not pasteurised: hold the lot, and let a qualified person decide."
    ),
    "heat_thermisation": _(
        "Thermisation (heat below pasteurisation, such as %(low)s to %(high)s for %(hold)s) is never "
        "credited as a kill step: Listeria survives it, and Staphylococcus aureus falls by about 2 log10 "
        "only."
    ),
    "heat_support_only": _(
        "An equivalent time is supporting evidence only. It never makes a hold legal, and it does not "
        "rescue a hold that was too cold or too short."
    ),
    "heat_phosphatase_proves": _(
        "A negative test shows that the enzyme of raw milk was destroyed, so no raw milk was missed or came "
        "in. It does not show the temperature or the time, nor that nothing else came in later."
    ),
    "heat_phosphatase_goat": _(
        "Raw goat milk has only about a fifth of the enzyme of cow milk, so a negative test proves less: a "
        "larger share of raw milk goes unnoticed. It does not show the temperature or the time."
    ),
}

REFUSALS: Words = {
    "heat_rule_unknown": _("“%(rule)s” is not a rule known here. Known are: %(options)s."),
    "heat_solids_below_fat": _("Total solids of %(solids)s cannot be less than the fat, %(fat)s."),
    "heat_solids_needed": _(
        "This rule (%(rule)s) asks for more heat from %(limit)s total solids on, so the total solids are "
        "needed."
    ),
    "heat_formula_plain_milk": _(
        "The formula holds only for milk below %(fat)s fat without sweetener or particles, not concentrated "
        "(%(source)s)."
    ),
    "heat_hold_not_listed": _(
        "A hold of %(hold)s is not in the table of this rule (%(rule)s). It lists: %(holds)s (%(source)s)."
    ),
    "heat_raise_without_figure": _(
        "This rule (%(rule)s) asks for more heat for a rich product but gives no figure, so it cannot be "
        "judged here (%(source)s)."
    ),
    "heat_pause_too_long": _(
        "A pause of %(pause)s is too long to show a hold of %(hold)s: at most %(most)s (common practice, no "
        "source)."
    ),
    "heat_points_too_close": _(
        "The two points must lie at least %(least)s apart (common practice, no source)."
    ),
    "heat_species_unknown": _("No limit is known for “%(option)s”. Known are: %(options)s."),
    "heat_organism_unknown": _("No heat resistance is known for “%(organism)s”."),
    "heat_z_unknown": _(
        "For %(organism)s only one temperature was studied, so a log cannot be computed (%(source)s)."
    ),
    "heat_z_not_falling": _("The time must fall as the temperature rises. These points give no z."),
    "heat_z_needs_three": _("Three points or more are needed."),
}

WORDS: Words = {**HELP, **RESULTS, **STEPS, **VALIDITY, **CAUTIONS, **REFUSALS}
