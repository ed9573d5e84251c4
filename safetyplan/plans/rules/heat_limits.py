"""Heat limits against the table of heat treatment that the profile names. Pure."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from safetyplan.calculation import rounding
from safetyplan.calculation.heat_requirement import (
    BATCH_FROM_SECONDS,
    Requirement,
    duration_text,
    required_temperature,
)
from safetyplan.calculation.heat_requirement import Product as Milk
from safetyplan.calculation.heat_tables import (
    EQUIVALENCE_LONGEST,
    EQUIVALENCE_SHORTEST,
    PRACTICE_RICH_FAT_PERCENT,
    PRACTICE_RICH_SOLIDS_PERCENT,
    RULES,
    Rule,
)
from safetyplan.calculation.limits.held_for import HeldFor
from safetyplan.calculation.limits.shape import nested
from safetyplan.calculation.open_limit import OpenLimit
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.units import convert, convert_difference
from safetyplan.plans.parts import Control, Parameter, Plan, Product
from safetyplan.plans.rules.profile_figures import HEAT_RULE, Kind, answers_to, cited, parameter_for, term_of
from safetyplan.plans.rules.rule import ERROR, WARNING, Found, products_of

PLAIN = Milk(fat_percent=Decimal(4), solids_percent=Decimal(12))
RICH = Milk(fat_percent=PRACTICE_RICH_FAT_PERCENT, solids_percent=PRACTICE_RICH_SOLIDS_PERCENT)
# what the American tables ask more of a rich product: 21 CFR 133.3(d), footnote
PRACTICE_RAISE_F = Decimal(5)
WARMTH, HOLD = Kind("temperature", "at_least"), Kind("duration", "at_least")


@dataclass(frozen=True)
class Heat:
    """A heat limit: the least temperature of the product, the hold, the air space of a vat.

    temperature None: the product is not bounded. seconds None: a continuous pasteuriser, whose hold is a
    matter of its tube; then the longest hold of the table below a minute is taken.
    """

    unit: str
    temperature: Decimal | None
    seconds: Decimal | None
    air_space: Decimal | None
    vat: bool


@dataclass(frozen=True)
class HeatCompared:
    """A heat limit beside the table of its profile; heat None: the limit holds no temperature."""

    control: Control
    parameter: Parameter
    table: Rule
    heat: Heat | None
    products: tuple[Product, ...]


def heats(control: Control) -> list[Heat]:
    """Give the heat limits inside the limit of a control: every hold, or else a bound on the temperature."""
    holds = [one for one in nested(control.limit) if isinstance(one, HeldFor)]
    if holds:
        return [
            Heat(one.unit, one.product_at_least, one.minutes * 60, one.air_space_at_least, vat=True)
            for one in holds
        ]
    warmth, hold = term_of(control.limit, WARMTH), term_of(control.limit, HOLD)
    if warmth is None:
        return []
    seconds = convert(hold.value, hold.unit, "s") if hold else None
    return [Heat(warmth.unit, warmth.value, seconds, None, vat=False)]


def comparisons(plan: Plan) -> Iterator[HeatCompared]:
    """Set every heat limit beside the table of the profile, where its name is known."""
    for control in plan.controls:
        if answers_to(plan, control) != HEAT_RULE:
            continue
        parameter = parameter_for(plan, control, HEAT_RULE)
        if parameter is None or parameter.value not in RULES:
            continue
        products = tuple(p for p in products_of(plan, control) if p.treatment not in ("raw", "thermised"))
        found: list[Heat | None] = [*heats(control)]
        for heat in found or [None]:
            yield HeatCompared(control, parameter, RULES[parameter.value], heat, products)


def asked(table: Rule, heat: Heat, milk: Milk) -> Requirement | None:
    """Give what a table asks for a hold: the row with the least temperature among those not longer than it.

    None when the hold is shorter than every hold of the table. Raises Refusal where the table asks more of a
    rich product without a figure.
    """
    seconds = heat.seconds
    if seconds is None:
        seconds = max(row.hold_seconds for row in table.rows if row.hold_seconds < BATCH_FROM_SECONDS)
    rows = [row.hold_seconds for row in table.rows if row.hold_seconds <= seconds]
    if table.equivalence and milk is PLAIN and EQUIVALENCE_SHORTEST <= seconds <= EQUIVALENCE_LONGEST:
        rows.append(seconds)
    needs = [required_temperature(table.name, hold_seconds=hold, product=milk) for hold in rows]
    return min(needs, key=lambda need: need.temperature) if needs else None


def _air_space_asked(table: Rule, heat: Heat, need: Requirement) -> Decimal | None:
    """Give the air space a vat needs: above what the product needs, also where its row has a short hold."""
    if table.air_space_above is None or not heat.vat or (heat.seconds or 0) < BATCH_FROM_SECONDS:
        return None
    return need.temperature + table.air_space_above


def _text(value: Decimal, unit: str) -> str:
    return rounding.amount(rounding.trim(value), unit)


def _below(value: Decimal, heat: Heat, table: Rule, least: Decimal) -> bool:
    return convert(value, heat.unit, table.unit) < least


def _lacking(table: Rule, heat: Heat, need: Requirement) -> list[str]:
    """Say what of a heat limit lies below what is asked: product, air space."""
    lacks, hold = [], duration_text(need.hold_seconds)
    wanted = {"asked": _text(need.temperature, table.unit), "hold": hold}
    if heat.temperature is None:
        lacks.append(_("no temperature of the product, where %(asked)s for %(hold)s is asked") % wanted)
    elif _below(heat.temperature, heat, table, need.temperature):
        words = {"limit": _text(heat.temperature, heat.unit), **wanted}
        lacks.append(_("product %(limit)s, where %(asked)s for %(hold)s is asked") % words)
    air = _air_space_asked(table, heat, need)
    if air is not None and heat.air_space is None:
        lacks.append(_("no air space, where %(asked)s is asked") % {"asked": _text(air, table.unit)})
    elif air is not None and heat.air_space is not None and _below(heat.air_space, heat, table, air):
        words = {"limit": _text(heat.air_space, heat.unit), "asked": _text(air, table.unit)}
        lacks.append(_("air space %(limit)s, where %(asked)s is asked") % words)
    return lacks


def looser(plan: Plan) -> Iterator[Found]:
    """P021: heat limits below the table of the profile."""
    for compared in comparisons(plan):
        heat = compared.heat
        need = asked(compared.table, heat, PLAIN) if heat else None
        if heat and need is None:
            lacks = [_("the hold is shorter than every hold of the table")]
        else:
            lacks = _lacking(compared.table, heat, need) if heat and need else []
        if lacks:
            words = {"lack": "; ".join(lacks), "source": _source(compared, need)}
            message = _("Less heat than the profile asks: %(lack)s (%(source)s).")
            yield Found(compared.control.code, message % words)


def _source(compared: HeatCompared, need: Requirement | None) -> str:
    sources = need.sources if need else (compared.table.rows[0].source,)
    return "; ".join(dict.fromkeys((compared.parameter.citation, *sources)))


def units(plan: Plan) -> Iterator[Found]:
    """P025: heat limits in another unit than the table, limits without a temperature, an unknown table."""
    loose = {found.where for found in looser(plan)}
    for compared in comparisons(plan):
        code = compared.control.code
        if compared.heat is None:
            message = _("The limit does not bound what the profile bounds: %(figure)s.")
            yield Found(code, message % {"figure": cited(compared.parameter)}, ERROR)
        elif compared.heat.unit != compared.table.unit and code not in loose:
            words = {
                "unit": _symbol(compared.heat.unit),
                "table": _symbol(compared.table.unit),
                "source": compared.parameter.citation,
            }
            message = _("The heat limit is in %(unit)s, the table of the profile in %(table)s (%(source)s).")
            yield Found(code, message % words)
    yield from _unknown_table(plan)


def _symbol(unit: str) -> str:
    return {"degC": "°C", "degF": "°F"}[unit]


def _unknown_table(plan: Plan) -> Iterator[Found]:
    parameter = plan.profile.parameter(HEAT_RULE) if plan.profile else None
    if parameter and parameter.value.strip() and parameter.value not in RULES:
        message = _("No table of heat treatment “%(name)s” is kept here: compare the heat limits yourself.")
        yield Found(f"legal:{HEAT_RULE}", message % {"name": parameter.value})


def not_raised(plan: Plan) -> Iterator[Found]:
    """P034: rich products without the raise; a rich product of pasteurised milk without any heat limit."""
    for compared in comparisons(plan):
        if compared.heat and any(product.rich for product in compared.products):
            yield from _raise_of(compared, compared.heat)
    for product in plan.products:
        if product.rich and product.treatment == "pasteurised" and not _heated(plan, product):
            message = _("%(product)s is rich, and no control has a heat limit for it.")
            yield Found(product.code, message % {"product": product.name})


def _heated(plan: Plan, product: Product) -> bool:
    return any(
        product in products_of(plan, control)
        and (answers_to(plan, control) == HEAT_RULE or isinstance(control.limit, OpenLimit))
        for control in plan.controls
    )


def _raise_of(compared: HeatCompared, heat: Heat) -> Iterator[Found]:
    table, code = compared.table, compared.control.code
    plain = asked(table, heat, PLAIN)
    if plain is None:
        return
    try:
        need = asked(table, heat, RICH)
    except Refusal:
        yield from _above_the_table(compared, heat, plain)
        return
    if need is None or not need.raised_by:
        yield from _by_practice(compared, heat, plain)
        return
    if lacks := _lacking(table, heat, need):
        words = {"lack": "; ".join(lacks), "source": _source(compared, need)}
        message = _("A rich product needs the raised limit: %(lack)s (%(source)s).")
        yield Found(code, message % words)


def _degrees(heat: Heat, unit: str) -> Decimal:
    return convert(heat.temperature, heat.unit, unit) if heat.temperature is not None else Decimal(-300)


def _above_the_table(compared: HeatCompared, heat: Heat, plain: Requirement) -> Iterator[Found]:
    """A table that asks more of a rich product without a figure wants at least more than its own row."""
    if _degrees(heat, compared.table.unit) <= plain.temperature:
        words = {"row": _text(plain.temperature, compared.table.unit), "source": _source(compared, plain)}
        message = _("A rich product needs more than %(row)s; the table does not say how much (%(source)s).")
        yield Found(compared.control.code, message % words)


def _by_practice(compared: HeatCompared, heat: Heat, plain: Requirement) -> Iterator[Found]:
    """A table without a raise: the American one is shown, and a person decides."""
    table = compared.table
    raised = plain.temperature + convert_difference(PRACTICE_RAISE_F, "degF", table.unit)
    if _degrees(heat, table.unit) < raised:
        words = {"by": _text(PRACTICE_RAISE_F, "degF"), "source": _source(compared, plain)}
        message = _(
            "The table has no raise for a rich product; American tables ask %(by)s more, on product and air "
            "space (%(source)s)."
        )
        yield Found(compared.control.code, message % words, WARNING)
