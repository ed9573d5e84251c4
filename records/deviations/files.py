"""Documents attached as evidence: checked, kept under their SHA-256, named by a record."""

from django.db import transaction

from records.batches.models import Lot
from records.deviations.kinds import FILE_ATTACHED
from records.deviations.models import Deviation, FileAttached
from safetyplan.establishments.access import WRITERS, require_role
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity import ledger
from safetyplan.integrity.files import checked_evidence, keep_file, shown_name


def attach_file(
    *,
    establishment: Establishment,
    by: Person,
    name: str,
    content: bytes,
    deviation: Deviation | None = None,
    lot: Lot | None = None,
) -> FileAttached:
    """Attach a document to a deviation or a lot."""
    require_role(establishment, by, *WRITERS)
    kind, content = checked_evidence(content)
    with transaction.atomic():
        ledger.lock(establishment)
        row = FileAttached(
            deviation=deviation,
            lot=lot or (deviation.lot if deviation else None),
            name=shown_name(name),
            media_type=kind,
            size=len(content),
            sha256=keep_file(establishment, content),
        )
        ledger.append(kind=FILE_ATTACHED, row=row, establishment=establishment, author=by)
    return row
