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


def test_every_scheme_names_its_classes_for_the_published_gouda() -> None:
    # MFFB 57.81, fat in dry matter 59.13: classes from the texts named in the tables
    worked = work("composition", **GOUDA)
    found = [
        dict(s.params) for s in worked.more if s.code in {"composition_firmness", "composition_fat_class"}
    ]
    assert [one.get("options", one.get("option")) for one in found] == [
        "firm_semi_hard",
        "semi_hard",
        "semi_hard",
        "full_fat",
        "full_fat",
    ]
    assert {one["source"] for one in found} <= set(worked.sources)


def test_parts_that_come_to_more_than_the_cheese_are_refused() -> None:
    with pytest.raises(Refusal) as caught:
        work("composition", **GOUDA, protein=number("24.89", "percent"))
    assert (caught.value.sentence.code, caught.value.field) == ("composition_over_100", "moisture")
    assert work("composition", **GOUDA, protein=number("24.88", "percent")).steps


def test_moisture_alone_says_nothing_and_with_salt_it_does() -> None:
    with pytest.raises(Refusal) as caught:
        work("composition", moisture=GOUDA["moisture"])
    assert caught.value.field == "fat"
    assert work("composition", moisture=GOUDA["moisture"], salt_content=GOUDA["salt_content"]).more


def test_of_several_estimates_the_highest_is_the_one_to_reason_from() -> None:
    # 1.6 % salt in 45 % moisture: Marcos 0.9799 (row AW-MARCOS-1);
    # brine exp(-2 x 0.6084 x 0.9235 x 0.0180153) = 0.97996
    worked = work(
        "water_activity_estimate",
        moisture=number("45", "percent"),
        salt_content=number("1.6", "percent"),
        ph=number("5.2", "pH"),
    )
    assert said(worked, "water_activity_marcos")["value"] == "aw 0.9799"
    values = [dict(s.params)["value"] for s in worked.more]
    assert len(values) == 3
    assert dict(worked.result.params) == {"value": max(values), "option": "equation_brine"}


def test_the_working_shows_every_number_once() -> None:
    # by hand: 100 x 1.6 / 45 = 3.556; 10 x 3.556 / 58.443 = 0.6084 mol/kg; phi between 0.9209 and 0.9257
    worked = work(
        "water_activity_estimate",
        moisture=number("45", "percent"),
        salt_content=number("1.6", "percent"),
        ph=number("5.2", "pH"),
    )
    assert [step.code for step in worked.steps] == [
        "composition_step_sm",
        "water_activity_step_molality",
        "water_activity_step_solution",
        "water_activity_step_marcos",
        "water_activity_step_unripe",
    ]
    assert said(worked, "water_activity_step_molality") == {"grams": "3.556", "result": "0.6084 mol/kg"}
    assert said(worked, "water_activity_step_solution")["phi"] == "0.9235"
    # 0.9719 - 0.0044 x 3.556 + 0.0041 x 5.2
    assert said(worked, "water_activity_step_unripe")["result"] == "aw 0.9776"


def test_both_equations_of_ash_answer_side_by_side_or_the_one_that_was_chosen() -> None:
    # 1.0058 - 0.0045 x 9 - 0.0107 x 1.5 = 0.94925 (row AW-MOULD); 0.9951 - 0.0032 x 9 = 0.9663
    given_ = {"ash_in_moisture": number("9", "percent"), "npn_in_moisture": number("1.5", "percent")}
    both = work("water_activity_estimate", **given_)
    assert [dict(s.params)["value"] for s in both.more] == ["aw 0.9493", "aw 0.9663"]
    assert dict(both.result.params)["option"] == "equation_processed"
    one = work("water_activity_estimate", **given_, equation="equation_mould")
    assert dict(one.result.params) == {"value": "aw 0.9493", "option": "equation_mould"}


@pytest.mark.parametrize(
    ("given_", "field"),
    [
        ({"equation": "equation_unripe", "moisture": "45", "salt_content": "1.6"}, "ph"),
        ({"equation": "equation_brine", "moisture": "45"}, "salt_content"),
        ({"equation": "equation_mould", "ash_in_moisture": "9"}, "npn_in_moisture"),
        ({"npn_in_moisture": "1.5"}, "ash_in_moisture"),
        ({"salt_content": "1.6"}, "moisture"),
        ({"moisture": "45", "ash_in_moisture": "9", "ph": "5.2"}, "salt_content"),
        ({"moisture": "45"}, "salt_content"),
        ({"equation": "equation_marcos", "moisture": "39.9", "salt_content": "1.6"}, "moisture"),
        ({"moisture": "99", "salt_content": "1.6"}, "moisture"),
        ({"moisture": "40", "salt_content": "20"}, "salt_content"),
    ],
)
def test_half_of_the_inputs_or_wrong_ones_are_refused_at_their_field(
    given_: dict[str, str], field: str
) -> None:
    answers_ = {
        name: value if name == "equation" else number(value, "pH" if name == "ph" else "percent")
        for name, value in given_.items()
    }
    with pytest.raises(Refusal) as caught:
        work("water_activity_estimate", **answers_)
    assert caught.value.field == field


def test_an_equation_that_cannot_answer_is_named_and_the_others_still_do() -> None:
    # S/M 100 x 6 / 45 = 13.3 lies above the 12 of the unripe equation
    worked = work(
        "water_activity_estimate",
        moisture=number("45", "percent"),
        salt_content=number("6", "percent"),
        ph=number("5.2", "pH"),
    )
    assert [s.code for s in worked.more] == ["water_activity_solution", "water_activity_marcos"]
    left_out = [dict(s.params)["option"] for s in worked.validity if s.code == "water_activity_left_out"]
    assert left_out == ["equation_unripe"]


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
