"""How far the ledger is known to be in a backup.

A device keeps what it sent until the server says that its copy is backed up. The command that makes and
checks a backup notes it here; before there is one, the answer is 0, and no device lets go of anything.
"""

from datetime import datetime

from safetyplan.establishments.models import Establishment
from safetyplan.integrity.models import BackedUp


def note_backed_up(*, establishment: Establishment, sequence: int, at: datetime) -> BackedUp:
    """Note that a backup which was read again holds every entry up to a sequence."""
    made = BackedUp(establishment=establishment, sequence=sequence, made_at=at)
    made.save(force_insert=True)
    return made


def backed_up_sequence(establishment: Establishment) -> int:
    """Give the sequence up to which the newest backup holds the ledger; 0 when there is none.

    The newest, not the largest: a backup that holds less, made after a disk was lost, is the one that counts.
    """
    newest = BackedUp.objects.of(establishment).order_by("-made_at", "-id").first()
    return newest.sequence if newest is not None else 0
