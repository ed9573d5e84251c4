"""The brine calculator as a person meets it: answers, working to follow, refusals at their field."""

from decimal import Decimal
from typing import Any

import pytest
from django.utils import translation
from hypothesis import given, settings
from hypothesis import strategies as st

from safetyplan import words
from safetyplan.calculation.brine_tables import BAUME_SCALES
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.sentences import Sentence
from safetyplan.calculation.units import QUANTITIES
from safetyplan.calculation.worked.brine import CALCULATOR
from safetyplan.calculation.worked.shape import Answers, Ask, Number, Worked

INSTRUMENTS = ("density_kg_m3", "density_g_ml", *BAUME_SCALES, "salometer")
NONE = ""


def number(value: str, unit: str = "ratio") -> Number:
    return Number(Decimal(value), unit)


def worked(task: str, **given: Any) -> Worked:
    answers = {name: value for name, value in given.items() if value != NONE}
    return CALCULATOR.task(task).work(Answers(answers))


def read(instrument: str, value: str, celsius: str = "20", **more: Any) -> Worked:
    given = {"hydrometer": instrument, "hydrometer_reading": number(value)}
    return worked("strength", **{**given, "brine_temperature": number(celsius, "degC"), **more})


def tank(task: str, present: str = NONE, wanted: str = NONE, **more: Any) -> Worked:
    given: dict[str, Any] = {
        "brine_temperature": number("12", "degC"),
        "strength_basis": "weight_in_weight",
        "present_strength": number(present) if present else NONE,
        "target_strength": number(wanted) if wanted else NONE,
        "brine_mass": number("100", "kg"),
    }
    return worked(task, **{**given, **more})


def make(wanted: str, **more: Any) -> Worked:
    return tank("make", wanted=wanted, **{"brine_mass": NONE, "water_mass": number("100", "kg"), **more})


def batch(**more: Any) -> Worked:
    given: dict[str, Any] = {
        "brine_temperature": number("12", "degC"),
        "strength_basis": "weight_in_weight",
        "strength_before": number("20"),
        "brine_mass": number("100", "kg"),
        "cheese_mass": number("50", "kg"),
        "moisture_lost": number("4", "percent"),
        "salt_gained": number("2", "percent"),
    }
    return worked("after_batch", **{**given, **more})


def codes(said: tuple[Sentence, ...]) -> list[str]:
    return [sentence.code for sentence in said]


def step_names(found: Worked) -> list[str]:
    return [code.removeprefix("brine_step_") for code in codes(found.steps)]


def in_words(*said: Sentence) -> str:
    with translation.override("en"):
        return "\n".join(words.render(sentence) for sentence in said)


def everything(found: Worked) -> str:
    return in_words(*(sentence for _, said in found.sentences() for sentence in said))


def refused(call) -> tuple[str, str]:  # type: ignore[no-untyped-def]
    with pytest.raises(Refusal) as caught:
        call()
    assert in_words(caught.value.sentence)
    return caught.value.sentence.code, caught.value.field


# --- strength


def test_a_density_becomes_a_strength_on_three_bases() -> None:
    # 1147.8 kg/m³ at 20 °C is 20 % and 229.56 g/l (fizyka.umk.pl); 20 % freezes at -16.46 °C (CoolProp)
    found = read("density_kg_m3", "1147.8")
    assert in_words(found.result).startswith("The brine is 20.00 % w/w, by a density of 1147.80 kg/m³")
    assert "229.6 g of salt in a litre of brine (22.96 % w/v)" in in_words(*found.more)
    assert "24.96 kg of salt to 100 L of water" in in_words(*found.more)
    assert "Ice begins to form at -16.5 °C." in in_words(*found.more)
    assert "That is 75.7 % of saturation (26.44 % w/w at 20 °C)." in in_words(*found.more)


def test_grams_per_millilitre_are_the_same_reading() -> None:
    assert read("density_g_ml", "1.1478").result == read("density_kg_m3", "1147.8").result


