"""One example for every task of every calculator, as a person types it; invented where no source stands."""

Typed = dict[str, str]

EXAMPLES: dict[tuple[str, str], Typed] = {
    ("heat-hold", "hold_with_air_space"): {
        "heat_rule": "us_ordinance",
        "hold_asked": "30",
        "vat_fat": "3.9",
        "vat_solids": "12.6",
        "vat_kind": "kind_plain",
        "heat_log": "\n".join(f"10:{minute:02} 63.4 66.8" for minute in range(5, 39, 3)),
        "heat_pause": "3",
    },
    ("heat-hold", "hold_product_only"): {
        "heat_rule": "eu_hygiene",
        "hold_asked": "30",
        "vat_fat": "3.9",
        "vat_kind": "kind_plain",
        "heat_log": "\n".join(f"10:{minute:02} 63.4" for minute in range(5, 30, 3)) + "\n10:32 62.9",
        "heat_pause": "3",
    },
    ("heat-hold", "heat_kill"): {
        "heat_organism": "listeria_whole_milk",
        "heat_log": "0 62\n5 63.4\n15 63.5\n25 63.4\n35 63.3",
        "heat_pause": "10",
    },
    ("heat-hold", "phosphatase_test"): {"phosphatase_milk": "cow_milk", "phosphatase": "350"},
    # density of 20 % at 20 °C: 1147.8 kg/m³, fizyka.umk.pl
    ("brine", "strength"): {
        "hydrometer": "density_kg_m3",
        "hydrometer_reading": "1147.8",
        "brine_temperature": "20",
    },
    ("brine", "make"): {
        "water_volume": "100",
        "brine_temperature": "12",
        "strength_basis": "weight_in_weight",
        "target_strength": "20",
    },
    # 100 kg of 18 % raised to 20 % take 2.5 kg of salt
    ("brine", "raise_strength"): {
        "brine_mass": "100",
        "brine_temperature": "12",
        "strength_basis": "weight_in_weight",
        "present_strength": "18",
        "target_strength": "20",
    },
    ("brine", "dilute"): {
        "brine_volume": "400",
        "brine_temperature": "12",
        "strength_basis": "weight_in_weight",
        "present_strength": "22",
        "target_strength": "20",
    },
    ("brine", "after_batch"): {
        "brine_volume": "400",
        "brine_temperature": "12",
        "strength_basis": "weight_in_weight",
        "strength_before": "20",
        "cheese_mass": "60",
        "moisture_lost": "3",
        "salt_gained": "1.5",
    },
    ("excursion", "time_in_warmth"): {
        "food_state": "milk_before_starter",
        "organism": "listeria_monocytogenes",
        "temperature_log": "0 4\n0.5 12\n1 13\n1.5 9\n2 4",
        "reading_gap": "60",
    },
    ("excursion", "listeria_growth"): {
        "rind": "rind_washed",
        "highest_ph": "7.1",
        "highest_aw": "0.97",
        "wording": "wording_eu",
        "challenge_study": "study_none",
    },
    ("ph-forecast", "target_time"): {
        "ph_log": "0 6,55\n1 6.40\n2 6.10\n3 5.75\n4 5.40\n5 5.15",
        "target_ph": "5.30",
        "target_hours": "6",
        "cheese_family": "no_comparison",
    },
    # Gouda of pasteurised milk, 6 weeks: PMC6728813, table 1
    ("salt-and-moisture", "composition"): {"moisture": "35.90", "fat": "37.90", "salt_content": "1.32"},
    ("salt-and-moisture", "water_activity_estimate"): {"moisture": "45", "salt_content": "1.6", "ph": "5.2"},
    ("ageing-time", "days_at_temperature"): {
        "room_log": "2026-01-15 08:00 10\n2026-01-16 08:00 11\n2026-01-17 08:00 1",
        "rule_days": "60",
        "rule_temperature": "35",
        "rule_temperature_unit": "degF",
        "longest_gap": "36",
    },
    ("ageing-time", "weight_lost"): {"start_weight": "4.2", "weight_now": "3.885"},
    ("ageing-time", "room_warmth"): {
        "room_log": "0 13\n2 13\n4 11\n6 10",
        "longest_gap": "3",
        "longest_gap_unit": "d",
    },
    ("sampling-plan", "judge_counts"): {
        "sampling_criterion": "eu_staph_mild_or_ripened",
        "sample_results": "50\n150\n<10",
    },
    ("sampling-plan", "judge_presence"): {
        "sampling_criterion": "eu_listeria_growth",
        "samples_tested": "1",
        "samples_detected": "0",
    },
    ("sampling-plan", "plan_detects"): {
        "plan_n": "5",
        "plan_c": "0",
        "plan_confidence": "95",
        "sample_grams": "25",
    },
    ("sampling-plan", "lot_passes"): {
        "plan_n": "5",
        "plan_c": "2",
        "plan_m": "100",
        "plan_upper": "1000",
        "lot_mean": "30",
        "lot_sd": "0.8",
    },
    # 10 000, 28 000, 120 000 and 35 000 per ml: mpr-bayern.de
    ("rolling-mean", "plate_count_mean"): {
        "milk_criterion": "eu_cow_plate_count",
        "latest_month": "10000\n28000",
        "month_before": "120000\n35000",
        "censored_as": "full_limit",
    },
    # thousands per ml; Irish Veterinary Journal 70:9, table 2
    ("rolling-mean", "somatic_cell_mean"): {
        "milk_criterion": "eu_cow_somatic_cells",
        "latest_month": "377",
        "month_before": "460",
        "two_months_before": "395",
        "censored_as": "full_limit",
    },
    ("thermometer-check", "ice_point"): {"thermometer_shown": "0.4", "thermometer_use": "probe_half_degree"},
    ("thermometer-check", "boiling_point"): {
        "thermometer_shown": "98.9",
        "altitude": "300",
        "thermometer_use": "probe_half_degree",
    },
    ("thermometer-check", "readings_two_points"): {
        "shown_low": "0.4",
        "true_low": "0",
        "shown_high": "99.1",
        "true_high": "98.65",
        "readings": "72.0\n63.4",
    },
    ("thermometer-check", "readings_one_point"): {"error_found": "0.8", "readings": "63.4\n63.6"},
    # -15 and 160 mV at 25 °C: studylib.net 25392327
    ("ph-meter-check", "electrode_millivolts"): {
        "buffer_neutral": "technical_7",
        "mv_neutral": "-15",
        "buffer_other": "phthalate_4",
        "mv_other": "160",
        "buffer_temperature": "25",
        "electrode_acceptance": "electrode_usual",
    },
    ("ph-meter-check", "buffer_readings"): {
        "buffer_read": "technical_7",
        "ph_shown": "6.98",
        "buffer_temperature": "20",
        "ph_tolerance": "0.05",
    },
    # ten flow rates: NIST/SEMATECH e-Handbook, 6.3.2.2
    ("control-chart", "individuals_chart"): {
        "trend_values": "49.6\n47.6\n49.9\n51.3\n47.8\n51.2\n52.6\n52.4\n53.6\n52.1",
        "trend_kind": "values_plain",
        "trend_rules": "rules_default",
    },
    # Montgomery and Runger, table 16-8: target 99, K 1, H 10
    ("control-chart", "cusum_chart"): {
        "trend_values": "102.0\n94.8\n98.3\n98.4\n102.0\n98.5",
        "trend_kind": "values_plain",
        "trend_target": "99",
        "cusum_slack": "1",
        "cusum_decision": "10",
    },
    # NIST/SEMATECH e-Handbook, 6.3.2.4
    ("control-chart", "ewma_chart"): {
        "trend_values": "52.0\n47.0\n53.0\n49.3\n50.1",
        "trend_kind": "values_plain",
        "trend_target": "50",
        "ewma_sigma": "2.0539",
        "ewma_weight": "0.3",
    },
    ("control-chart", "temperature_chart"): {
        "trend_values": "3.8\n4.1\n3.9\n4.4\n4.0\n-1.5",
        "trend_rules": "rules_default",
        "trend_critical_limit": "7",
    },
    ("control-chart", "ph_chart"): {
        "trend_values": "5.20\n5.25\n5.18\n5.22",
        "trend_rules": "rules_western",
        "trend_first": "3",
    },
    ("control-chart", "median_of_values"): {"trend_values": "3\n5\n8\n40"},
}
