"""A heat hold judged by the logs of product and air space; figures as in test_held_for."""

from collections.abc import Mapping
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.judgement import Evidence, Judgement, Measured, State
from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.series import Series
from safetyplan.words import render
from tests.calculation.evidence import START, chosen, number
from tests.calculation.test_held_for import VAT

GAP = timedelta(minutes=2)
SLOW = {**VAT, "product_target": None}
# 161 °F for 15 s. Source: 21 CFR 131.3 and the US pasteurised milk ordinance.
QUICK: dict[str, Any] = {
    **VAT,
    "minutes": "0.25",
    "unit": "degF",
    "product_at_least": "161",
    "air_space_at_least": None,
    "product_target": None,
    "recorder_not_above_indicating": False,
    "agitator": False,
}


def beside() -> list[Measured]:
    """What a person enters beside the log."""
    return [
        number("indicating", "64.4", "degC"),
        number("recorder", "64.3", "degC"),
        chosen("chart_number", "214"),
        chosen("agitator", "on"),
    ]


def log(
    minutes: float = 30,
    value: str = "65",
    *,
    odd: Mapping[float, str] | None = None,
    without: tuple[float, float] | None = None,
    unit: str = "degC",
    valid: bool = True,
    step: float = 0.5,
) -> Series:
    """A log of so many minutes; `odd` changes readings, `without` leaves out those between two minutes."""
    odd, (low, high) = odd or {}, without or (-1, -1)
    times = [n * step for n in range(int(minutes / step) + 1)]
    readings = [
        (START + timedelta(minutes=at), Decimal(odd.get(at, value))) for at in times if not low < at < high
    ]
    return Series.of(readings, unit=unit, longest_gap=GAP, valid=valid)


def judged(
    product: Series | None = None,
    air: Series | None = None,
    *entries: Measured,
    document: dict[str, Any] = SLOW,
) -> Judgement:
    series = {name: one for name, one in (("product", product), ("air_space", air)) if one is not None}
    measured = (*(entries or beside()),)
    return load(document).judge(Evidence(measured, {}, START + timedelta(hours=2), series=series))


def test_a_log_at_its_limits_for_exactly_thirty_minutes_is_within() -> None:
    judgement = judged(log(value="63"), log(value="66"))
    assert (judgement.state, judgement.margin, judgement.margin_unit) == (State.WITHIN, 0, "min")
    assert render(judgement.sentence) == ("The log shows 30 min without a dip or a gap, at least 30 min.")


def test_a_second_less_is_too_short_and_not_shown_as_thirty_minutes() -> None:
    short = log(30, "63", step=1 / 60, odd={30.0: "62"})
    judgement = judged(short, log(30, "67"))
    assert (judgement.state, dict(judgement.sentence.params)["held"]) == (State.OUTSIDE_LIMIT, "29.98 min")


@pytest.mark.parametrize("dipped", ["product", "air_space"])
def test_a_dip_of_either_starts_the_clock_again(dipped: str) -> None:
    logs = {"product": log(40), "air_space": log(40, "67")}
    assert judged(logs["product"], logs["air_space"]).state is State.WITHIN
    logs[dipped] = log(40, "67", odd={20.0: "62.999" if dipped == "product" else "65.999"})
    judgement = judged(logs["product"], logs["air_space"])
    assert (judgement.state, judgement.sentence.code) == (State.OUTSIDE_LIMIT, "hold_log_short")
    assert dict(judgement.sentence.params)["held"] == "19.5 min"


def test_after_a_dip_the_hold_can_still_become_long_enough() -> None:
    assert judged(log(60, odd={20.0: "62"}), log(60, "67")).state is State.WITHIN


def test_both_must_be_warm_at_the_same_time() -> None:
    early, late = {at / 2: "60" for at in range(40)}, {at / 2: "60" for at in range(81, 121)}
    assert judged(log(60, odd=late), log(60, "67", odd=early)).state is State.OUTSIDE_LIMIT


@pytest.mark.parametrize("broken", ["product", "air_space"])
def test_a_gap_that_keeps_the_hold_from_being_long_enough_is_not_shown(broken: str) -> None:
    logs = {"product": log(40), "air_space": log(40, "67")}
    logs[broken] = log(40, "67", without=(18, 22))
    judgement = judged(logs["product"], logs["air_space"])
    assert (judgement.state, judgement.sentence.code) == (State.NOT_SHOWN, "hold_log_gap")


def test_a_gap_does_not_excuse_a_hold_that_was_too_short_anyway() -> None:
    assert judged(log(25, without=(10, 15)), log(25, "67")).state is State.OUTSIDE_LIMIT
    with_dip = log(40, odd={20.0: "60"}, without=(25, 30))
    assert judged(with_dip, log(40, "67")).state is State.OUTSIDE_LIMIT


