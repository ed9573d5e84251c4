"""The index of open items: changed with the record it follows, rebuilt and compared by verification."""

from collections.abc import Callable
from uuid import UUID

from safetyplan.establishments.models import Establishment
from safetyplan.integrity.models import OpenItem

Item = tuple[str, UUID, UUID | None]
Builder = Callable[[Establishment], set[Item]]
builders: list[Builder] = []


def add(establishment: Establishment, what: str, subject: UUID, lot: UUID | None) -> None:
    """Note that something is open; what concerns several lots is noted for each of them."""
    rows = OpenItem.objects.of(establishment).filter(what=what, subject=subject)
    same = rows.filter(lot__isnull=True) if lot is None else rows.filter(lot=lot)
    if not same.exists():
        OpenItem.objects.create(establishment=establishment, what=what, subject=subject, lot=lot)


def close(establishment: Establishment, what: str, subject: UUID) -> None:
    """Note that something is no longer open, for any lot."""
    OpenItem.objects.of(establishment).filter(what=what, subject=subject).delete()


def stored(establishment: Establishment) -> set[Item]:
    """Give what the index says."""
    return set(OpenItem.objects.of(establishment).values_list("what", "subject", "lot"))


def rebuilt(establishment: Establishment) -> set[Item]:
    """Give what the records say."""
    found: set[Item] = set()
    for build in builders:
        found |= build(establishment)
    return found
