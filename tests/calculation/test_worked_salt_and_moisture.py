"""The calculator of salt and moisture: a published cheese followed step by step, and its refusals."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.worked.salt_and_moisture import CALCULATOR
from safetyplan.calculation.worked.shape import Answers, Worked
from tests.calculation.worked_answers import answers, anything, number, worked_or_refused

# Gouda of pasteurised milk, 6 weeks: moisture 35.90, fat 37.90, salt 1.32 % (PMC6728813, table 1)
GOUDA = {
    "moisture": number("35.90", "percent"),
    "fat": number("37.90", "percent"),
    "salt_content": number("1.32", "percent"),
}


def work(task: str, **given_: object) -> Worked:
    return CALCULATOR.task(task).work(answers(**given_))


def said(worked: Worked, code: str) -> dict[str, str]:
    found = next(s for s in (worked.result, *worked.more, *worked.steps) if s.code == code)
    return dict(found.params)


def test_a_published_gouda_comes_out_as_printed() -> None:
    worked = work("composition", **GOUDA)
    printed = {"composition_sm": "3.68 %", "composition_mnfs": "57.81 %", "composition_fdm": "59.13 %"}
    assert {code: said(worked, code)["result"] for code in printed} == printed
    assert [step.code for step in worked.steps] == [
        "composition_step_sm",
        "composition_step_wps",
        "composition_step_mnfs",
        "composition_step_fdm",
    ]


def test_moisture_alone_says_nothing_and_with_salt_it_does() -> None:
    with pytest.raises(Refusal) as caught:
        work("composition", moisture=GOUDA["moisture"])
    assert caught.value.field == "fat"
    assert work("composition", moisture=GOUDA["moisture"], salt_content=GOUDA["salt_content"]).more


def test_of_several_estimates_the_highest_is_the_one_to_reason_from() -> None:
    # 1.6 % salt in 45 % moisture: Marcos 0.9799; the equation of unripe cheese at pH 5.2 gives less
    worked = work(
        "water_activity_estimate",
        moisture=number("45", "percent"),
        salt_content=number("1.6", "percent"),
        ph=number("5.2", "pH"),
    )
    assert said(worked, "water_activity_marcos")["value"] == "aw 0.9799"
    values = [dict(s.params)["value"] for s in worked.more]
    assert dict(worked.result.params)["value"] == max(values)


def test_below_40_percent_moisture_the_estimate_from_salt_alone_is_left_out_and_said_so() -> None:
    worked = work(
        "water_activity_estimate", moisture=number("35", "percent"), salt_content=number("1", "percent")
    )
    codes = [s.code for s in worked.more]
    assert codes == ["water_activity_solution"]
    assert any(s.code == "outside_validity" for s in worked.validity)


def test_without_salt_and_ash_there_is_no_estimate() -> None:
    with pytest.raises(Refusal):
        work("water_activity_estimate", moisture=number("45", "percent"))
    with_ash = {"moisture": number("45", "percent"), "ash_in_moisture": number("9", "percent")}
    assert work("water_activity_estimate", **with_ash).more[0].code == "water_activity_processed"


@settings(max_examples=150)
@given(st.data())
@pytest.mark.parametrize("name", ["composition", "water_activity_estimate"])
def test_any_answers_are_worked_or_refused(name: str, data: st.DataObject) -> None:
    task = CALCULATOR.task(name)
    worked_or_refused(task, data.draw(anything(task)))


def test_an_answer_that_is_missing_names_its_field() -> None:
    with pytest.raises(Refusal) as caught:
        CALCULATOR.task("composition").work(Answers({}))
    assert caught.value.field == "moisture"