def test_a_log_whose_instrument_is_not_valid_shows_nothing() -> None:
    assert judged(log(valid=False), log(40, "67")).state is State.INSTRUMENT_NOT_VALID
    assert judged(log(40), log(40, "67", valid=False)).state is State.INSTRUMENT_NOT_VALID


@pytest.mark.parametrize(
    ("product", "air", "missing"),
    [(log(40), None, "air_space"), (None, log(40, "67"), "product")],
)
def test_every_quantity_of_the_rule_needs_its_log(
    product: Series | None, air: Series | None, missing: str
) -> None:
    judgement = judged(product, air)
    assert judgement.state is State.NOT_SHOWN
    assert dict(judgement.sentence.params)["part"] == missing
    only_product = {**SLOW, "air_space_at_least": None}
    assert judged(log(40), document=only_product).state is State.WITHIN


def test_an_empty_log_shows_nothing() -> None:
    empty = Series.of([], unit="degC", longest_gap=GAP)
    assert judged(empty, log(40, "67")).sentence.code == "hold_log_missing"


def test_a_log_of_another_quantity_shows_nothing() -> None:
    assert judged(log(40, unit="kg"), log(40, "67")).sentence.code == "unit_not_comparable"


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ("71.66", State.OUTSIDE_LIMIT),
        ("71.666", State.OUTSIDE_LIMIT),
        ("71.667", State.WITHIN),
        ("71.67", State.WITHIN),
    ],
)
def test_the_limit_is_compared_in_the_unit_of_its_source(value: str, expected: State) -> None:
    # 161 °F is 71.666... °C
    seconds = log(0.25, value, step=1 / 60)
    assert judged(seconds, document=QUICK).state is expected


def test_below_the_target_it_is_said_and_no_more() -> None:
    warm, aimed = log(40, "63.5"), {**VAT}
    judgement = judged(warm, log(40, "67"), document=aimed)
    assert (judgement.state, judgement.sentence.code) == (State.OUTSIDE_TARGET, "hold_log_below_target")
    assert judged(log(40, "64"), log(40, "67"), document=aimed).state is State.WITHIN


@pytest.mark.parametrize(
    ("without", "code"), [("chart_number", "hold_without_chart"), ("agitator", "part_missing")]
)
def test_the_rules_on_chart_and_agitator_stay(without: str, code: str) -> None:
    kept = [entry for entry in beside() if entry.name != without]
    judgement = judged(log(), log(30, "67"), *kept)
    assert (judgement.state, judgement.sentence.code) == (State.NOT_SHOWN, code)


def test_the_rule_on_the_two_thermometers_stays() -> None:
    above = number("recorder", "64.5", "degC")
    judgement = judged(log(), log(30, "67"), *[e for e in beside() if e.name != "recorder"], above)
    assert (judgement.state, judgement.sentence.code) == (State.OUTSIDE_LIMIT, "recorder_above")


def test_what_a_person_read_below_the_limit_still_counts_beside_the_log() -> None:
    judgement = judged(log(), log(30, "67"), *beside(), number("product", "62.9", "degC"))
    assert judgement.sentence.code == "hold_dip"
    assert judged(log(), log(30, "67"), *beside(), number("product", "63", "degC")).state is State.WITHIN


def test_without_a_log_two_hand_readings_prove_nothing() -> None:
    assert judged(None, None).state is State.NOT_SHOWN


STEPS = st.lists(st.sampled_from(["62", "63", "64"]), min_size=2, max_size=60)


@given(values=STEPS)
def test_a_warmer_log_is_never_judged_worse(values: list[str]) -> None:
    document = {**SLOW, "minutes": "10", "air_space_at_least": None}

    def held(raised: int) -> Judgement:
        readings = [(START + timedelta(minutes=n), Decimal(value) + raised) for n, value in enumerate(values)]
        return judged(Series.of(readings, unit="degC", longest_gap=GAP), document=document)

    cool, warm = held(0), held(1)
    assert cool.margin is not None
    assert warm.margin is not None
    assert warm.margin >= cool.margin


@given(values=STEPS)
def test_the_longest_stretch_is_that_of_a_plain_count(values: list[str]) -> None:
    document = {**SLOW, "minutes": "10", "air_space_at_least": None}
    readings = [(START + timedelta(minutes=n), Decimal(value)) for n, value in enumerate(values)]
    judgement = judged(Series.of(readings, unit="degC", longest_gap=GAP), document=document)
    runs = "".join("w" if Decimal(value) >= 63 else " " for value in values).split()
    longest = max((len(run) - 1 for run in runs), default=0)
    assert judgement.margin == longest - 10
    assert (judgement.state is State.WITHIN) is (longest >= 10)
