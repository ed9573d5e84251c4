"""The words of sampling."""

from django.utils.translation import gettext_lazy as _

from safetyplan.words.shape import Words

QUANTITIES: Words = {
    "presence": _("presence"),
    "sampling_result": _("result of a sample"),
    "sampling_bound": _("m or M"),
    "sampling_n": _("number of samples n"),
    "sampling_c": _("number c of samples that may lie above m"),
    "sampling_share": _("share of the lot"),
    "sampling_confidence": _("confidence"),
    "sampling_log10": _("logarithm of a count"),
    "sampling_sd": _("standard deviation of the logarithms"),
    "mean_count": _("number in a geometric mean"),
    "mean_months": _("number of months"),
    "detected": _("detected"),
    "not_detected": _("not detected"),
    "pooled_samples": _("all samples of the months taken together"),
    "monthly_means": _("mean of the monthly means"),
    "full_limit": _("the limit itself"),
    "half_limit": _("half of the limit"),
}

RESULTS: Words = {
    "sampling_satisfactory": _("Satisfactory: none of the %(n)s results is above m = %(m)s."),
    "sampling_acceptable_two": _(
        "Acceptable: %(above)s of the %(n)s results above m = %(m)s; up to c = %(c)s may be."
    ),
    "sampling_acceptable_three": _(
        "Acceptable: %(above)s of the %(n)s results above m = %(m)s, where up to c = %(c)s may be, "
        "and none above M = %(upper)s."
    ),
    "sampling_at_worst": _(
        "Acceptable at worst: %(above)s of the %(n)s results above m = %(m)s, %(left_open)s only known as "
        "below or above a number; even so no more than c = %(c)s can be above m."
    ),
    "sampling_above_c": _(
        "Unsatisfactory: %(above)s of %(given)s results above m = %(m)s; no more than c = %(c)s may be."
    ),
    "sampling_above_upper": _(
        "Unsatisfactory: %(above)s of %(given)s results above M = %(upper)s; none may be."
    ),
    "sampling_none_detected": _("Satisfactory: not detected in any of the %(n)s samples."),
    "sampling_detected_few": _(
        "Acceptable: detected in %(found)s of the %(n)s samples; c = %(c)s may show it."
    ),
    "sampling_detected": _(
        "Unsatisfactory: detected in %(found)s of %(given)s samples; no more than c = %(c)s may show it."
    ),
    "sampling_few": _("%(given)s of %(n)s results: undecided. The plan needs all %(n)s."),
    "sampling_open": _(
        "Undecided: %(left_open)s of the %(n)s results are only known as below or above a number, "
        "and the verdict turns on them."
    ),
    "sampling_chances_three": _(
        "What this says: a lot with 5 %%, 10 %% or 20 %% of its units above M, and none between m and M, "
        "passes this plan with a chance of %(at5)s, %(at10)s or %(at20)s."
    ),
    "sampling_chances_two": _(
        "What this says: a lot with 5 %%, 10 %% or 20 %% of its units above m passes this plan "
        "with a chance of %(at5)s, %(at10)s or %(at20)s."
    ),
    "sampling_chances_presence": _(
        "What this says: a lot in which 5 %%, 10 %% or 20 %% of such samples would show it passes this plan "
        "with a chance of %(at5)s, %(at10)s or %(at20)s."
    ),
    "mean_within": _(
        "The geometric mean over %(months)s months (%(method)s) is %(mean)s, at or below the limit "
        "%(limit)s, by %(by)s."
    ),
    "mean_above": _(
        "The geometric mean over %(months)s months (%(method)s) is %(mean)s, above the limit %(limit)s, "
        "by %(by)s."
    ),
    "mean_open": _(
        "The geometric mean is at least %(mean)s: a count above the laboratory's range leaves open whether "
        "the limit %(limit)s is kept."
    ),
    "mean_month_short": _(
        "The month %(month)s has %(given)s samples and needs at least %(least)s, so the mean is not shown."
    ),
    "mean_month_running": _(
        "The running month %(month)s has %(given)s samples so far and needs at least %(least)s."
    ),
    "mean_so_far": _("The geometric mean of the samples so far is %(mean)s; the limit is %(limit)s."),
    "mean_replaced": _(
        "%(count)s counts were only known as below or above a number; in the mean stand: %(which)s."
    ),
    "mean_undated": _("A sample of %(part)s has no date, so it belongs to no month."),
    "last_of_none": _("None of the last %(given)s results is outside its limit."),
    "last_of_some": _(
        "Outside their limit: %(outside)s of the last %(given)s results, and %(unknown)s show nothing; "
        "no more than %(most)s may be outside."
    ),
    "last_of_open": _(
        "Outside their limit: %(outside)s of the last %(given)s results, and %(unknown)s show nothing; "
        "that leaves open whether no more than %(most)s are outside."
    ),
    "last_of_too_many": _(
        "Outside their limit: %(outside)s of the last %(given)s results; no more than %(most)s may be."
    ),
    "last_of_fewer": _("There are only %(given)s results yet; the rule looks at the last %(of)s."),
    "last_of_undated": _("A result of %(part)s has no time, so its place in the order is not known."),
}

