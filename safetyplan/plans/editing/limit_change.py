"""A changed limit in the document of the plan: what goes with it, and what a person is told. Pure.

A new figure is no longer that of its old source, an old confirmation does not hold for it, and a limit that
names its own times takes over when the check is due.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.reached_by import ReachedBy
from safetyplan.calculation.open_limit import OpenLimit
from safetyplan.plans.around import Around
from safetyplan.plans.described import duration_words
from safetyplan.plans.figures import limit_value, targets_value
from safetyplan.plans.parts import STARTED, Control, Plan

OWN = "own"
LIMIT_POINTS = "limit_points"
HOUR = 60


@dataclass(frozen=True)
class About:
    """What is said about the figure of a limit."""

    justification: str
    figure_source: str
    provenance: str
    parameter: str


@dataclass(frozen=True)
class NewLimit:
    """A limit as it will stand in the plan, with what a person must be told; moved: its check is due anew."""

    document: Mapping[str, Any]
    about: About
    when: Mapping[str, Any] | None
    notices: tuple[str, ...]

    @property
    def moved(self) -> bool:
        """Tell whether somebody should look at when the check is due."""
        return self.when is not None and self.when["kind"] != LIMIT_POINTS

    def put(self, control: dict[str, Any]) -> None:
        """Put it into the document of a control."""
        control["limit"] = dict(self.document)
        control["justification"] = self.about.justification
        control["figure_source"] = self.about.figure_source
        control["provenance"] = self.about.provenance
        control["parameter"] = self.about.parameter
        if self.when is not None:
            control["monitoring"]["when"] = dict(self.when)
            control.pop("points", None)  # points belong to a daily check, and this one is none any more
        for key in ("provenance", "parameter"):
            if not control[key]:
                del control[key]


def new_limit(
    plan: Plan, control: Control, document: Mapping[str, Any], about: About, around: Around
) -> NewLimit:
    """Work out what follows when a control is given a limit."""
    after = replace(control, limit=load(document))
    is_new = isinstance(control.limit, OpenLimit)
    figure_changed = is_new or limit_value(after) != limit_value(control)
    notices = []
    if figure_changed and _still_says_where(control, about) and about.provenance != OWN:
        about = replace(about, provenance=OWN)
        notices.append(_("The figure is now your own: it is no longer that of the source given before."))
    notices += _unconfirmed(plan, control, after, around)
    when, due = _when(control, after)
    return NewLimit(document, about, when, (*notices, *due))


def _still_says_where(control: Control, about: About) -> bool:
    """Tell whether source and provenance still read as they did for the old figure."""
    said = (about.figure_source, about.provenance)
    return said in (("", ""), (control.figure_source, control.provenance))


def _unconfirmed(plan: Plan, before: Control, after: Control, around: Around) -> list[str]:
    """Say which confirmations no longer hold: they were given for another value."""
    notices = []
    old, new = limit_value(before), limit_value(after)
    was_confirmed = before.is_ccp and (f"limit:{before.code}", old) in around.confirmed
    if was_confirmed and old != new:
        notices.append(_("The limit was confirmed before. That does not hold for the new one: confirm it."))
    controls = tuple(after if one.code == after.code else one for one in plan.controls)
    changed = replace(plan, controls=controls)
    if around.has_targets(plan) and targets_value(changed) != targets_value(plan):
        notices.append(_("The table of operating targets was signed before. It must be signed again."))
    return notices


def _when(before: Control, after: Control) -> tuple[dict[str, Any] | None, list[str]]:
    """Let the times of the check follow the limit; None when they may stay."""
    names_times, follows = isinstance(after.limit, ReachedBy), before.when.kind == LIMIT_POINTS
    if names_times == follows:
        return None, []
    if names_times:
        return {"kind": LIMIT_POINTS}, [_("The check is now due at the times the limit names.")]
    event, minutes = _first_time(before)
    when = {
        "kind": "after_event",
        "event": event,
        "after_minutes": minutes,
        "window_before_minutes": HOUR,
        "window_after_minutes": HOUR,
    }
    message = _(
        "The new limit names no times. The check is now due %(after)s after the event it counted from: "
        "look at it below."
    )
    return when, [message % {"after": duration_words(minutes)}]


def _first_time(control: Control) -> tuple[str, int]:
    """Give the event and the minutes of the first time of a limit that named its own."""
    if not isinstance(control.limit, ReachedBy):
        return STARTED, 0
    return control.limit.event, int(control.limit.due[0].hours * Decimal(HOUR))
