"""What was confirmed of a plan, as an issue sees it: no later entry, days by the issue's own offsets."""

from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _

from records.inspection.frame import Frame
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import until
from safetyplan.plans.confirmations import TARGETS, Given
from safetyplan.plans.figures import flow_value, targets_value
from safetyplan.plans.models import FigureConfirmed, FlowConfirmed, PlanApproved, TargetsConfirmed
from safetyplan.plans.parts import Plan, Product

CONFIRMED: tuple[Any, ...] = (FigureConfirmed, TargetsConfirmed, FlowConfirmed)


def given(frame: Frame) -> list[Given]:
    """Give the confirmations of figures and targets, oldest first."""

    def name(row: FigureConfirmed) -> str:
        member = frame.people.get(row.author_id)
        return member.printed_name if member else _("a person unknown here")

    read = [
        Given(row.what, row.figure, row.words, row.source, name(row), frame.day(row.recorded_at))
        for row in _rows(frame, FigureConfirmed)
    ]
    table = _("the signed table of operating targets")
    signed = [
        Given(TARGETS, row.table, "", table, row.signed_name, frame.day(row.recorded_at))
        for row in _rows(frame, TargetsConfirmed)
    ]
    return [*read, *signed]


def _rows(frame: Frame, model: Any) -> Any:
    return until(model.objects.of(frame.establishment), frame.as_of).order_by("entry__sequence")


def targets_signed(frame: Frame, plan: Plan) -> TargetsConfirmed | None:
    """Find the newest signature on the operating targets as they stand in a plan."""
    found: TargetsConfirmed | None = _rows(frame, TargetsConfirmed).filter(table=targets_value(plan)).last()
    return found


def flow_walked(frame: Frame, product: Product) -> FlowConfirmed | None:
    """Find the newest confirmation on site of the flow of a product as it stands in a plan."""
    same = {"product": product.code, "flow": flow_value(product)}
    found: FlowConfirmed | None = _rows(frame, FlowConfirmed).filter(**same).last()
    return found


def first_moment(establishment: Establishment) -> datetime | None:
    """Give the earliest moment that the print of a plan may name."""
    firsts = [
        model.objects.of(establishment).order_by("recorded_at").values_list("recorded_at", flat=True).first()
        for model in (PlanApproved, *CONFIRMED)
    ]
    return min((at for at in firsts if at is not None), default=None)
