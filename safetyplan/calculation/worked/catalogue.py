"""Every calculator, in the order in which they are listed."""

from collections.abc import Mapping

from safetyplan.calculation.worked.shape import Calculator

_IN_ORDER: tuple[Calculator, ...] = ()

CALCULATORS: Mapping[str, Calculator] = {calculator.slug: calculator for calculator in _IN_ORDER}