def test_fahrenheit_is_the_same_temperature() -> None:
    found = read("density_kg_m3", "1147.8", brine_temperature=number("68", "degF"))
    assert found == read("density_kg_m3", "1147.8")


def test_twenty_baume_is_the_printed_strength_on_its_scale_only() -> None:
    # 20 °Bé = 21.2 % at 15 °C, the European scale (handbook chapter, buffalobrewingstl.com)
    assert "21.19 % w/w" in in_words(read("baume_144_3", "20", "15").result)
    assert "21.06 % w/w" in in_words(read("baume_145", "20", "15").result)
    assert "20.80 % w/w" in in_words(read("baume_146_78", "20", "15").result)


def test_a_salometer_away_from_its_temperature_goes_by_density_and_says_the_rule() -> None:
    found = read("salometer", "60", "21.2")
    assert "16.16 % w/w" in in_words(found.result)
    assert "By the rule of thumb 60 °Sal is 61.0 °Sal at 15.6 °C" in in_words(*found.more)


STEPS = ["table", "between", "to_water", "to_volume", "share"]


@pytest.mark.parametrize(
    ("instrument", "value", "first"),
    [
        ("density_kg_m3", "1147.8", "density"),
        ("density_g_ml", "1.148", "density"),
        ("baume_145", "19", "baume"),
        ("baume_144_3", "19", "baume"),
        ("baume_146_78", "19", "baume"),
        ("salometer", "70", "salometer"),
    ],
)
def test_every_step_of_a_reading_is_there(instrument: str, value: str, first: str) -> None:
    assert step_names(read(instrument, value)) == [first, *STEPS]


def test_the_working_of_a_reading_can_be_followed_by_hand() -> None:
    found = in_words(*read("baume_144_3", "20", "12").steps)
    assert "999.13 kg/m³ × 144.3 ÷ (144.3 − 20) = 1159.89 kg/m³" in found
    assert "20 + (1159.89 − 1151.61) × (22 − 20) ÷ (1167.94 − 1151.61) = 21.01 % w/w" in found
    assert abs(999.13 * 144.3 / (144.3 - 20) - 1159.89) < 0.01
    assert abs(20 + (1159.89 - 1151.61) * (22 - 20) / (1167.94 - 1151.61) - 21.01) < 0.01


def test_the_chart_shows_the_brine_on_the_curve_of_its_temperature() -> None:
    chart = read("density_kg_m3", "1140").chart
    assert chart is not None
    ((percent, density),) = chart.target_steps
    assert density == 1140
    assert (percent, density) in chart.points
    assert [y for _, y in chart.points] == sorted(y for _, y in chart.points)


def test_above_the_eutectic_no_freezing_point_is_given_but_the_strength_is() -> None:
    found = read("density_kg_m3", "1190")
    assert "brine_no_freezing" in codes(found.more)
    assert "25.14 % w/w" in in_words(found.result)


@pytest.mark.parametrize(
    ("instrument", "value", "celsius", "code", "field"),
    [
        ("density_kg_m3", "900", "20", "brine_density_outside", "hydrometer_reading"),
        ("density_kg_m3", "1.148", "20", "brine_density_outside", "hydrometer_reading"),
        ("density_g_ml", "1148", "20", "brine_density_outside", "hydrometer_reading"),
        ("baume_145", "31", "20", "outside_validity", "hydrometer_reading"),
        ("baume_145", "27", "20", "brine_density_outside", "hydrometer_reading"),
        ("salometer", "100", "15", "brine_too_strong", "hydrometer_reading"),
        ("salometer", "120", "15", "outside_validity", "hydrometer_reading"),
        ("salometer", "60", "31", "outside_validity", "brine_temperature"),
        ("salometer", "60", "-1", "outside_validity", "brine_temperature"),
    ],
)
def test_a_reading_that_cannot_be_is_refused_at_its_field(
    instrument: str, value: str, celsius: str, code: str, field: str
) -> None:
    assert refused(lambda: read(instrument, value, celsius)) == (code, field)


