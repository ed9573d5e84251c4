"""The calculator of heat treatment: examples from outside, every refusal, every step, and a fuzz."""

from decimal import Decimal
from typing import Any

import pytest
from django.utils import translation
from hypothesis import given
from hypothesis import strategies as st

from safetyplan import words
from safetyplan.calculation.heat_tables import PHOSPHATASE, RULES
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.worked.heat_evidence import OFFERED
from safetyplan.calculation.worked.heat_hold import CALCULATOR, KINDS
from safetyplan.calculation.worked.log_text import read_log
from safetyplan.calculation.worked.shape import Answers, Log, LogLine, Number, Worked

VAT, ALONE, KILL, TEST = (task.name for task in CALCULATOR.tasks)


def number(text: str, unit: str) -> Number:
    return Number(Decimal(text), unit)


def log_ask(task: str) -> Any:
    return next(ask for ask in CALCULATOR.task(task).asks if ask.entry == "log")


def worked(task: str, lines: str = "", unit: str = "degC", **given: Any) -> Worked:
    answers = dict(given)
    if lines:
        answers["heat_log"] = read_log(lines, log_ask(task), unit)
    return CALCULATOR.task(task).work(Answers(answers))


def asked(rule: str = "eu_hygiene", **more: Any) -> dict[str, Any]:
    return {
        "heat_rule": rule,
        "hold_asked": number("30", "min"),
        "vat_fat": number("4", "percent"),
        "vat_kind": "kind_plain",
        **more,
    }


def vat(*values: str, count: int = 31) -> str:
    """One line a minute, the values as given."""
    return "\n".join(f"{minute} {' '.join(values)}" for minute in range(count))


def codes(sentences: tuple[Any, ...]) -> list[str]:
    return [sentence.code for sentence in sentences]


def text(sentence: Any) -> str:
    with translation.override("en"):
        return words.render(sentence)


def test_the_legal_vat_hold_of_the_united_states_is_shown() -> None:
    """21 CFR 1240.61: 145 °F for 30 min; ordinance item 16p (from memory): air space 5 °F above."""
    found = worked(VAT, vat("145", "150"), "degF", **asked("us_milk"))
    assert text(found.result) == (
        "This log shows the product at or above 145 °F and the air space at or above 150 °F, together and "
        "continuously, for 30 min; the rule asks for 30 min, so the hold is long enough."
    )
    assert codes(found.steps) == [
        "heat_step_row",
        "heat_step_no_raise",
        "heat_step_edge",
        "heat_step_air",
        "heat_step_edge",
        "heat_step_no_probe",
        "heat_step_pauses",
        "heat_step_stretch",
        "heat_step_long_enough",
    ]
    assert any("1240.61" in source for source in found.sources)
    assert any("16p" in source for source in found.sources)


def test_the_raised_vat_hold_is_that_printed_by_michigan() -> None:
    """MCL 288.697: 150 °F for 30 min from 10 % fat on."""
    cream = asked("us_michigan", vat_fat=number("12", "percent"))
    found = worked(VAT, vat("150", "155"), "degF", **cream)
    assert found.result.code == "heat_hold_enough_air"
    assert "145 °F + 5 °F = 150 °F" in text(found.steps[2])
    assert worked(VAT, vat("149.9", "155"), "degF", **cream).result.code == "heat_hold_short_air"


def test_a_hold_two_minutes_short_says_by_how_much() -> None:
    found = worked(ALONE, vat("63", count=29), **asked())
    assert text(found.result) == (
        "Too short by 2 min: this log shows the product at or above 63 °C continuously for 28 min; the rule "
        "asks for 30 min."
    )
    assert found.steps[-1].code == "heat_step_lacks"
    assert {"heat_caution_not_shown", "heat_thermisation"} <= set(codes(found.cautions))


