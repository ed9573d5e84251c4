"""Which checks a round answers: what was seen and needed no note."""

from collections.abc import Iterable
from datetime import date

from records.checks.models import RoundConfirmed
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import latest
from safetyplan.integrity import canonical


def checks_of(row: RoundConfirmed) -> list[dict[str, str]]:
    """Give the checks a round names: slot, control, name, point and limit of each."""
    found: list[dict[str, str]] = canonical.loads(row.checks.encode())
    return found


def rounds_of(
    establishment: Establishment, days: Iterable[date], as_of: int | None = None
) -> list[RoundConfirmed]:
    """Give the rounds of some days that stand, in one query; none for no day."""
    wanted = sorted(set(days))
    if not wanted:
        return []
    rows = latest(RoundConfirmed.objects.of(establishment), as_of).filter(day__in=wanted, voided=False)
    return list(rows.select_related("author").order_by("observed_at", "entry__sequence"))


def rounds_by_slot(
    establishment: Establishment, days: Iterable[date], as_of: int | None = None
) -> dict[str, RoundConfirmed]:
    """Give the round that answers each check of some days; the first one where there are two."""
    found: dict[str, RoundConfirmed] = {}
    for row in rounds_of(establishment, days, as_of):
        for check in checks_of(row):
            found.setdefault(check["slot"], row)
    return found
