"""Small formulas of the vat room that end in a unit: titration, press pressure, rennet."""

from decimal import Decimal

from safetyplan.calculation.units import convert

PI = Decimal("3.14159265358979323846264338328")
# 1 ml of 0.1 N sodium hydroxide neutralises 0.009 g of lactic acid (90 g/mol). Source: mantech-inc.com.
GRAMS_LACTIC_PER_ML_NORMAL = Decimal("0.09")


def lactic_from_titration(*, titre_ml: Decimal, normality: Decimal, sample_ml: Decimal) -> Decimal:
    """Titratable acidity in % lactic acid, w/v: titre (ml) x normality x 0.09 x 100 / sample (ml).

    Not rounded. Divide by the density of milk (about 1.03) for w/w. Raises ValueError unless sample_ml > 0.
    Source: 1 ml of 0.1 N sodium hydroxide is 0.009 g lactic acid (mantech-inc.com).
    """
    _positive(sample_ml, "sample_ml")
    return titre_ml * normality * GRAMS_LACTIC_PER_ML_NORMAL * 100 / sample_ml


def press_pressure(*, weight_lb: Decimal, advantage: Decimal, mould_diameter_inch: Decimal) -> Decimal:
    """Pressure on the cheese in psi: weight (lb) x mechanical advantage / (pi x d**2 / 4), d in inch.

    Not rounded; use `units.convert` for kPa. Raises ValueError unless the diameter is above zero.
    Source: definition of pressure; psi is pound-force per square inch.
    """
    _positive(mould_diameter_inch, "mould_diameter_inch")
    return weight_lb * advantage / (PI * mould_diameter_inch**2 / 4)


def rennet_units_per_litre(
    *, rennet_ml: Decimal, strength_imcu_per_ml: Decimal, milk_litres: Decimal
) -> Decimal:
    """Rennet used, in IMCU per litre of milk: rennet (ml) x strength (IMCU/ml) / milk (L). Not rounded.

    Raises ValueError unless milk_litres > 0. Source: arithmetic at cheeseforum.org topic 8167.
    """
    _positive(milk_litres, "milk_litres")
    return rennet_ml * strength_imcu_per_ml / milk_litres


def rennet_dose(
    *, imcu_per_litre: Decimal, milk: Decimal, milk_unit: str, strength_imcu_per_ml: Decimal
) -> Decimal:
    """Rennet to measure out, in ml: IMCU per litre x milk / strength (IMCU/ml); milk in any unit of volume.

    Not rounded. Raises ValueError unless the strength is above zero, UnitError when milk_unit is no volume.
    Source: arithmetic at cheeseforum.org topic 8167.
    """
    _positive(strength_imcu_per_ml, "strength_imcu_per_ml")
    return imcu_per_litre * convert(milk, milk_unit, "L") / strength_imcu_per_ml


def _positive(value: Decimal, name: str) -> None:
    if value <= 0:
        raise ValueError(f"{name} must be above zero")
