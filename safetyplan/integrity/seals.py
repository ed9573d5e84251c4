"""Record seals: a signed note over the size and Merkle root of an establishment's ledger.

The frontier of the tree is kept with each seal, so sealing costs only what is new.
"""

from functools import lru_cache
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.conf import settings
from django.db import transaction

from safetyplan.establishments.models import Establishment, EstablishmentOpening
from safetyplan.integrity import canonical, clock, ledger, notes
from safetyplan.integrity.models import Entry, RecordSeal
from safetyplan.integrity.refusals import Refused
from safetyplan.integrity.verifier import Frontier


@lru_cache(maxsize=4)
def _load(path: Path) -> Ed25519PrivateKey:
    return notes.load_private_key(path)


def private_key() -> Ed25519PrivateKey:
    """Give the installation's key; made by `start` and `demo`, kept outside the database."""
    return _load(Path(settings.SEAL_KEY_FILE))


def opening_of(establishment: Establishment) -> EstablishmentOpening:
    """Give the first record of an establishment."""
    opening: EstablishmentOpening = EstablishmentOpening.objects.of(establishment).get()
    return opening


def newest_seal(establishment: Establishment) -> RecordSeal | None:
    """Give the newest seal of an establishment."""
    return RecordSeal.objects.of(establishment).order_by("-size", "-id").first()


def frontier_at(establishment: Establishment, size: int, start: RecordSeal | None) -> Frontier:
    """Give the tree's frontier over the first `size` entries, going on from an earlier seal."""
    frontier = Frontier()
    if start is not None:
        frontier = Frontier.from_list(canonical.loads(start.frontier.encode()))
    hashes = (
        Entry.objects.of(establishment)
        .filter(sequence__gt=frontier.size, sequence__lte=size)
        .order_by("sequence")
        .values_list("hash", flat=True)
    )
    for value in hashes.iterator(chunk_size=5000):
        frontier.push(bytes.fromhex(value))
    return frontier


def note_text(*, origin: str, size: int, root: bytes, at: str, reason: str, demonstration: bool) -> str:
    """Compose the text of a seal's note."""
    from base64 import b64encode

    lines = [origin, str(size), b64encode(root).decode(), at, f"reason {reason}"]
    if demonstration:
        lines.append("invented demonstration")
    return "\n".join(lines) + "\n"


def seal(*, establishment: Establishment, reason: str) -> RecordSeal:
    """Seal everything recorded so far; an unchanged ledger keeps the seal it has for this reason."""
    with transaction.atomic():
        ledger.lock(establishment)
        size, _hash = ledger.head(establishment)
        if size == 0:
            raise Refused("There is nothing to seal yet.")
        last = newest_seal(establishment)
        same = RecordSeal.objects.of(establishment).filter(size=size, reason=reason).first()
        if same is not None:
            return same
        frontier = frontier_at(establishment, size, last)
        opening = opening_of(establishment)
        at = clock.now(establishment)
        text = note_text(
            origin=opening.key_name,
            size=size,
            root=frontier.root(),
            at=canonical.instant(at),
            reason=reason,
            demonstration=establishment.demonstration,
        )
        made = RecordSeal(
            establishment=establishment,
            size=size,
            root=frontier.root().hex(),
            sealed_at=at,
            reason=reason,
            note=notes.sign_note(text, opening.key_name, private_key()),
            frontier=canonical.dumps(frontier.to_list()).decode(),
        )
        made.save(force_insert=True)
        return made