def test_a_hold_short_by_half_a_second_is_not_written_as_none() -> None:
    lines = vat("63", count=30) + "\n29.99 63"
    found = worked(ALONE, lines, **asked())
    assert dict(found.result.params) | {"by": "0.01 min", "held": "29.99 min"} == dict(found.result.params)


def test_a_dip_leaves_two_stretches_in_the_working() -> None:
    lines = "\n".join(f"{minute} {'62.9' if minute == 20 else '63.4'}" for minute in range(45))
    found = worked(ALONE, lines, **asked())
    stretches = [text(step) for step in found.steps if step.code == "heat_step_stretch"]
    assert stretches == [
        "At or above the limit from 0 min to 19 min without dip or gap: 19 min.",
        "At or above the limit from 21 min to 44 min without dip or gap: 23 min.",
    ]
    assert found.chart is not None
    assert found.chart.bands == ((0, 19), (21, 44))
    assert found.chart.limit_steps == ((0, 63),)


def test_a_gap_is_named_and_nothing_is_shown() -> None:
    lines = "\n".join(f"{10 + m // 60}:{m % 60:02} 63.4" for m in range(40) if not 15 <= m <= 20)
    found = worked(ALONE, lines, **asked())
    assert found.result.code == "heat_hold_gap"
    assert "Gap from 10:14 to 10:21: 7 min." in [text(step) for step in found.steps]


def test_a_longer_pause_may_be_allowed_up_to_a_tenth_of_the_hold() -> None:
    lines = "\n".join(f"{minute} 63.4" for minute in range(0, 31, 3))
    assert worked(ALONE, lines, **asked()).result.code == "heat_hold_gap"
    allowed = worked(ALONE, lines, **asked(heat_pause=number("3", "min")))
    assert allowed.result.code == "heat_hold_enough"
    assert "3 min" in text(allowed.validity[1])
    assert "no source" in text(allowed.validity[1])


def test_an_air_space_read_at_start_and_end_needs_its_own_pause() -> None:
    lines = "\n".join(f"{minute} 63 {'66' if minute in (0, 30) else '-'}" for minute in range(31))
    assert worked(VAT, lines, **asked("us_milk")).result.code == "heat_hold_gap"
    allowed = worked(VAT, lines, **asked("us_milk", air_pause=number("30", "min")))
    assert allowed.result.code == "heat_hold_enough_air"
    assert "heat_valid_air_pause" in codes(allowed.validity)


def test_an_air_space_that_was_not_read_or_not_to_the_end_is_not_shown() -> None:
    assert worked(ALONE, vat("63"), **asked("us_milk")).result.code == "heat_hold_air_missing"
    lines = "\n".join(f"{minute} 63 {'66' if minute < 20 else '-'}" for minute in range(31))
    assert worked(VAT, lines, **asked("us_milk")).result.code == "heat_hold_air_not_covered"


@pytest.mark.parametrize(
    ("air", "code"), [("66", "heat_air_practice_warm"), ("65.9", "heat_air_practice_cold")]
)
def test_without_a_figure_in_the_rule_the_air_space_is_told_and_not_judged(air: str, code: str) -> None:
    found = worked(VAT, vat("63", air), **asked())
    assert (found.result.code, codes(found.more)) == ("heat_hold_enough", [code])
    assert "heat_step_no_air" in codes(found.steps)


def test_a_probe_that_reads_high_takes_the_hold_away() -> None:
    found = worked(ALONE, vat("63.3"), **asked(probe_error=number("0.5", "degC")))
    assert found.result.code == "heat_hold_short"
    said = [text(step) for step in found.steps]
    assert any("63.3 °C stands for 62.8 °C" in line for line in said)
    assert any("as read: 30 min; with the probes put right: 0 min" in line for line in said)
    assert found.chart is not None
    assert found.chart.points[0] == (0, Decimal("62.8"))


def test_a_probe_that_reads_low_never_grants_the_hold() -> None:
    found = worked(ALONE, vat("62.8"), **asked(probe_error=number("-0.5", "degC")))
    assert (found.result.code, codes(found.more)) == (
        "heat_hold_short",
        ["heat_correction_grants_nothing"],
    )