@pytest.mark.parametrize("missing", ["hydrometer", "hydrometer_reading", "brine_temperature"])
def test_a_reading_without_one_of_its_inputs_is_refused(missing: str) -> None:
    assert refused(lambda: read("salometer", "60", **{missing: NONE})) == ("calculator_needs", missing)


# --- make, raise, dilute


def test_making_a_brine_tells_the_salt_and_what_it_comes_to() -> None:
    # 23 %: 298.7 g per litre of water counted as a kilogram (cheeseforum.org topic 12088)
    found = make("23", water_mass=number("1", "kg"))
    assert in_words(found.result) == "Put 0.299 kg of salt to 1.000 kg of water for a brine of 23.00 % w/w."
    assert step_names(found) == ["brine_basis_weight", "make", "volume"]
    assert "1.000 kg × 23 ÷ 77 = 0.299 kg" in in_words(*found.steps)


def test_gallons_of_water_are_litres_then_kilograms() -> None:
    found = make("20", water_mass=NONE, water_volume=number("10", "gal_us"))
    assert step_names(found) == ["brine_basis_weight", "converted", "mass", "make", "volume"]
    assert "10 US gal = 37.854 L" in in_words(*found.steps)
    assert "37.854 L × 999.49 kg/m³ (at 12 °C) ÷ 1000 = 37.835 kg" in in_words(*found.steps)


def test_twenty_means_three_amounts_of_salt() -> None:
    by_basis = {
        basis: in_words(make("20", strength_basis=basis).result)
        for basis in ("weight_in_weight", "salt_to_water", "weight_in_volume")
    }
    # 100 kg of water: 25 kg for 20 % w/w; 20 kg to 100 L, which weigh 99.949 kg; 20 % w/v: 20 kg
    # in 100 L of brine of 113.28 kg (1132.8 kg/m³, CoolProp 1132.6), so 20 kg to 93.28 kg of water
    assert by_basis["weight_in_weight"].startswith("Put 25.000 kg of salt")
    assert by_basis["salt_to_water"].startswith("Put 20.010 kg of salt")
    assert by_basis["weight_in_volume"].startswith("Put 21.440 kg of salt")


def test_raising_a_tank_is_the_published_sum() -> None:
    # 100 kg from 18 to 20 %: 2.5 kg (mass balance)
    found = tank("raise_strength", "18", "20")
    assert in_words(found.result) == (
        "Put 2.500 kg of salt to the tank, to bring it from 18.00 % w/w to 20.00 % w/w."
    )
    assert step_names(found) == ["brine_basis_weight", "brine_basis_weight", "raise", "volume"]
    assert "100.000 kg × (20 − 18) ÷ 80 = 2.500 kg" in in_words(*found.steps)


def test_diluting_a_tank_tells_the_water() -> None:
    found = tank("dilute", "20", "16")
    assert "Put 25.000 kg (25.01 L) of water" in in_words(found.result)
    assert step_names(found) == ["brine_basis_weight", "brine_basis_weight", "dilute", "volume"]
    assert "100.000 kg × (20 − 16) ÷ 16 = 25.000 kg" in in_words(*found.steps)


def test_a_tank_in_litres_becomes_a_mass_by_its_density() -> None:
    found = tank("raise_strength", "18", "20", brine_mass=NONE, brine_volume=number("200", "L"))
    assert "200 L × 1135.55 kg/m³ (at 12 °C) ÷ 1000 = 227.109 kg" in in_words(*found.steps)


@pytest.mark.parametrize(
    ("task", "present", "wanted", "code", "other"),
    [
        ("raise_strength", "20", "18", "brine_is_stronger", "dilute a tank"),
        ("dilute", "18", "20", "brine_is_weaker", "raise a tank"),
    ],
)
def test_the_wrong_task_is_refused_and_the_right_one_named(
    task: str, present: str, wanted: str, code: str, other: str
) -> None:
    with pytest.raises(Refusal) as caught:
        tank(task, present, wanted)
    assert (caught.value.sentence.code, caught.value.field) == (code, "target_strength")
    assert other in in_words(caught.value.sentence)