PLAN: Words = {
    "sampling_sample": _("%(part)s, sample %(number)s"),
    "sampling_plan_three": _(
        "Limit: %(part)s, %(n)s samples: at most %(c)s above m = %(m)s and none above M = %(upper)s."
    ),
    "sampling_plan_two": _("Limit: %(part)s, %(n)s samples: at most %(c)s above m = %(m)s."),
    "sampling_plan_presence": _("Limit: %(part)s detected in at most %(c)s of %(n)s samples of %(grams)s."),
    "mean_plan": _(
        "Limit: %(part)s, geometric mean over %(months)s calendar months at most %(limit)s, "
        "with at least %(least)s samples in each month."
    ),
    "mean_plan_method": _(
        "The mean is taken this way: %(method)s. A count below the laboratory's limit is replaced by "
        "%(option)s."
    ),
    "last_of_plan": _("Limit: at most %(most)s of the last %(of)s results outside the limit that follows."),
}

REFUSALS: Words = {
    "sampling_upper_not_above": _("M must lie above m. For a plan of two classes leave M empty."),
    "sampling_too_many": _(
        "%(given)s results for a plan of %(n)s samples. Further samples are a new plan, not more of this one."
    ),
    "sampling_below_nothing": _("No count lies below nought."),
    "mean_empty": _("A geometric mean needs at least one count."),
    "mean_nought": _(
        "%(value)s has no logarithm, so it cannot stand in a geometric mean. Write it as below the "
        "laboratory's limit, such as <10."
    ),
    "last_of_member": _("Only a bound or a choice of words can be counted over the last results."),
}

CRITERIA: Words = {
    "own_plan": _("a plan of your own"),
    "eu_e_coli_heated_milk": _("EU 2.2.2: E. coli, cheese from heat-treated milk or whey"),
    "eu_staph_raw_milk": _("EU 2.2.3: coagulase-positive staphylococci, raw-milk cheese"),
    "eu_staph_mild_or_ripened": _(
        "EU 2.2.4: coagulase-positive staphylococci, cheese from milk heated below pasteurisation, "
        "or ripened cheese from pasteurised milk"
    ),
    "eu_staph_fresh": _("EU 2.2.5: coagulase-positive staphylococci, fresh cheese from pasteurised milk"),
    "eu_listeria_kept_low": _(
        "EU 1.2 (a): Listeria monocytogenes, growth possible, shown to stay at or below 100 CFU/g"
    ),
    "eu_listeria_no_growth": _("EU 1.3: Listeria monocytogenes, growth not possible"),
    "eu_listeria_growth": _("EU 1.2 (b): Listeria monocytogenes in 25 g, growth possible"),
    "eu_listeria_infants": _("EU 1.1: Listeria monocytogenes in 25 g, for infants or medical use"),
    "eu_salmonella_mild": _(
        "EU 1.11: Salmonella in 25 g, cheese from raw milk or milk heated below pasteurisation"
    ),
    "eu_enterotoxin": _("EU 1.21: staphylococcal enterotoxins in 25 g"),
    "anz_e_coli": _("Australia and New Zealand: E. coli, all cheese"),
    "anz_listeria_no_growth": _("Australia and New Zealand: Listeria monocytogenes, growth not possible"),
    "anz_listeria_growth": _("Australia and New Zealand: Listeria monocytogenes in 25 g, growth possible"),
    "anz_salmonella_raw_milk": _("Australia and New Zealand: Salmonella in 25 g, raw-milk cheese"),
    "anz_salmonella_soft": _(
        "Australia and New Zealand: Salmonella in 25 g, moisture above 39 % and pH above 5.0"
    ),
    "anz_enterotoxin_raw_milk": _(
        "Australia and New Zealand: staphylococcal enterotoxins in 25 g, raw-milk cheese"
    ),
    "own_limit": _("a limit of your own"),
    "eu_cow_plate_count": _("EU: cow's milk, 100 000 per ml over 2 months"),
    "eu_other_plate_count": _("EU: milk of other species, 1 500 000 per ml over 2 months"),
    "eu_other_plate_count_raw": _(
        "EU: milk of other species for products without heat treatment, 500 000 per ml over 2 months"
    ),
    "eu_cow_somatic_cells": _("EU: cow's milk, 400 thousand cells per ml over 3 months"),
}

