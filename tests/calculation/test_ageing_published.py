"""Ageing against published values: every row of fixtures/published/ageing.json."""

from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from safetyplan.calculation.ageing import (
    RULES,
    check_rule,
    degree_days,
    earliest_date,
    mean_kinetic_temperature,
    q10_equivalent_days,
    weight_loss,
)
from safetyplan.calculation.series import Series
from tests.calculation.published import assert_near, rows_of

START = datetime(2026, 1, 10, tzinfo=UTC)
Inputs = dict[str, Any]


def sixty_days(inputs: Inputs) -> bool:
    unit = "degF" if "min_T_F" in inputs else "degC"
    lowest = inputs.get("min_T_F", inputs.get("min_T_C"))
    return check_rule(RULES["sixty_days_us"], days=inputs["days"], lowest_temperature=lowest, unit=unit).met


def by_calendar(inputs: Inputs) -> str:
    return earliest_date(date.fromisoformat(inputs["made"]), days=int(inputs["days"])).isoformat()


def warmth(inputs: Inputs) -> Decimal:
    readings = [
        (START + timedelta(days=int(day)), value)
        for day, value in zip(inputs["t_d"], inputs["T_C"], strict=True)
    ]
    series = Series.of(readings, unit="degC", longest_gap=timedelta(days=30))
    return degree_days(series, base=inputs["base_C"], unit="degC")


def equivalent(inputs: Inputs) -> Decimal:
    return q10_equivalent_days(
        days=inputs["days"],
        temperature=inputs["T_C"],
        reference=inputs["ref_C"],
        unit="degC",
        q10=inputs["Q10"],
    ).days


def kinetic(inputs: Inputs) -> Decimal:
    activation = inputs["dH_kJ_mol"] * 1000 / inputs["R"]
    return mean_kinetic_temperature(inputs["T_C"], unit="degC", activation=activation)


def loss(inputs: Inputs) -> Decimal:
    return weight_loss(start_kg=inputs["start_kg"], now_kg=inputs["now_kg"]).loss_percent


WORK: Mapping[str, Callable[[Inputs], Any]] = {
    "AG-60-1": sixty_days,
    "AG-60-2": sixty_days,
    "AG-60-4": sixty_days,
    "AG-60-DATE": by_calendar,
    "AG-DD-1": warmth,
    "AG-Q10-1": equivalent,
    "AG-MKT-1": kinetic,
    "AG-LOSS": loss,
}


@pytest.mark.parametrize("row", rows_of("ageing"))
def test_the_published_value_is_found(row: dict[str, Any]) -> None:
    assert_near(WORK[row["id"]](row["inputs"]), row)
