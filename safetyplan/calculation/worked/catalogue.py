"""Every calculator, in the order in which they are listed."""

from collections.abc import Mapping

from safetyplan.calculation.worked import (
    ageing_time,
    brine,
    control_chart,
    excursion,
    heat_hold,
    ph_forecast,
    ph_meter_check,
    rolling_mean,
    salt_and_moisture,
    sampling_plan,
    thermometer_check,
)
from safetyplan.calculation.worked.shape import Calculator

_IN_ORDER: tuple[Calculator, ...] = (
    heat_hold.CALCULATOR,
    ph_forecast.CALCULATOR,
    brine.CALCULATOR,
    salt_and_moisture.CALCULATOR,
    excursion.CALCULATOR,
    ageing_time.CALCULATOR,
    sampling_plan.CALCULATOR,
    rolling_mean.CALCULATOR,
    thermometer_check.CALCULATOR,
    ph_meter_check.CALCULATOR,
    control_chart.CALCULATOR,
)

CALCULATORS: Mapping[str, Calculator] = {calculator.slug: calculator for calculator in _IN_ORDER}