INPUTS: Words = {
    "sampling_plan": _("sampling plan"),
    "judge_counts": _("results as counts"),
    "judge_presence": _("results as detected or not"),
    "plan_detects": _("what a plan can find"),
    "lot_passes": _("which lots pass"),
    "sampling_criterion": _("criterion"),
    "sample_results": _("results, one per line"),
    "plan_n": _("samples in the plan (n)"),
    "plan_c": _("samples that may be above m, or show it (c)"),
    "plan_m": _("lower limit m"),
    "plan_upper": _("upper limit M"),
    "samples_tested": _("samples tested"),
    "samples_detected": _("samples in which it was detected"),
    "plan_confidence": _("confidence"),
    "sample_grams": _("grams of each sample"),
    "lot_mean": _("geometric mean of the lot"),
    "lot_sd": _("standard deviation of the log10 counts inside the lot"),
    "share_above": _("share of bad units, %"),
    "chance_percent": _("chance of passing, %"),
    "chance_to_pass": _("chance that the lot passes"),
    "lot_mean_log10": _("mean of the log10 counts of the lot"),
    "rolling_mean": _("rolling geometric mean of milk"),
    "plate_count_mean": _("plate count"),
    "somatic_cell_mean": _("somatic cells, thousand per ml"),
    "milk_criterion": _("rule"),
    "latest_month": _("latest month"),
    "month_before": _("month before"),
    "two_months_before": _("two months before"),
    "censored_as": _("what replaces a count below the laboratory's limit"),
    "own_mean_limit": _("your own limit"),
    "own_months": _("your own number of months"),
    "own_least": _("your own least number of samples in a month"),
    "month_of_window": _("month, 1 the earliest"),
    "monthly_mean": _("geometric mean of the month"),
    "mean_limit": _("limit of the rolling mean"),
}

HELP: Words = {
    "sampling_help_own": _("Only for a plan of your own."),
    "sampling_help_own_upper": _("Only for a plan of your own with three classes."),
    "sampling_help_upper": _("Empty for a plan of two classes."),
    "sampling_help_results": _(
        "As the laboratory wrote them: 40, <10, >1500. Fewer than n may be there; the rest may follow."
    ),
    "mean_help_results": _("The results of that month, one per line, as the laboratory wrote them."),
    "mean_help_own": _("Only for a limit of your own."),
}

