"""The limits printed on a form: the limit itself apart from target, window and tolerance."""

from collections.abc import Iterable, Sequence
from typing import Any

from django.utils.translation import gettext as _

from records.checks.due import SlotState
from safetyplan.plans.document import Control
from safetyplan.plans.models import PlanApproved
from safetyplan.printing.document import Cell, Column, Grid, Row
from safetyplan.words import render

ASIDE = ("plan_target", "plan_reached_target", "plan_window", "plan_tolerance", "part")

Judged = tuple[PlanApproved, Control]


def split(control: Control) -> tuple[list[str], list[str]]:
    """Give the sentences of the limit itself, and those of target, window and tolerance."""
    critical: list[str] = []
    aside: list[str] = []
    for sentence in control.limit.describe():
        (aside if sentence.code.startswith(ASIDE) else critical).append(str(render(sentence)))
    return critical, aside


def judged_by(states: Iterable[SlotState], readings: Iterable[Any] = ()) -> list[Judged]:
    """List each control once for every plan version that judged by it, in order of code and version."""
    found = {(s.slot.control.code, s.plan_version.number): (s.plan_version, s.slot.control) for s in states}
    for reading in readings:
        control = reading.plan_version.plan().control(reading.control)
        if control is not None:
            found.setdefault((control.code, reading.plan_version.number), (reading.plan_version, control))
    return [found[key] for key in sorted(found)]


def limit_grid(judged: Sequence[Judged]) -> Grid:
    """Give the grid of limits; where versions differ within one record, each is named."""
    several = len({version.number for version, _control in judged}) > 1
    columns = (
        Column(_("Control"), share=24),
        Column(_("Limit"), share=40),
        Column(_("Target and conditions"), share=36),
    )
    return Grid(columns, tuple(_row(version, control, several=several) for version, control in judged))


def _row(version: PlanApproved, control: Control, *, several: bool) -> Row:
    critical, aside = split(control)
    lines = [f"{control.code} {control.name}"]
    if control.is_ccp:
        lines.append(_("critical control point"))
    if several:
        lines.append(_("plan version %(number)d") % {"number": version.number})
    without = _("None: a value outside the target asks for action.")
    return Row(
        (
            Cell("\n".join(lines), strong=True),
            Cell("\n".join(critical) or without, strong=bool(critical)),
            Cell("\n".join(aside)),
        )
    )