def test_the_air_space_has_an_error_of_its_own_in_any_unit() -> None:
    given = asked("us_milk", air_probe_error=number("0.9", "degF"))
    found = worked(VAT, vat("63", "66"), **given)
    assert found.result.code == "heat_hold_short_air"
    assert any("66.0 °C stands for 65.5 °C" in text(step) for step in found.steps)


def test_a_hold_of_seconds_is_spoken_of_in_seconds_and_warns_of_the_tube() -> None:
    lines = "\n".join(f"{tenth / 10 / 60:.3f} 72" for tenth in range(0, 240, 3))
    found = worked(ALONE, lines, **asked("canada_law", hold_asked=number("16", "s")))
    assert found.result.code == "heat_hold_enough"
    assert "16 s" in text(found.result)
    assert "heat_caution_tube" in codes(found.cautions)


def test_the_shortest_row_cannot_be_shown_by_a_log_of_minutes() -> None:
    found = worked(ALONE, vat("100"), **asked("us_milk", hold_asked=number("0.01", "s")))
    assert found.result.code == "heat_hold_gap"


def test_many_stretches_are_counted_and_not_all_listed() -> None:
    lines = "\n".join(f"{minute} {'63' if minute % 2 else '60'}" for minute in range(60))
    found = worked(ALONE, lines, **asked())
    assert "heat_step_more_stretches" in codes(found.steps)
    assert worked(ALONE, vat("60"), **asked()).steps[-2].code == "heat_step_no_stretch"


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"hold_asked": number("20", "min")}, "hold_asked"),
        ({"hold_asked": number("0", "min")}, "hold_asked"),
        ({"vat_fat": number("100.1", "percent")}, "vat_fat"),
        ({"vat_fat": None}, "vat_fat"),
        ({"heat_rule": "nowhere"}, "heat_rule"),
        ({"heat_rule": "us_ordinance"}, "vat_solids"),
        ({"vat_solids": number("3", "percent")}, "vat_solids"),
        ({"heat_rule": "codex_hygiene", "vat_fat": number("12", "percent")}, "vat_fat"),
        (
            {"heat_rule": "australia_code", "hold_asked": number("5", "s"), "vat_kind": "kind_particles"},
            "vat_kind",
        ),
        ({"heat_pause": number("0", "min")}, "heat_pause"),
        ({"heat_pause": number("3.1", "min")}, "heat_pause"),
        ({"probe_error": number("5.1", "degC")}, "probe_error"),
        ({"heat_log": None}, "heat_log"),
        ({"heat_log": Log("degC", ("product",), (LogLine(Decimal(0), "0 min", (None,)),))}, "heat_log"),
    ],
)
def test_what_cannot_be_judged_is_refused_at_its_field(given: dict[str, Any], field: str) -> None:
    log = read_log(vat("63"), log_ask(ALONE), "degC")
    answers = {**asked(), "heat_log": log, **given}
    with pytest.raises(Refusal) as caught:
        CALCULATOR.task(ALONE).work(Answers({k: v for k, v in answers.items() if v is not None}))
    assert caught.value.field == field
    assert text(caught.value.sentence)


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"air_pause": number("31", "min")}, "air_pause"),
        ({"air_probe_error": number("-9.1", "degF")}, "air_probe_error"),
    ],
)
def test_the_air_space_has_its_own_refusals(given: dict[str, Any], field: str) -> None:
    with pytest.raises(Refusal) as caught:
        worked(VAT, vat("63", "66"), **asked("us_milk", **given))
    assert caught.value.field == field


