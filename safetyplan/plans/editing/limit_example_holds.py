"""Worked cases of a heat hold: by what is read from its chart, and by the log of its recorder. Pure."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from decimal import Decimal
from types import MappingProxyType

from django.utils.translation import gettext as _

from safetyplan.calculation.judgement import Measured
from safetyplan.calculation.limits.band import text_of
from safetyplan.calculation.limits.held_for import AIR_SPACE, OFF, ON, HeldFor
from safetyplan.calculation.series import Series
from safetyplan.plans.editing.limit_examples import yours
from safetyplan.plans.editing.limit_scenes import (
    At,
    Example,
    Given,
    Reading,
    Try,
    label,
    minutes,
    number,
    said,
    step,
)
from safetyplan.words import name_words

NO_LOGS: Mapping[str, Series] = MappingProxyType({})


class Hold:
    """The entries of one hold, with what a case changes."""

    def __init__(self, limit: HeldFor, at: At) -> None:
        self.limit, self.at = limit, at
        self.product = limit.product_at_least if limit.product_at_least is not None else limit.product_target
        self.air = limit.air_space_at_least

    def example(
        self,
        role: str,
        words: str,
        *,
        held: Decimal | None = None,
        logs: Mapping[str, Series] = NO_LOGS,
        **changes: object,
    ) -> Example:
        """One case: everything on its limit but what is changed; a change to None leaves the entry out."""
        end = self.at.now
        start = end - minutes(self.limit.minutes if held is None else held)
        entries: dict[str, object] = {"hold_start": start, "hold_end": end, "chart_number": "C-1"}
        entries |= dict.fromkeys(("product", "indicating", "recorder"), self.product or self.air)
        entries |= dict.fromkeys(AIR_SPACE, self.air)
        entries |= {"agitator": ON, **changes}
        asked = [part.name for part in self.limit.parts()]
        taken = [self._entry(name, entries[name]) for name in asked if entries.get(name) is not None]
        return Example(role, words, tuple(taken), series=logs)

    def log(self, dip: Decimal) -> dict[str, Series]:
        """The recorder's log of the hold, a reading every twentieth of it; in the middle one of the dip."""
        start, apart = self.at.now - minutes(self.limit.minutes), self.limit.minutes / 20
        logs = {}
        for part, value in (("product", self.product), ("air_space", self.air)):
            if value is not None:
                low = dip if part == ("air_space" if self.product is None else "product") else value
                read = [(start + minutes(apart * n), low if n == 10 else value) for n in range(21)]
                gap = timedelta(microseconds=int(apart * 120_000_000))
                logs[part] = Series.of(read, unit=self.limit.unit, longest_gap=gap)
        return logs

    def _entry(self, name: str, value: object) -> Measured:
        if isinstance(value, Decimal):
            return number(name, value, self.limit.unit, self.at.now)
        if isinstance(value, Reading):
            return value.of(name, self.at.now)
        if isinstance(value, str):
            return Measured(name, None, "", self.at.now, text=value)
        return Measured(name, None, "", value if isinstance(value, datetime) else None)


def held_for_examples(limit: HeldFor, at: At) -> list[Example]:
    """On every limit; a little short; each temperature just below; thermometers, agitator, chart."""
    hold, unit, time = Hold(limit, at), limit.unit, text_of(limit.minutes, "min")
    short = limit.minutes - (1 if limit.minutes > 2 else Decimal(1) / 60)
    everything = _("Held %(time)s, every temperature on its limit") % {"time": time}
    shorter = _("One minute short") if limit.minutes > 2 else _("One second short")
    found = [
        hold.example(_("On the limit"), everything),
        hold.example(_("Just beyond the limit"), shorter, held=short),
    ]
    beyond = _("Just beyond the limit")
    if limit.product_at_least is not None:
        low = limit.product_at_least - step(limit.product_at_least, unit)
        found.append(hold.example(beyond, said("product", text_of(low, unit)), product=low))
    if limit.air_space_at_least is not None:
        low = limit.air_space_at_least - step(limit.air_space_at_least, unit)
        found.append(hold.example(beyond, said("air_space_start", text_of(low, unit)), air_space_start=low))
    if limit.product_target is not None:
        aim = limit.product_target
        words = said("product", text_of(aim, unit))
        found.append(hold.example(_("On the target"), words, product=aim, indicating=aim, recorder=aim))
    if limit.recorder_not_above_indicating and hold.product is not None:
        high = hold.product + step(hold.product, unit)
        words = said("recorder", text_of(high, unit))
        found.append(hold.example(_("Recorder above the indicating thermometer"), words, recorder=high))
    if limit.agitator:
        found.append(hold.example(_("Agitator stopped"), said("agitator", name_words(OFF)), agitator=OFF))
    found.append(
        hold.example(
            _("No chart number"), _("Everything on its limit, but no chart number"), chart_number=None
        )
    )
    return [*found, _dip(hold)]


def _dip(hold: Hold) -> Example:
    """A log in which one reading in the middle of the hold is too cold: the clock starts again."""
    value = hold.product if hold.product is not None else hold.air
    assert value is not None
    low = value - step(value, hold.limit.unit)
    words = _("The recorder's log with one reading of %(low)s in the middle of the hold")
    return hold.example(
        _("A dip"), words % {"low": text_of(low, hold.limit.unit)}, logs=hold.log(low), product=None
    )


def held_for_tries(limit: HeldFor) -> list[Try]:
    """How long, and the temperatures."""
    chart = _("With a chart number, and the agitator and thermometers as they must be.")
    found = [Try("held", _("Held for (min)"), "span", "min", help=chart)]
    if limit.product_at_least is not None or limit.product_target is not None:
        found.append(Try("product", label("product"), "number", limit.unit))
    if limit.air_space_at_least is not None:
        found.append(Try("air_space", label("air_space"), "number", limit.unit))
    return found


def held_for_tried(limit: HeldFor, given: Given, at: At) -> Example | None:
    """The hold that was typed; a temperature that was not typed is left out."""
    held, product, air = given.get("held"), given.get("product"), given.get("air_space")
    if held is None:
        return None
    said_all = [_("Held %(time)s") % {"time": text_of(held, "min")}]
    said_all += [
        said(part, typed.words) for part, typed in (("product", product), ("air_space", air)) if typed
    ]
    return Hold(limit, at).example(
        yours(),
        ", ".join(said_all),
        held=held,
        product=product,
        indicating=product,
        recorder=product,
        air_space_start=air,
        air_space_end=air,
    )
