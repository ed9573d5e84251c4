"""The index of open items: changed with the record it follows, rebuilt and compared by verification.

After an update it is made anew, for the update may count otherwise what is open.
"""

import logging
from collections.abc import Callable, Sequence
from typing import Any
from uuid import UUID

from django.core.exceptions import ObjectDoesNotExist
from django.db import connection, transaction

from safetyplan.establishments.models import Establishment
from safetyplan.integrity import ledger
from safetyplan.integrity.kinds import register
from safetyplan.integrity.models import OpenItem

Item = tuple[str, UUID, UUID | None]
Builder = Callable[[Establishment], set[Item]]
builders: list[Builder] = []
log = logging.getLogger("safetyplan.index")


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


def make_anew(establishment: Establishment) -> set[Item]:
    """Let the index say what the records say; give what it said wrongly."""
    with transaction.atomic():
        ledger.lock(establishment)
        before, now = stored(establishment), rebuilt(establishment)
        for what, subject in {(what, subject) for what, subject, _lot in before - now}:
            close(establishment, what, subject)
        for what, subject, lot in now:
            add(establishment, what, subject, lot)
    return before ^ now


def _tables_are_there() -> bool:
    """Tell whether everything is installed: somebody may migrate one application alone."""
    wanted = {Establishment._meta.db_table, *(model._meta.db_table for model in register.models())}
    return wanted <= set(connection.introspection.table_names())


def after_migrate(*, using: str = "default", plan: Sequence[Any] = (), **kwargs: Any) -> None:
    """Make the index of every establishment anew after an update of the tables."""
    if using != "default" or not plan or not _tables_are_there():
        return
    for establishment in Establishment.objects.order_by("slug"):
        try:
            wrong = make_anew(establishment)
        except (ValueError, TypeError, AttributeError, ArithmeticError, LookupError, ObjectDoesNotExist):
            log.exception(
                "the list of open items of %s cannot be made: verify its records", establishment.slug
            )
            continue
        if wrong:
            log.warning(
                "the list of open items of %s was made anew: %d changed", establishment.slug, len(wrong)
            )