def test_the_kill_of_half_an_hour_at_63_is_worked_step_by_step() -> None:
    """Kessler 1981 (from memory): p* of 63 °C for 30 min is 9.0; D and z by Bradshaw 1985."""
    found = worked(KILL, vat("63"), heat_organism="listeria_whole_milk")
    assert found.result.code == "heat_kill_more_than"
    assert "supporting evidence only and never makes a hold legal" in text(found.result)
    assert codes(found.steps) == [
        "heat_step_no_probe",
        "heat_step_rate",
        "heat_step_hottest",
        *["heat_step_share"] * 12,
        "heat_step_more_shares",
        "heat_step_sum",
        "heat_step_straight",
        "heat_step_d",
        "heat_step_beyond",
    ]
    assert any("p* of the log: 9.00" in text(sentence) for sentence in found.more)
    assert {"heat_support_only", "heat_thermisation"} <= set(codes(found.cautions))
    assert any("Bradshaw 1985" in source for source in found.sources)


def test_a_small_kill_is_written_out() -> None:
    """15 s at 65.6 °C: F = 15 s, D = 7.2 s x 1.6 (IAFP 2017): 15 / 11.52 = 1.302."""
    found = worked(KILL, "0 65.6\n0.25 65.6", heat_organism="staphylococcus_whey")
    assert dict(found.result.params)["log10"] == "1.3"
    assert "15.00 s / 11.52 s = 1.302" in text(found.steps[-1])


def test_half_a_degree_of_the_probe_is_shown_as_a_fifth_of_the_time() -> None:
    found = worked(KILL, vat("63"), heat_organism="listeria_whole_milk", probe_error=number("0.5", "degC"))
    assert "a factor of 1.201" in text(found.steps[1])


def test_readings_outside_the_study_are_counted_in_the_validity() -> None:
    found = worked(KILL, "0 20\n1 63\n2 75\n9 63", heat_organism="listeria_whole_milk")
    said = {sentence.code: dict(sentence.params) for sentence in found.validity}
    assert (said["heat_valid_outside"]["colder"], said["heat_valid_outside"]["hotter"]) == ("1", "1")
    assert said["heat_valid_kill_pause"]["count"] == "1"


def test_a_probe_whose_readings_were_all_too_cold_still_gives_the_kill() -> None:
    given = {"heat_organism": "salmonella_milk", "probe_error": number("-3", "degC")}
    assert worked(KILL, "0 60\n1 60", **given).result.code.startswith("heat_kill")


@pytest.mark.parametrize(
    ("lines", "given", "field"),
    [
        ("0 40\n1 41", {}, "heat_log"),
        ("0 63\n1 63", {"heat_pause": number("11", "min")}, "heat_pause"),
        ("0 63\n1 63", {"heat_organism": "coxiella_cow_milk"}, "heat_organism"),
        ("0 63\n1 200", {}, "heat_log"),
        ("0 -\n1 -", {}, "heat_log"),
    ],
)
def test_a_kill_that_cannot_be_known_is_refused(lines: str, given: dict[str, Any], field: str) -> None:
    with pytest.raises(Refusal) as caught:
        worked(KILL, lines, **{"heat_organism": "listeria_whole_milk", **given})
    assert caught.value.field == field


def test_a_phosphatase_test_says_what_it_proves_and_whether_its_limit_is_law() -> None:
    cow = worked(TEST, phosphatase_milk="cow_milk", phosphatase=number("350", "ratio"))
    goat = worked(TEST, phosphatase_milk="goat_milk", phosphatase=number("301", "ratio"))
    assert text(cow.result) == "Negative: 350 mU/L against the limit 350 mU/L (cow milk)."
    assert [cow.validity[0].code, goat.validity[0].code] == [
        "heat_phosphatase_law",
        "heat_phosphatase_opinion",
    ]
    assert (goat.result.code, goat.cautions[0].code) == ("heat_phosphatase_positive", "heat_phosphatase_goat")


def test_a_phosphatase_value_below_zero_is_refused() -> None:
    with pytest.raises(Refusal) as caught:
        worked(TEST, phosphatase_milk="cow_milk", phosphatase=number("-1", "ratio"))
    assert caught.value.field == "phosphatase"


