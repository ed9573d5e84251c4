"""Confirmations read back: who confirmed which figure, on what source, when; and the words printed of it.

The core is pure: it is given the records. `confirmed_words` reads them as they stood at a ledger sequence, so
that a print says later what it said when it was issued.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from safetyplan.calculation.open_limit import OpenLimit
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import details_of, names, until
from safetyplan.integrity import clock
from safetyplan.plans.figures import Figure, flow_value, limit_value, targets_value
from safetyplan.plans.models import FigureConfirmed, FlowConfirmed, TargetsConfirmed
from safetyplan.plans.parts import Control, Plan, Product, Validation

TARGETS = "targets"
FLOW = "flow:"


@dataclass(frozen=True)
class Given:
    """One confirmation as it was recorded.

    what: that of a `Figure`, or "targets", or "flow:<code of a product>". value: what it was given for.
    words: the figure as it then read. source: where it was read; of a flow, when and with whom it was walked.
    """

    what: str
    value: str
    words: str
    source: str
    who: str
    day: date


def standing(given: Sequence[Given], what: str, value: str) -> Given | None:
    """Find the newest confirmation of something as it now stands."""
    return next((one for one in reversed(given) if (one.what, one.value) == (what, value)), None)


def outdated(given: Sequence[Given], what: str, value: str) -> Given | None:
    """Find the newest confirmation that was given for another value than it now has."""
    return next((one for one in reversed(given) if one.what == what and one.value != value), None)


def of_control(plan: Plan, control: Control, given: Sequence[Given]) -> Given | None:
    """Find what confirms the limit of a control: its own figure, or the signed table of targets."""
    if isinstance(control.limit, OpenLimit):
        return None
    if not control.is_ccp:
        return standing(given, TARGETS, targets_value(plan))
    return standing(given, f"limit:{control.code}", limit_value(control))


def has_expired(validation: Validation, today: date) -> bool:
    """Tell whether the evidence is past its last day; on that day it still counts."""
    return bool(validation.valid_until) and validation.valid_until < today.isoformat()


def validation_words(validations: Sequence[Validation], today: date) -> str:
    """Write what evidence a control has: none, current, expired with its day."""
    if not validations:
        return _("not validated")
    said = []
    for validation in validations:
        text = validation.text.strip().rstrip(".")
        evidence = f"{text} ({validation.reference})" if validation.reference else text
        if has_expired(validation, today):
            expired = _("validation expired on %(day)s: %(evidence)s")
            said.append(expired % {"day": validation.valid_until, "evidence": evidence})
        else:
            said.append(_("validated: %(evidence)s") % {"evidence": evidence})
    return "; ".join(said)


def given_words(one: Given) -> str:
    """Write who confirmed, on what, when."""
    said = {"who": one.who, "source": one.source.strip().rstrip("."), "day": one.day.isoformat()}
    return _("figures confirmed by %(who)s on %(source)s, %(day)s") % said


def control_confirmed_words(plan: Plan, control: Control, given: Sequence[Given], today: date) -> str:
    """Write for one control what is printed beside its limit."""
    found = of_control(plan, control, given)
    if found is None:
        return _("figures not confirmed")
    return f"{given_words(found)}, {validation_words(plan.validations_of(control), today)}"


def words_by_control(plan: Plan, given: Sequence[Given], today: date) -> dict[str, str]:
    """Write what is printed beside each limit of the plan, by the code of its control."""
    return {control.code: control_confirmed_words(plan, control, given, today) for control in plan.controls}


def given_for(establishment: Establishment, as_of: int | None = None) -> list[Given]:
    """Give every confirmation of an establishment, oldest first, as things stood at a ledger sequence."""
    people = names(establishment, as_of)
    zone = ZoneInfo(details_of(establishment, as_of).time_zone)

    def day(at: datetime) -> date:
        return at.astimezone(zone).date()

    def who(row: FigureConfirmed) -> str:
        member = people.get(row.author_id)
        return member.printed_name if member else _("a person unknown here")

    read = [
        Given(row.what, row.figure, row.words, row.source, who(row), day(row.recorded_at))
        for row in until(FigureConfirmed.objects.of(establishment), as_of).order_by("entry__sequence")
    ]
    table = _("the signed table of operating targets")
    signed = [
        Given(TARGETS, row.table, "", table, row.signed_name, day(row.recorded_at))
        for row in until(TargetsConfirmed.objects.of(establishment), as_of).order_by("entry__sequence")
    ]
    walked = [
        Given(f"{FLOW}{row.product}", row.flow, "", row.note, row.signed_name, day(row.recorded_at))
        for row in until(FlowConfirmed.objects.of(establishment), as_of).order_by("entry__sequence")
    ]
    return [*read, *signed, *walked]


def confirmed_words(
    establishment: Establishment, plan: Plan, as_of: int | None = None, *, today: date | None = None
) -> dict[str, str]:
    """Write what is printed beside each limit of a plan; `today` is the day of the print."""
    if today is None:
        zone = ZoneInfo(details_of(establishment, as_of).time_zone)
        today = clock.now(establishment).astimezone(zone).date()
    return words_by_control(plan, given_for(establishment, as_of), today)


def figure_given(given: Sequence[Given], figure: Figure) -> Given | None:
    """Find the confirmation of a figure as it now stands."""
    return standing(given, figure.what, figure.value)


def flow_given(given: Sequence[Given], product: Product) -> Given | None:
    """Find who walked the flow of a product as it now stands."""
    return standing(given, f"{FLOW}{product.code}", flow_value(product))