@pytest.mark.parametrize(
    ("more", "code", "field"),
    [
        ({"brine_mass": NONE}, "brine_no_amount", "brine_volume"),
        ({"brine_volume": number("1", "L")}, "brine_two_amounts", "brine_mass"),
        ({"brine_mass": number("0", "kg")}, "brine_amount", "brine_mass"),
        ({"brine_mass": NONE, "brine_volume": number("0", "L")}, "brine_amount", "brine_volume"),
        ({"present_strength": number("27")}, "brine_too_strong", "present_strength"),
        ({"target_strength": number("-1")}, "outside_validity", "target_strength"),
        ({"target_strength": NONE}, "calculator_needs", "target_strength"),
        ({"strength_basis": NONE}, "calculator_needs", "strength_basis"),
        (
            {"strength_basis": "salt_to_water", "target_strength": number("40")},
            "brine_too_strong",
            "target_strength",
        ),
        (
            {"strength_basis": "weight_in_volume", "target_strength": number("32")},
            "brine_grams_outside",
            "target_strength",
        ),
        ({"brine_temperature": number("35", "degC")}, "outside_validity", "brine_temperature"),
    ],
)
def test_an_input_that_does_not_fit_is_refused_at_its_field(
    more: dict[str, Any], code: str, field: str
) -> None:
    assert refused(lambda: tank("raise_strength", "18", "20", **more)) == (code, field)


def test_a_brine_of_nothing_is_not_made() -> None:
    assert refused(lambda: make("0")) == ("brine_target_too_weak", "target_strength")
    assert refused(lambda: tank("dilute", "18", "0")) == ("brine_target_too_weak", "target_strength")


# --- all tasks


def results() -> list[Worked]:
    return [
        *(read(i, v) for i, v in zip(INSTRUMENTS, ("1148", "1.148", "19", "19", "19", "70"), strict=True)),
        make("20"),
        tank("raise_strength", "18", "20"),
        tank("dilute", "20", "18"),
        batch(strength_measured_after=number("18")),
    ]


def test_every_result_says_its_limits_its_sources_and_who_decides() -> None:
    for found in results():
        told = everything(found)
        assert "Salt alone does not control Listeria" in told
        assert "A used brine reads high" in told
        assert "a qualified person decides" in told
        assert "0 to 26.3 % w/w, 0 to 30 °C" in told
        assert len(found.sources) >= 4
        assert "NaN" not in told


def test_every_input_and_option_has_a_name() -> None:
    for task in CALCULATOR.tasks:
        names = [task.name, *(ask.name for ask in task.asks), *(o for ask in task.asks for o in ask.options)]
        assert [name for name in names if name not in words.NAMES] == []


def any_answer(ask: Ask) -> st.SearchStrategy[Any]:
    """What a form may hand over for an input: a number in the range of its unit, an option, or nothing."""
    if ask.entry == "choice":
        return st.sampled_from(ask.options)
    usual = {"ratio": 40, "temperature": 30}
    choices = []
    for unit in ask.units:
        low, high = QUANTITIES[ask.quantity].physical[unit]
        near = st.decimals(max(low, Decimal(0)), min(high, Decimal(usual.get(ask.quantity, 100))), places=3)
        choices.append((near | st.decimals(low, high, places=3)).map(lambda v, unit=unit: Number(v, unit)))
    return st.one_of(choices) if ask.required else st.one_of(st.just(NONE), *choices)


@pytest.mark.parametrize("task", CALCULATOR.tasks, ids=lambda task: task.name)
@settings(deadline=None)  # the first conversion loads pint
@given(data=st.data())
def test_whatever_is_typed_there_is_an_answer_or_a_refusal_in_words(task: Any, data: st.DataObject) -> None:
    given = {ask.name: data.draw(any_answer(ask), label=ask.name) for ask in task.asks}
    try:
        found = everything(worked(task.name, **given))
    except Refusal as refusal:
        found = in_words(refusal.sentence)
    assert found
    assert "NaN" not in found