def test_every_name_of_the_calculator_has_words() -> None:
    names = {CALCULATOR.name, *RULES, *OFFERED, *PHOSPHATASE, *KINDS}
    for task in CALCULATOR.tasks:
        names |= {task.name, *(ask.name for ask in task.asks), *(c for ask in task.asks for c in ask.columns)}
    names |= {"heat_minutes", "heat_celsius", "heat_fahrenheit", "heat_limit", "heat_held"}
    assert names - set(words.NAMES) == set()


PARTS_FAT = st.sampled_from([number(text, "percent") for text in ("0", "4", "9.99", "10", "15")])
PARTS_SOLIDS = st.sampled_from([None, *(number(text, "percent") for text in ("15", "18", "100"))])
VALUES = st.decimals(-60, 160, places=1) | st.decimals(75, 149, places=1) | st.just(Decimal(100))
STEPS = st.lists(st.decimals("0.001", 400, places=3) | st.just(Decimal("0.4")), min_size=1, max_size=60)


@st.composite
def any_log(draw: st.DrawFn, columns: int) -> Log:
    seconds, lines = Decimal(0), []
    for step in draw(STEPS):
        values = tuple(draw(st.none() | VALUES) for _ in range(columns))
        lines.append(LogLine(seconds, f"{seconds} s", values))
        seconds += step
    unit = draw(st.sampled_from(("degC", "degF")))
    return Log(unit, ("product", "air_space")[:columns], tuple(lines))


def amounts(low: int, high: int, *units: str) -> st.SearchStrategy[Number | None]:
    numbers = st.builds(Number, st.decimals(low, high, places=3), st.sampled_from(units))
    return st.none() | numbers


@st.composite
def any_answers(draw: st.DrawFn, task: str) -> Answers:
    mostly = st.integers(0, 9).map(bool)
    sane = draw(mostly)
    holds = st.sampled_from([number("30", "min"), number("15", "s"), number("0.01", "s"), number("5", "s")])
    found = {
        "heat_rule": draw(st.sampled_from(sorted(RULES))),
        "hold_asked": draw(holds if sane else amounts(-1, 100, "min", "s")),
        "vat_fat": draw(PARTS_FAT if sane else amounts(-1, 101, "percent")),
        "vat_solids": draw(PARTS_SOLIDS if sane else amounts(-1, 101, "percent")),
        "vat_kind": draw(st.sampled_from(KINDS)),
        "heat_log": draw(any_log(2 if task == VAT else 1)),
        "heat_pause": draw(st.none() if sane else amounts(-1, 200, "min", "s")),
        "air_pause": draw(st.none() if sane else amounts(-1, 2000, "min", "s")),
        "probe_error": draw(amounts(-1, 1, "degC") if sane else amounts(-10, 10, "degC", "degF")),
        "air_probe_error": draw(amounts(-1, 1, "degF") if sane else amounts(-10, 10, "degC", "degF")),
        "heat_organism": draw(st.sampled_from(OFFERED)),
        "phosphatase_milk": draw(st.sampled_from(sorted(PHOSPHATASE))),
        "phosphatase": draw(amounts(-1, 1_000_000, "ratio")),
    }
    return Answers({name: value for name, value in found.items() if value is not None})


def outcome(task: str, answers: Answers) -> Worked | Refusal:
    try:
        return CALCULATOR.task(task).work(answers)
    except Refusal as refusal:
        return refusal


@pytest.mark.parametrize("task", [VAT, ALONE, KILL, TEST])
@given(data=st.data())
def test_whatever_is_answered_comes_out_worked_or_refused(task: str, data: st.DataObject) -> None:
    found = outcome(task, data.draw(any_answers(task)))
    if isinstance(found, Refusal):
        assert text(found.sentence)
        assert found.field in {ask.name for ask in CALCULATOR.task(task).asks}
        return
    for name, sentences in found.sentences():
        assert sentences, name
        assert all(text(sentence) for sentence in sentences)
    assert found.sources
