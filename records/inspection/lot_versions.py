"""Which plan version holds for a lot from when, on paper: its start, and each signed act that applied one."""

from django.utils.translation import gettext as _

from records.batches.models import Lot, PlanApplied
from records.batches.queries import applied_plans
from records.inspection.frame import Frame
from safetyplan.integrity import canonical
from safetyplan.printing.document import Block, Heading, KeepTogether, Text


def followed(frame: Frame, lot: Lot) -> str:
    """Say in one line which version holds from when."""
    words = [_("version %(number)d from the start of the lot") % {"number": lot.plan_version.number}]
    for row in applied(frame, lot):
        told = {"number": row.plan_version.number, "at": frame.time(row.recorded_at)}
        words.append(_("version %(number)d since %(at)s") % told)
    return "; ".join(words)


def applied(frame: Frame, lot: Lot) -> list[PlanApplied]:
    """Give the acts that applied a later version, as of the print."""
    return applied_plans(frame.establishment, [lot.pk], frame.as_of)[lot.pk]


def version_blocks(frame: Frame, lot: Lot) -> list[Block]:
    """Tell each act: why, what it changes in the checks of the lot, and who signed it; none, nothing."""
    blocks: list[Block] = []
    for row in applied(frame, lot):
        changes = canonical.loads(row.changes.encode())
        assert isinstance(changes, list)
        said = [
            _("Plan version %(number)d holds for this lot since %(at)s. Why: %(why)s")
            % {"number": row.plan_version.number, "at": frame.time(row.recorded_at), "why": row.reason},
            *changes,
        ]
        blocks.append(KeepTogether((*(Text(str(line)) for line in said), frame.signature(row))))
    return [Heading(_("Plan versions"), 1), *blocks] if blocks else []
