"""The calculator of excursions: a log followed step by step, and its refusals."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.worked.excursion import CALCULATOR
from safetyplan.calculation.worked.shape import Log, LogLine, Worked
from tests.calculation.worked_answers import answers, anything, number, worked_or_refused


def log(*values: str, step: int = 30) -> Log:
    readings = enumerate(values)
    lines = tuple(LogLine(Decimal(n * step * 60), f"{n * step} min", (Decimal(v),)) for n, v in readings)
    return Log("degC", ("temperature",), lines)


def work(**changes: object) -> Worked:
    given_ = {
        "food_state": "milk_before_starter",
        "organism": "listeria_monocytogenes",
        "temperature_log": log("4", "12", "12", "12", "4"),
        "reading_gap": number("60", "min"),
        **changes,
    }
    return CALCULATOR.task("time_in_warmth").work(answers(**given_))


def test_time_above_50_f_is_read_off_the_log_and_compared_with_the_table() -> None:
    # 4 to 12 °C and back: four half hours whose warmer end is 12 °C (53.6 °F), of 7 h in that band
    step = next(s for s in work().steps if dict(s.params).get("above") == "50 °F")
    words = dict(step.params)
    assert (words["hours"], words["limit"], words["share"]) == ("2.00 h", "7.00 h", "28.6 %")


def test_the_growth_is_that_of_the_published_steps() -> None:
    # 20 h at 5 °C and 4 h at 12 °C: 0.409 log10 without lag, from the published rows; here by their rates
    worked = work(temperature_log=log(*["12"] * 9))
    increase = next(s for s in worked.more if s.code == "excursion_increase")
    assert dict(increase.params)["increase"] == "0.19"


def test_curd_in_process_is_refused_at_its_field() -> None:
    with pytest.raises(Refusal) as caught:
        work(food_state="curd_in_process")
    assert (caught.value.field, caught.value.sentence.code) == ("food_state", "exposure_curd")


def test_a_gap_is_said_and_nothing_in_it_is_counted() -> None:
    worked = work(temperature_log=log("4", "4", "4", step=120))
    assert worked.result.code == "excursion_gaps"
    assert any(s.code == "excursion_gap_not_counted" for s in worked.validity)


def test_all_organisms_are_answered_and_the_worst_leads() -> None:
    worked = work(organism="every_organism", temperature_log=log(*["25"] * 9))
    assert worked.result.code == "excursion_exceeded"
    assert len(worked.more) > 10


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


@settings(max_examples=150)
@given(st.data())
@pytest.mark.parametrize("name", ["time_in_warmth", "listeria_growth"])
def test_any_answers_are_worked_or_refused(name: str, data: st.DataObject) -> None:
    task = CALCULATOR.task(name)
    worked_or_refused(task, data.draw(anything(task)))
