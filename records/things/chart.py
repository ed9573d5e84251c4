"""The readings of a shared thing over its life: a chart for each quantity, with its limits."""

from collections import defaultdict
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from records.checks.judging import kept_parts
from records.checks.models import Reading
from records.things.queries import Life
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.calculation.units import convert
from safetyplan.plans.parts import Control
from safetyplan.printing.chart import to_svg
from safetyplan.printing.curve import Words, curve_scene
from safetyplan.words import name_words

Point = tuple[float, float]
DAY = 86_400


def charts(life: Life, rows: Sequence[Reading]) -> list[tuple[str, str]]:
    """Draw each measured quantity of a thing over its age in days: a title and the picture."""
    replaced = {row.supersedes_id for row in rows}
    points: dict[tuple[str, str], list[Point]] = defaultdict(list)
    controls: dict[str, Control] = {}
    for row in rows:
        control = row.plan_version.plan().control(row.control)
        if control is None or row.voided or row.pk in replaced:
            continue
        controls[row.control] = control
        for part in kept_parts(row):
            if part["entry"] == "number" and part["value"][:1] not in "<>":
                unit = _unit(control, part)
                value = (
                    convert(Decimal(part["value"]), part["unit"], unit)
                    if unit != part["unit"]
                    else part["value"]
                )
                days = (row.observed_at - life.begun_at).total_seconds() / DAY
                points[row.control, part["name"]].append((days, float(value)))
    return [_drawn(life, controls[code], part, found) for (code, part), found in sorted(points.items())]


def _unit(control: Control, part: dict[str, str]) -> str:
    """Give the unit of the limit, in which the chart is drawn; where it has none, the unit of the reading."""
    return next(
        (one.unit for one in control.limit.parts() if one.name == part["name"] and one.unit), part["unit"]
    )


def _drawn(life: Life, control: Control, part: str, points: Sequence[Point]) -> tuple[str, str]:
    unit = next((one.unit for one in control.limit.parts() if one.name == part), "")
    symbol = UNITS[unit].symbol if unit else ""
    name = name_words(part)
    words = Words(
        x_label=_("days since it was begun"),
        y_label=f"{name} {symbol}".strip() if symbol.casefold() != name.casefold() else symbol,
        trace=_("measured"),
        limit=_("limit"),
        target=_("target"),
        nothing=_("no readings yet"),
    )
    limits, targets = _levels(control, "limit"), _levels(control, "target")
    scene = curve_scene(
        points,
        limits[0] if limits else (),
        targets[0] if targets else (),
        words,
        more_limit_steps=limits[1:],
        more_target_steps=targets[1:],
    )
    title = f"{control.code} {control.name}: {name}"
    listed = ", ".join(f"{value:g}" for _days, value in sorted(points))
    said = _("Measured values in order: %(values)s. The table of readings holds the same.") % {
        "values": listed
    }
    return title, to_svg(scene, f"{life.title}, {title}", said)


def _levels(control: Control, role: str) -> list[list[Point]]:
    """Give a level line for each bound of a limit that has bounds on its value."""
    drawn: dict[str, Any] = control.limit.chart()
    lines = [
        line for line in drawn["lines"] if line.get("role") == role and "side" in line and "value" in line
    ]
    return [[(0.0, float(line["value"]))] for line in lines]
