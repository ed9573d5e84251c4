"""What a rule asks of a product: the pair of time and temperature, and its raise for a rich product.

Everything stands in the unit of the rule. The published tables are in `heat_tables.py`.
"""

from dataclasses import dataclass
from decimal import Decimal
from math import log10

from safetyplan.calculation import rounding
from safetyplan.calculation.heat_tables import (
    EQUIVALENCE_A,
    EQUIVALENCE_B,
    EQUIVALENCE_C,
    EQUIVALENCE_FAT_BELOW,
    EQUIVALENCE_LONGEST,
    EQUIVALENCE_SHORTEST,
    EQUIVALENCE_SOURCE,
    PRACTICE_RICH_FAT_PERCENT,
    PRACTICE_RICH_SOLIDS_PERCENT,
    RULES,
    Row,
    Rule,
)
from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.sentences import Sentence, say

BATCH_FROM_SECONDS = Decimal(60)


@dataclass(frozen=True)
class Product:
    """What makes a product rich: fat and total solids in percent, what was added to it.

    solids_percent may be None when it is not known; a rule that counts it then refuses.
    """

    fat_percent: Decimal
    solids_percent: Decimal | None = None
    sweetened: bool = False
    concentrated: bool = False
    particles: bool = False

    def check(self) -> None:
        """Raise Refusal for shares that cannot be: outside 0 to 100 %, or less solids than fat."""
        for name, share in (("vat_fat", self.fat_percent), ("vat_solids", self.solids_percent)):
            if share is not None:
                require_within(
                    share,
                    Decimal(0),
                    Decimal(100),
                    quantity=name,
                    unit="percent",
                    source="parts of a whole",
                    field=name,
                )
        if self.solids_percent is not None and self.solids_percent < self.fat_percent:
            fat, solids = _percent(self.fat_percent), _percent(self.solids_percent)
            raise Refusal(say("heat_solids_below_fat", fat=fat, solids=solids), "vat_solids")


@dataclass(frozen=True)
class Requirement:
    """What a rule asks of a product for one hold; temperatures in `unit`, the unit of the rule.

    temperature is table_temperature + raised_by; because: the triggers of the raise. air_space is the least
    temperature of the air above the product, None when the rule has no figure for this hold. notes: what the
    reader must know about this row.
    """

    rule: str
    unit: str
    table_temperature: Decimal
    raised_by: Decimal
    because: tuple[str, ...]
    hold_seconds: Decimal
    air_space: Decimal | None
    sources: tuple[str, ...]
    notes: tuple[Sentence, ...]

    @property
    def temperature(self) -> Decimal:
        """The least temperature of the product, raise included."""
        return self.table_temperature + self.raised_by


def _percent(share: Decimal) -> str:
    return rounding.amount(rounding.trim(share), "percent")


