"""The calculators of thermometer, pH meter and trends: published examples, refusals at their fields."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.worked import control_chart, ph_meter_check, thermometer_check
from safetyplan.calculation.worked.shape import Calculator, Number, Worked
from tests.calculation.worked_answers import answers, anything, number, worked_or_refused

CALCULATORS = (thermometer_check.CALCULATOR, ph_meter_check.CALCULATOR, control_chart.CALCULATOR)
TASKS = [(calculator, task.name) for calculator in CALCULATORS for task in calculator.tasks]


def work(calculator: Calculator, task: str, **given_: object) -> Worked:
    return calculator.task(task).work(answers(**given_))


def thermometer(task: str, **given_: object) -> Worked:
    return work(thermometer_check.CALCULATOR, task, **given_)


def words_of(worked: Worked) -> dict[str, str]:
    return dict(worked.result.params)


def values(*texts: str) -> tuple[Number, ...]:
    return tuple(Number(Decimal(text), "ratio") for text in texts)


def test_a_probe_half_a_degree_off_in_ice_is_within_its_tolerance_and_a_tenth_more_is_not() -> None:
    use = {"thermometer_use": "probe_half_degree"}
    exactly = thermometer("ice_point", thermometer_shown=number("0.5", "degC"), **use)
    assert exactly.result.code == "instrument_within"
    beyond = thermometer("ice_point", thermometer_shown=number("0.6", "degC"), **use)
    assert beyond.result.code == "instrument_outside"
    assert beyond.cautions[0].code == "instrument_look_back"


def test_a_tolerance_in_fahrenheit_is_compared_in_fahrenheit() -> None:
    use = {"thermometer_use": "recorder_thermometer"}
    shown = thermometer("ice_point", thermometer_shown=number("33", "degF"), **use)
    assert (shown.result.code, words_of(shown)["error"]) == ("instrument_within", "+1.00 °F")
    # 0.6 °C are 1.08 °F
    celsius = thermometer("ice_point", thermometer_shown=number("0.6", "degC"), **use)
    assert celsius.result.code == "instrument_outside"


def test_at_5000_ft_water_boils_at_the_published_temperature() -> None:
    # 202.9 °F: standard atmosphere and IAPWS; kitchen tables print 202.6 to 203
    worked = thermometer(
        "boiling_point",
        thermometer_shown=number("202.9", "degF"),
        altitude=number("5000", "ft"),
        thermometer_use="probe_one_degree",
    )
    assert worked.result.code == "instrument_within"
    assert [step.code for step in worked.steps][:2] == [
        "instrument_step_altitude",
        "instrument_step_pressure",
    ]


# at 300 m by the standard atmosphere: 98.98 °C (iapws), and the weather makes ± 0.5 °C of it
@pytest.mark.parametrize(
    ("use", "shown", "code"),
    [
        ("probe_half_degree", "98.9", "instrument_undecided"),
        ("indicating", "99", "instrument_undecided"),
        ("probe_half_degree", "99.9", "instrument_undecided"),
        ("probe_half_degree", "100", "instrument_outside"),
        ("probe_one_degree", "98.5", "instrument_within"),
        ("probe_one_degree", "98.4", "instrument_undecided"),
    ],
)
def test_by_altitude_only_what_holds_in_any_weather_is_said(use: str, shown: str, code: str) -> None:
    given_ = {"altitude": number("300", "m"), "thermometer_use": use}
    found = thermometer("boiling_point", thermometer_shown=number(shown, "degC"), **given_)
    assert found.result.code == code
    assert (found.cautions[0].code == "instrument_look_back") == (code == "instrument_outside")


def test_pressure_and_altitude_together_or_neither_are_refused() -> None:
    given_ = {"thermometer_shown": number("99", "degC"), "thermometer_use": "probe_half_degree"}
    both = {"air_pressure": number("990", "hPa"), "altitude": number("200", "m")}
    for more in ({}, both):
        with pytest.raises(Refusal) as caught:
            thermometer("boiling_point", **given_, **more)
        assert caught.value.field == "air_pressure"
    assert thermometer("boiling_point", **given_, air_pressure=number("990", "hPa")).steps


def test_readings_are_put_right_by_the_published_two_points() -> None:
    # 0.4 in ice, 99.1 where water boils at 98.65: 72.0 was 71.56 (hand calculation of the check values)
    worked = thermometer(
        "readings_two_points",
        shown_low=number("0.4", "degC"),
        true_low=number("0", "degC"),
        shown_high=number("99.1", "degC"),
        true_high=number("98.65", "degC"),
        readings=(number("72.0", "degC"),),
    )
    assert words_of(worked)["true"] == "71.56 °C"
    assert [step.code for step in worked.steps] == ["instrument_step_line", "instrument_step_reading"]
    assert worked.cautions[0].code == "instrument_recomputed_caution"


def test_a_reading_far_from_both_points_is_not_put_right() -> None:
    points = {
        "shown_low": number("0", "degC"),
        "true_low": number("0", "degC"),
        "shown_high": number("50", "degC"),
        "true_high": number("50", "degC"),
    }
    with pytest.raises(Refusal) as caught:
        thermometer("readings_two_points", **points, readings=(number("60.1", "degC"),))
    assert caught.value.field == "readings"
    assert thermometer("readings_two_points", **points, readings=(number("60", "degC"),)).steps


def electrode(neutral: str, other: str, **changes: object) -> Worked:
    given_ = {
        "buffer_neutral": "technical_7",
        "mv_neutral": number(neutral, "mV"),
        "buffer_other": "phthalate_4",
        "mv_other": number(other, "mV"),
        "buffer_temperature": number("25", "degC"),
        "electrode_acceptance": "electrode_usual",
        **changes,
    }
    return work(ph_meter_check.CALCULATOR, "electrode_millivolts", **given_)


def test_the_published_electrodes_are_accepted_and_rejected() -> None:
    # READ studylib.net 25392327: 98.6 and 81.7 % with buffers 7.01 and 4.01; with 7.00 a little more
    good, bad = electrode("-15", "160"), electrode("15", "160")
    assert (good.result.code, words_of(good)["slope"]) == ("ph_accepted", "98.9 %")
    assert bad.result.code == "ph_slope_outside"


def test_a_slope_that_comes_of_mixed_up_buffers_is_pointed_out() -> None:
    # 59.16 mV per pH in the buffers 4.01 and 6.86, taken for 4.01 and 7.00
    confused = electrode("8.3", "176.9")
    assert any(s.code == "ph_buffers_confused" for s in confused.cautions)
    # a sound electrode, and one in use with 95 % of the slope
    for plain in (electrode("0", "177"), electrode("0", "168.6")):
        assert not any(s.code == "ph_buffers_confused" for s in plain.cautions)


def test_exchanged_millivolts_are_refused_at_their_field() -> None:
    with pytest.raises(Refusal) as caught:
        electrode("177", "0")
    assert (caught.value.sentence.code, caught.value.field) == ("ph_millivolts_exchanged", "mv_other")


def test_a_buffer_outside_its_table_is_refused_at_the_temperature() -> None:
    with pytest.raises(Refusal) as caught:
        electrode("0", "177", buffer_temperature=number("51", "degC"))
    assert caught.value.field == "buffer_temperature"


def test_a_reading_in_a_buffer_is_compared_with_its_ph_at_the_temperature() -> None:
    # the technical buffer has pH 7.02 at 20 °C: Foxboro MI 611-211, table 7
    given_ = {
        "buffer_read": "technical_7",
        "buffer_temperature": number("20", "degC"),
        "ph_tolerance": number("0.05", "pH"),
    }
    calculator, task = ph_meter_check.CALCULATOR, "buffer_readings"
    near = work(calculator, task, ph_shown=number("6.97", "pH"), **given_)
    assert (near.result.code, words_of(near)["error"]) == ("ph_reading_within", "-0.05")
    assert work(calculator, task, ph_shown=number("6.96", "pH"), **given_).result.code == "ph_reading_outside"


def chart(*texts: str, kind: str = "values_plain", **more: object) -> Worked:
    given_ = {"trend_values": values(*texts), "trend_kind": kind, "trend_rules": "rules_default", **more}
    return work(control_chart.CALCULATOR, "individuals_chart", **given_)


def test_the_handbook_chart_has_its_published_limits_and_is_provisional() -> None:
    # NIST/SEMATECH e-Handbook 6.3.2.2: 50.81, limits 55.8041 and 45.8159
    flow = ("49.6", "47.6", "49.9", "51.3", "47.8", "51.2", "52.6", "52.4", "53.6", "52.1")
    worked = chart(*flow)
    assert words_of(worked)["upper"] == "55.804"
    assert words_of(worked)["lower"] == "45.816"
    assert any(s.code == "trend_provisional" for s in worked.validity)
    assert worked.cautions[0].code == "trend_not_critical"


def test_a_value_far_out_is_named_by_its_number() -> None:
    worked = chart(*["4.0", "4.1"] * 10, "9.0", trend_first=number("20", "count"))
    assert dict(worked.more[0].params) == {"points": "21", "rule": "nelson_1"}
    assert worked.chart is not None
    assert worked.chart.bands == ((Decimal("20.5"), Decimal("21.5")),)


def test_neighbouring_points_of_one_pattern_are_told_as_a_stretch() -> None:
    worked = chart(*["4.0", "4.2"] * 5, *["4.3"] * 11, trend_first=number("10", "count"))
    assert [dict(s.params)["points"] for s in worked.more if dict(s.params)["rule"] == "nelson_2"] == [
        "18 – 21"
    ]


def test_frozen_limits_rest_on_the_first_values_only() -> None:
    quiet = ["4.0", "4.1"] * 10
    frozen = chart(*quiet, "5.0", "5.1", trend_first=number("20", "count"))
    assert words_of(frozen)["upper"] == words_of(chart(*quiet))["upper"]
    assert any(s.code == "trend_frozen" for s in frozen.validity)
    assert not any(s.code == "trend_provisional" for s in frozen.validity)
    for wrong in ("1", "2.5", "23"):
        with pytest.raises(Refusal) as caught:
            chart(*quiet, "5.0", "5.1", trend_first=number(wrong, "count"))
        assert caught.value.field == "trend_first"


def test_the_critical_limit_stands_beside_the_control_limits() -> None:
    # mean 4, MR 2/3: limits 4 ± 3 × 0.6667 ÷ 1.128 = 4 ± 1.773, by hand
    steady = ("4", "3.5", "4.5", "4")
    assert chart(*steady, trend_critical_limit=number("5", "ratio")).more[0].code == "trend_critical_between"
    assert chart(*steady, trend_critical_limit=number("7", "ratio")).more[0].code == "trend_critical_beyond"


def test_the_chart_draws_both_control_limits_the_mean_and_the_critical_limit() -> None:
    found = chart("4", "3.5", "4.5", "4", trend_critical_limit=number("7", "ratio")).chart
    assert found is not None
    lines = [steps[0][1] for steps in (found.target_steps, *found.more_target_steps)]
    # by hand, as above
    assert [float(line) for line in lines] == pytest.approx([5.773, 4, 2.227], abs=0.001)
    assert (found.limit, found.limit_steps[0][1]) == ("trend_critical_limit", 7)
    plain = chart("4", "3.5", "4.5", "4").chart
    assert plain is not None
    assert (plain.limit, plain.limit_steps) == ("", ())


def test_temperatures_below_zero_are_charted_in_their_unit_and_a_limit_in_another_is_converted() -> None:
    cold = tuple(Number(Decimal(text), "degC") for text in ("-18", "-18.5", "-17.5", "-18"))
    found = work(
        control_chart.CALCULATOR,
        "temperature_chart",
        trend_values=cold,
        trend_rules="rules_default",
        trend_critical_limit=number("5", "degF"),
    )
    assert words_of(found)["upper"] == "-16.227 °C"
    # 5 °F are -15 °C
    assert dict(found.more[0].params)["limit"] == "-15.000 °C"


def test_the_working_of_a_chart_is_complete_and_gives_each_number() -> None:
    steps = chart("4", "3.5", "4.5", "4").steps
    assert [s.code for s in steps] == [
        "trend_step_mean",
        "trend_step_range",
        "trend_step_sigma",
        "trend_step_limits",
        "trend_step_range_limit",
    ]
    assert dict(steps[0].params)["sum"] == "4.0 + 3.5 + 4.5 + 4.0"
    assert dict(steps[1].params) == {"sum": "0.5 + 1.0 + 0.5", "count": "3", "range": "0.667"}


def test_values_that_never_differ_are_answered_in_words_and_a_count_of_zero_is_refused() -> None:
    assert chart("4", "4", "4").result.code == "trend_result_flat"
    with pytest.raises(Refusal) as caught:
        chart("0", "10", kind="values_counts")
    assert caught.value.field == "trend_values"
    assert chart("10", "100", kind="values_counts").result.code == "trend_result_quiet"


def test_the_published_cumulative_sums_are_quiet_and_a_drift_is_named_by_its_first_value() -> None:
    # Montgomery and Runger, table 16-8: target 99, K 1, H 10, in control; upper sums 2.0, 0, 0, 0, 2.0, 0.5
    given_ = {
        "trend_kind": "values_plain",
        "trend_target": values("99")[0],
        "cusum_slack": values("1")[0],
        "cusum_decision": values("10")[0],
    }
    quiet = work(
        control_chart.CALCULATOR,
        "cusum_chart",
        trend_values=values("102.0", "94.8", "98.3", "98.4", "102.0", "98.5"),
        **given_,
    )
    assert quiet.result.code == "trend_cusum_quiet"
    sums = [Decimal(dict(step.params)["high"]) for step in quiet.steps[1:]]
    assert sums == [2, 0, 0, 0, 2, Decimal("0.5")]
    drift = work(control_chart.CALCULATOR, "cusum_chart", trend_values=values(*["103"] * 5), **given_)
    assert words_of(drift)["first"] == "4"
    down = work(control_chart.CALCULATOR, "cusum_chart", trend_values=values(*["95"] * 5), **given_)
    assert down.chart is not None
    assert down.chart.points[-1][1] == 15
    with pytest.raises(Refusal) as caught:
        work(control_chart.CALCULATOR, "cusum_chart", **given_)
    assert caught.value.field == "trend_values"
    counts = {**given_, "trend_kind": "values_counts"}
    logged = work(control_chart.CALCULATOR, "cusum_chart", trend_values=values("1000"), **counts)
    assert logged.validity[-1].code == "trend_given_logged"


def test_the_published_weighted_averages_come_out_as_printed() -> None:
    # NIST/SEMATECH e-Handbook 6.3.2.4: 50.60, 49.52, 50.56 with weight 0.3 and target 50
    worked = work(
        control_chart.CALCULATOR,
        "ewma_chart",
        trend_values=values("52.0", "47.0", "53.0"),
        trend_kind="values_plain",
        trend_target=values("50")[0],
        ewma_sigma=values("2.0539")[0],
        ewma_weight=values("0.3")[0],
    )
    found = [Decimal(dict(step.params)["average"]) for step in worked.steps[1:]]
    assert found == [Decimal("50.6"), Decimal("49.52"), Decimal("50.564")]


@settings(max_examples=100)
@given(st.data())
@pytest.mark.parametrize(("calculator", "name"), TASKS, ids=[f"{c.name} {n}" for c, n in TASKS])
def test_any_answers_are_worked_or_refused(calculator: Calculator, name: str, data: st.DataObject) -> None:
    task = calculator.task(name)
    worked_or_refused(task, data.draw(anything(task)))