STEPS: Words = {
    "sampling_step_plan_three": _(
        "The plan: n = %(n)s samples, at most c = %(c)s above m = %(m)s, none above M = %(upper)s."
    ),
    "sampling_step_plan_two": _("The plan: n = %(n)s samples, at most c = %(c)s above m = %(m)s."),
    "sampling_step_plan_presence": _(
        "The plan: n = %(n)s samples, at most c = %(c)s in which it is detected."
    ),
    "sampling_step_sorted_three": _(
        "At or below m: %(good)s. Above m up to M: %(middle)s. Above M: %(bad)s. "
        "Left open by < or >: %(left_open)s."
    ),
    "sampling_step_sorted_two": _(
        "At or below m: %(good)s. Above m: %(middle)s. Left open by < or >: %(left_open)s."
    ),
    "sampling_step_count_three": _(
        "Of %(given)s results %(upper)s lie above M (none may) and %(above)s in all above m (c = %(c)s may)."
    ),
    "sampling_step_count_two": _("Of %(given)s results %(above)s lie above m (c = %(c)s may)."),
    "sampling_step_detected": _("Detected in %(found)s of %(given)s samples (c = %(c)s may show it)."),
    "sampling_step_formula_two": _(
        "Chance of passing: Pa = sum for i = 0 to c of C(n, i) × p^i × (1 − p)^(n − i), "
        "p the share of bad units, C(n, i) the ways of choosing i of n."
    ),
    "sampling_step_formula_three": _(
        "Chance of passing: Pa = sum for i = 0 to c of C(n, i) × q^i × (1 − q − d)^(n − i), "
        "q the share between m and M, d the share above M, C(n, i) the ways of choosing i of n."
    ),
    "sampling_step_chance": _("%(symbol)s = %(share)s: Pa = %(terms)s = %(result)s, which is %(percent)s."),
    "sampling_step_root": _("c = 0: p = 1 − (%(left)s)^(1/%(n)s) = %(share)s."),
    "sampling_step_solved": _(
        "n = %(n)s, c = %(c)s: p is the share at which Pa equals 1 minus the confidence; "
        "found by halving the interval: %(share)s."
    ),
    "sampling_step_poisson": _(
        "Organisms spread at random: C = −ln(%(left)s) / (%(grams)s in all) = %(found)s CFU/g."
    ),
    "sampling_step_logs": _(
        "Logarithms to base 10: mean of the lot %(mean)s, m %(m)s, M %(upper)s; standard deviation %(sd)s."
    ),
    "sampling_step_shares": _(
        "From the normal distribution: q = %(between)s of the units between m and M (above m where there is "
        "no M), d = %(above)s above M."
    ),
    "sampling_step_lot": _("Pa = %(terms)s = %(result)s, which is %(percent)s."),
    "mean_step_formula": _(
        "Geometric mean: add the logarithms (base 10), divide by their number, raise 10 to that."
    ),
    "mean_step_month": _("%(part)s: %(counts)s. Logarithms: %(logs)s; divided by %(count)s: mean %(mean)s."),
    "mean_step_pooled": _("All samples together: logarithms %(logs)s; divided by %(count)s: mean %(mean)s."),
    "mean_step_monthly": _(
        "Mean of the monthly means: logarithms %(logs)s; divided by %(count)s: mean %(mean)s."
    ),
}

ANSWERS: Words = {
    "sampling_chances_marginal": _(
        "A lot with 5 %%, 10 %% or 20 %% of its units between m and M, and none above M, "
        "passes it with a chance of %(at5)s, %(at10)s or %(at20)s."
    ),
    "sampling_toxin_test": _(
        "A result is or may be above %(limit)s: the batch is tested for staphylococcal enterotoxin."
    ),
    "sampling_detects": _(
        "n = %(n)s, c = %(c)s: with %(confidence)s confidence this plan refuses a lot in which %(share)s or "
        "more of the units are bad."
    ),
    "sampling_needed": _(
        "To refuse a lot with 5 %% bad units with %(confidence)s confidence, c = 0 needs n = %(n)s."
    ),
    "sampling_finds": _(
        "Spread evenly at random, %(found)s or more is found in %(grams)s in all with %(confidence)s "
        "confidence."
    ),
    "sampling_lot_passes": _(
        "A lot with a geometric mean of %(mean)s passes this plan with a chance of %(percent)s; %(between)s "
        "of its units lie between m and M (above m where there is no M), %(above)s above M."
    ),
    "mean_result_within": _(
        "At or below the limit %(limit)s both ways: all samples together %(pooled)s, mean of the monthly "
        "means %(monthly)s."
    ),
    "mean_result_above": _(
        "Above the limit %(limit)s both ways: all samples together %(pooled)s, mean of the monthly means "
        "%(monthly)s."
    ),
    "mean_result_differ": _(
        "The two ways differ about the limit %(limit)s: all samples together %(pooled)s, mean of the monthly "
        "means %(monthly)s. Ask your authority which one holds."
    ),
    "mean_result_open": _(
        "Not shown: the means are at least %(pooled)s (all samples together) and %(monthly)s (mean of the "
        "monthly means); a count above the laboratory's range leaves the limit %(limit)s open."
    ),
    "mean_result_short": _(
        "Not shown: in “%(part)s” stand %(given)s results, at least %(least)s are needed. "
        "So far: all samples together %(pooled)s, mean of the monthly means %(monthly)s."
    ),
    "mean_replaced_by": _("A count below the laboratory's limit is replaced by %(option)s."),
}