def duration_text(seconds: Decimal) -> str:
    """A duration of a rule as printed: whole minutes from one minute on, else seconds ("30 min", "0.5 s")."""
    if seconds >= 60 and seconds % 60 == 0:
        return rounding.amount(rounding.trim(seconds // 60), "min")
    return rounding.amount(rounding.trim(seconds), "s")


def rule_named(name: str) -> Rule:
    """A rule by its name. Raises Refusal naming the rules known when there is none of that name."""
    if name not in RULES:
        raise Refusal(say("heat_rule_unknown", rule=name, options=" ".join(RULES)), "heat_rule")
    return RULES[name]


def australian_temperature(*, hold_seconds: Decimal, product: Product) -> Decimal:
    """The temperature in °C that the Australian note calls equivalent to 72 °C for 15 s.

    T = 14885 / (log10 t + 41.97) - 273.1, t in s; a float inside, 12 digits out. Valid for the printed rows,
    1 to 14 s, and milk below 10 % fat without sweetener or particles; for use in Australia only, being more
    lenient than the American table. Raises Refusal outside. Source: `heat_tables.EQUIVALENCE_SOURCE`.
    """
    product.check()
    require_within(
        hold_seconds,
        EQUIVALENCE_SHORTEST,
        EQUIVALENCE_LONGEST,
        quantity="hold_asked",
        unit="s",
        source=EQUIVALENCE_SOURCE,
        field="hold_asked",
    )
    rich = product.sweetened or product.concentrated or product.particles
    if rich or product.fat_percent >= EQUIVALENCE_FAT_BELOW:
        fat = _percent(EQUIVALENCE_FAT_BELOW)
        raise Refusal(say("heat_formula_plain_milk", fat=fat, source=EQUIVALENCE_SOURCE), "vat_kind")
    return rounding.from_float(EQUIVALENCE_A / (log10(hold_seconds) + EQUIVALENCE_B) - EQUIVALENCE_C)


def required_temperature(rule_name: str, *, hold_seconds: Decimal, product: Product) -> Requirement:
    """What a rule asks for a hold of so many seconds: the temperature in the unit of the rule.

    The row whose hold is exactly this one, plus the raise of the rule for a rich product. Nothing is rounded
    or converted, and nothing is read between the rows (Australia: 1 to 14 s by its own formula). Raises
    Refusal for a hold the rule does not list, for missing solids where the rule counts them, and for a rich
    product where the rule asks more without a figure. Source: with each row of `heat_tables`.
    """
    rule = rule_named(rule_name)
    product.check()
    row = _row(rule, hold_seconds, product)
    because = _because(rule, product)
    notes = list(_notes(rule, product, row, because))
    sources = [row.source]
    raised = Decimal(0)
    if rule.richer and because:
        raised = rule.richer.by
        sources.append(rule.richer.source)
    air_space = None
    if rule.air_space_above is not None and row.hold_seconds >= BATCH_FROM_SECONDS:
        air_space = row.temperature + raised + rule.air_space_above
        sources.append(rule.air_space_source)
    return Requirement(
        rule.name,
        rule.unit,
        row.temperature,
        raised,
        because,
        row.hold_seconds,
        air_space,
        tuple(sources),
        tuple(notes),
    )


def _row(rule: Rule, hold_seconds: Decimal, product: Product) -> Row:
    for row in rule.rows:
        if row.hold_seconds == hold_seconds:
            return row
    known = hold_seconds.is_finite()
    if rule.equivalence and known and EQUIVALENCE_SHORTEST <= hold_seconds <= EQUIVALENCE_LONGEST:
        temperature = australian_temperature(hold_seconds=hold_seconds, product=product)
        return Row(temperature, hold_seconds, EQUIVALENCE_SOURCE)
    holds = ", ".join(duration_text(row.hold_seconds) for row in rule.rows)
    if rule.equivalence:
        holds += f", {EQUIVALENCE_SHORTEST}-{EQUIVALENCE_LONGEST} s"
    given = duration_text(hold_seconds) if known else str(hold_seconds)
    source = rule.rows[0].source
    raise Refusal(
        say("heat_hold_not_listed", rule=rule.name, hold=given, holds=holds, source=source), "hold_asked"
    )


def _because(rule: Rule, product: Product) -> tuple[str, ...]:
    """The triggers of the raise that apply, by name. Raises Refusal when solids count and are not known."""
    richer = rule.richer
    if richer is None:
        return ()
    solids, found = product.solids_percent, []
    if richer.fat_percent is not None and product.fat_percent >= richer.fat_percent:
        found.append("vat_fat")
    if richer.solids_percent is not None and solids is not None and solids >= richer.solids_percent:
        found.append("vat_solids")
    if richer.sweetened and product.sweetened:
        found.append("sweetened")
    if richer.concentrated and product.concentrated:
        found.append("concentrated")
    if not found and richer.solids_percent is not None and solids is None:
        limit = _percent(richer.solids_percent)
        raise Refusal(say("heat_solids_needed", rule=rule.name, limit=limit), "vat_solids")
    return tuple(found)


def _is_rich(product: Product) -> bool:
    solids = product.solids_percent
    return (
        product.sweetened
        or product.concentrated
        or product.fat_percent >= PRACTICE_RICH_FAT_PERCENT
        or (solids is not None and solids >= PRACTICE_RICH_SOLIDS_PERCENT)
    )


def _notes(rule: Rule, product: Product, row: Row, because: tuple[str, ...]) -> tuple[Sentence, ...]:
    if rule.richer and because:
        if row.hold_seconds in rule.richer.marked:
            return ()
        by = rounding.amount(rounding.trim(rule.richer.by), rule.unit)
        return (say("heat_raise_beyond_print", by=by, hold=duration_text(row.hold_seconds)),)
    if not _is_rich(product):
        return ()
    if rule.raise_unknown:
        raise Refusal(say("heat_raise_without_figure", rule=rule.name, source=row.source), "vat_fat")
    return (say("heat_no_raise_printed", rule=rule.name),)
