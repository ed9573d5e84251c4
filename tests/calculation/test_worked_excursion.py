"""The calculator of excursions: a log followed step by step, and its refusals."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.sentences import Sentence
from safetyplan.calculation.worked.excursion import CALCULATOR
from safetyplan.calculation.worked.shape import Answers, Log, LogLine, Task, Worked
from safetyplan.words import render
from tests.calculation.worked_answers import answers, anything, number, worked_or_refused


def log(*values: str, step: int = 30, unit: str = "degC") -> Log:
    readings = enumerate(values)
    lines = tuple(LogLine(Decimal(n * step * 60), f"{n * step} min", (Decimal(v),)) for n, v in readings)
    return Log(unit, ("temperature",), lines)


def work(**changes: object) -> Worked:
    given_ = {
        "food_state": "milk_before_starter",
        "organism": "listeria_monocytogenes",
        "temperature_log": log("4", "12", "12", "12", "4"),
        "reading_gap": number("60", "min"),
        **changes,
    }
    return CALCULATOR.task("time_in_warmth").work(answers(**given_))


def said(worked: Worked, code: str) -> list[dict[str, str]]:
    everything = (worked.result, *worked.more, *worked.steps, *worked.validity, *worked.cautions)
    return [dict(sentence.params) for sentence in everything if sentence.code == code]


def codes(sentences: tuple[Sentence, ...]) -> list[str]:
    return [sentence.code for sentence in sentences]


def test_time_above_50_f_is_read_off_the_log_and_compared_with_the_table() -> None:
    # 4 to 12 °C and back: four half hours whose warmer end is 12 °C (53.6 °F), of 7 h in that band
    bands = said(work(), "excursion_step_band")
    words = next(band for band in bands if band["above"] == "50 °F")
    assert (words["hours"], words["limit"], words["share"]) == ("2.00 h", "7.00 h", "28.6 %")


def test_the_working_names_every_step_from_the_spans_to_the_sums() -> None:
    assert codes(work().steps) == [
        "excursion_step_warm",
        *["excursion_step_band"] * 5,
        "excursion_step_sum",
        "excursion_formula_at_5",
        "excursion_step_rate",
        "excursion_step_increase",
    ]
    assert said(work(), "excursion_step_warm") == [{"temperature": "12 °C", "hours": "2.00 h"}]


def test_growth_over_the_published_steps_is_the_published_figure() -> None:
    # row GR-EXC-1: 20 h at 5 °C and 4 h at 12 °C make 0.409 log10 without lag; here the hour in which it
    # warms up is the first of the four
    worked = work(temperature_log=log(*["5"] * 21, *["12"] * 4, step=60))
    assert said(worked, "excursion_increase")[0]["increase"] == "0.41"
    lines = said(worked, "excursion_step_rate")
    assert [(line["temperature"], line["hours"]) for line in lines] == [
        ("12.00 °C", "4.00 h"),
        ("5.00 °C", "20.00 h"),
    ]
    for line in lines:
        by_hand = Decimal(line["hours"].split()[0]) * Decimal(line["rate"])
        assert abs(by_hand - Decimal(line["increase"])) < Decimal("0.002")


def test_curd_in_process_is_refused_at_its_field() -> None:
    with pytest.raises(Refusal) as caught:
        work(food_state="curd_in_process")
    assert (caught.value.field, caught.value.sentence.code) == ("food_state", "exposure_curd")


def test_a_gap_is_said_and_nothing_in_it_is_counted() -> None:
    worked = work(temperature_log=log("4", "4", "4", step=120))
    assert worked.result.code == "excursion_gaps"
    assert "excursion_gap_not_counted" in codes(worked.validity)
    assert "growth_possible_unknown" in codes(worked.more)
    assert "excursion_step_no_span" in codes(worked.steps)


def test_all_organisms_are_answered_and_the_worst_leads() -> None:
    worked = work(organism="every_organism", temperature_log=log(*["25"] * 9))
    assert worked.result.code == "excursion_exceeded"
    shares = [dict(s.params)["share"] for s in (worked.result, *worked.more) if "share" in dict(s.params)]
    figures = [Decimal(share.split()[0]) for share in shares]
    assert figures == sorted(figures, reverse=True)
    assert len(figures) == 11
    assert {dict(s.params)["organism"] for s in worked.steps if s.code == "excursion_step_sum"} == {
        dict(s.params)["organism"] for s in (worked.result, *worked.more)
    }
    assert len(said(worked, "excursion_increase")) == 3


def test_the_table_is_said_to_be_from_memory_beside_every_verdict() -> None:
    worked = work(organism="every_organism")
    verdicts = [s for s in (worked.result, *worked.more) if s.code.startswith(("excursion_b", "excursion_e"))]
    assert all("from memory" in render(verdict) for verdict in verdicts)
    assert "excursion_memory" in codes(worked.cautions)
    assert "excursion_decides" in codes(worked.cautions)


def test_a_little_more_than_the_whole_is_never_shown_as_the_whole() -> None:
    # Salmonella above 70 °F: 2 h; two hours and one second
    lines = tuple(LogLine(Decimal(at), str(at), (Decimal(25),)) for at in (0, 3600, 7200, 7201))
    worked = work(organism="salmonella", temperature_log=Log("degC", ("temperature",), lines))
    assert (worked.result.code, dict(worked.result.params)["share"]) == ("excursion_exceeded", "100.01 %")


def test_a_long_log_lists_its_warmest_temperatures_and_sums_up_the_rest() -> None:
    worked = work(temperature_log=log(*[str(Decimal(4) + Decimal(n) / 10) for n in range(40)]))
    assert len(said(worked, "excursion_step_warm")) == 12
    assert said(worked, "excursion_step_warm_rest") == [{"count": "27", "hours": "13.50 h"}]
    listed = [Decimal(line["increase"]) for line in said(worked, "excursion_step_rate")]
    rest = Decimal(said(worked, "excursion_step_rate_rest")[0]["increase"])
    total = Decimal(said(worked, "excursion_step_increase")[0]["increase"])
    assert abs(sum(listed) + rest - total) < Decimal("0.01")


def test_more_growth_than_any_population_gains_is_said_as_such() -> None:
    month = work(temperature_log=log(*["30"] * 200, step=60))
    assert said(month, "excursion_increase_most")[0]["most"] == "9"
    assert said(month, "excursion_increase") == []


def test_whether_growth_is_possible_is_told_with_the_source_that_is_lowest() -> None:
    possible = said(work(temperature_log=log("4", "4")), "growth_possible")[0]
    assert (possible["limit"], possible["highest"]) == ("-1.5 °C", "0 °C")
    cold = work(organism="salmonella", temperature_log=log("4", "4"))
    assert said(cold, "growth_too_cold")[0]["limit"] == "5.2 °C"


def test_ph_and_water_activity_count_only_on_a_rind_on_which_they_do_not_rise() -> None:
    cheese = {
        "food_state": "finished_cheese",
        "organism": "salmonella",
        "highest_ph": number("3.5", "pH"),
        "highest_aw": number("0.90", "aw"),
    }
    assert len(said(work(**cheese, rind="rind_dry"), "growth_too_low")) == 2
    assert said(work(**cheese, rind="rind_washed"), "growth_too_low") == []
    ripening = work(**{**cheese, "organism": "listeria_monocytogenes"}, rind="rind_washed")
    assert said(ripening, "growth_possible_rind")


def test_a_ph_of_a_finished_cheese_without_its_rind_is_refused_at_the_rind() -> None:
    cheese = {"food_state": "finished_cheese", "organism": "salmonella"}
    for rind in ({}, {"rind": "rind_not_given"}):
        with pytest.raises(Refusal) as caught:
            work(**cheese, **rind, highest_ph=number("4.5", "pH"))
        assert caught.value.field == "rind"
        assert work(**cheese, **rind).result
    assert work(highest_ph=number("6.7", "pH")).result  # milk has no rind


@pytest.mark.parametrize(
    ("changes", "field", "code"),
    [
        ({"temperature_log": log("4")}, "temperature_log", "excursion_two_readings"),
        ({"temperature_log": log("4", "101")}, "temperature_log", "excursion_temperatures"),
        ({"reading_gap": number("0", "min")}, "reading_gap", "excursion_gap_range"),
        ({"reading_gap": number("169", "h")}, "reading_gap", "excursion_gap_range"),
        ({"highest_ph": number("15", "pH")}, "highest_ph", "outside_validity"),
    ],
)
def test_an_answer_that_cannot_be_is_refused_at_its_field(
    changes: dict[str, object], field: str, code: str
) -> None:
    with pytest.raises(Refusal) as caught:
        work(**changes)
    assert (caught.value.field, caught.value.sentence.code) == (field, code)


def test_the_chart_shades_the_time_that_counts_and_marks_where_growth_begins() -> None:
    worked = work(organism="salmonella", temperature_log=log("3", "8", "3", "3", "9", "9"))
    assert worked.chart is not None
    # a span counts when an end is at or above 41.4 °F (5.2 °C): all but the third half hour
    assert worked.chart.bands == ((0, 1), (Decimal("1.5"), Decimal("2.5")))
    assert abs(worked.chart.limit_steps[0][1] - Decimal("5.22")) < Decimal("0.01")
    apart = work(organism="salmonella", temperature_log=log("9", "9", "9", step=61)).chart
    assert apart is not None
    assert apart.bands == ()


def test_a_log_in_fahrenheit_is_worked_like_one_in_celsius() -> None:
    one = work(temperature_log=log("5", "10", "15", "5"))
    other = work(temperature_log=log("41", "50", "59", "41", unit="degF"))
    assert one.result == other.result
    assert one.more == other.more


def test_the_rule_of_rinds_is_applied_over_the_shelf_life() -> None:
    given_ = {
        "rind": "rind_washed",
        "highest_ph": number("4.3", "pH"),
        "wording": "wording_eu",
        "challenge_study": "study_none",
    }
    task = CALCULATOR.task("listeria_growth")
    assert task.work(answers(**given_)).result.code == "listeria_rind"
    assert task.work(answers(**{**given_, "rind": "rind_none"})).result.code == "listeria_deemed"


@pytest.mark.parametrize("name", ["time_in_warmth", "listeria_growth"])
def test_a_choice_nobody_made_errs_towards_the_eater(name: str) -> None:
    rind = next(ask for ask in CALCULATOR.task(name).asks if ask.name == "rind")
    assert rind.options[0] in ("rind_not_given", "rind_bloomy")


@settings(max_examples=150)
@given(st.data())
@pytest.mark.parametrize("name", ["time_in_warmth", "listeria_growth"])
def test_any_answers_are_worked_or_refused_in_words(name: str, data: st.DataObject) -> None:
    task = CALCULATOR.task(name)
    given_ = data.draw(anything(task))
    worked_or_refused(task, given_)
    assert all(render(sentence) for sentence in told(task, given_))


def told(task: Task, given_: Answers) -> list[Sentence]:
    """Everything that is said: the result with its working, or the refusal."""
    try:
        worked = task.work(given_)
    except Refusal as refusal:
        return [refusal.sentence]
    return [sentence for _name, part in worked.sentences() for sentence in part]