CAUTIONS: Words = {
    "sampling_valid_random": _(
        "Holds for samples taken at random from a lot much larger than %(n)s samples, tested without error, "
        "for n from 1 to 1000."
    ),
    "sampling_valid_lognormal": _(
        "The curve supposes that the log10 counts inside a lot are normal with a standard deviation of 0.8, "
        "as the trade does where nothing is measured."
    ),
    "sampling_valid_lot": _(
        "Holds for lots whose log10 counts are normal, logarithms from -5 to 12, "
        "standard deviation from 0.05 to 3."
    ),
    "sampling_lot_supposed": _(
        "Mean and standard deviation of a lot are never known, only supposed. 0.8 is a convention."
    ),
    "sampling_says_little": _(
        "Passing says little: with n = %(n)s and c = %(c)s a lot with 10 %% bad units still passes with a "
        "chance of %(chance)s."
    ),
    "sampling_below_share": _("A lot with fewer bad units may well pass, and is not clean for it."),
    "sampling_hygiene": _("Process hygiene: when unsatisfactory, improve the make and the choice of milk."),
    "sampling_hold": _(
        "A lot sampled for a pathogen or toxin is on hold from sampling; presumptive counts as positive."
    ),
    "sampling_undecided_holds": _("Undecided is not satisfactory: the lot waits for the missing results."),
    "sampling_from_memory": _("Part of this criterion was not read at its source. Check it before use."),
    "sampling_who_decides": _(
        "Only the food business operator decides about the lot, with a qualified person; the authority has "
        "the last word."
    ),
    "mean_valid": _(
        "Holds over %(months)s calendar months with at least %(least)s samples in each; windows up to three "
        "months here."
    ),
    "mean_name_the_way": _("The two ways differ. Name the one your authority uses, and keep to it."),
    "mean_too_low": _("A count above the laboratory's range stands as its number: both means are too low."),
    "mean_half_lowers": _("Half of the laboratory's limit makes the mean lower than the limit itself does."),
    "mean_who_decides": _("Whether the milk may be used is for a qualified person and the authority."),
}

INPUT_REFUSALS: Words = {
    "sampling_two_plans": _(
        "The numbers of a criterion are fixed. Choose a plan of your own, or leave n, c, m and M empty."
    ),
    "sampling_more_detected": _("It cannot be detected in more samples than were tested."),
    "sampling_whole": _("A whole number is needed here, not %(value)s."),
    "sampling_plain_number": _("A plain number is needed here, not %(value)s."),
    "sampling_no_logarithm": _("%(part)s must be above nought: nought has no logarithm."),
    "mean_two_limits": _(
        "The numbers of a rule are fixed. Choose a limit of your own, or leave these empty."
    ),
    "mean_own_limit": _("A limit must be a plain number above nought, not %(value)s."),
    "mean_own_number": _("A whole number from 1 to %(most)s is needed here, not %(value)s."),
    "mean_outside_window": _(
        "The rule looks at %(months)s months only. Leave “%(part)s” empty, or choose another rule."
    ),
}

NAMES: Words = {**QUANTITIES, **CRITERIA, **INPUTS}

WORDS: Words = {**RESULTS, **PLAN, **REFUSALS, **HELP, **STEPS, **ANSWERS, **CAUTIONS, **INPUT_REFUSALS}
