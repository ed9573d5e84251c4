"""Record seals: over everything so far, at the cost of what is new, by a key outside the database."""

import hashlib
from base64 import b64decode
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pytest_django import Settings

from safetyplan.establishments import kinds
from safetyplan.establishments.models import Establishment, EstablishmentOpening, Training
from safetyplan.integrity import canonical, guards, ledger, notes
from safetyplan.integrity.models import Entry, RecordSeal
from safetyplan.integrity.refusals import Refused
from safetyplan.integrity.seals import newest_seal, private_key, seal
from safetyplan.integrity.verification import verify
from safetyplan.integrity.verifier import Anchor, Frontier, parse_note, split_note
from tests.builders import T0, at, hours
from tests.cast import Cast, open_dairy


def record(cast: Cast, count: int) -> None:
    rows = [
        Training(person=cast.maker, trained_on=T0.date(), training_type=f"Course {n}", provider="")
        for n in range(count)
    ]
    items = [(kinds.TRAINING, row, None) for row in rows]
    ledger.append_many(establishment=cast.dairy, author=cast.owner, items=items)


def root_by_definition(leaves: list[bytes]) -> bytes:
    """MTH of RFC 6962 section 2.1: split at the largest power of two below n."""
    if len(leaves) == 1:
        return hashlib.sha256(b"\x00" + leaves[0]).digest()
    split = 1 << (len(leaves) - 1).bit_length() - 1
    left, right = root_by_definition(leaves[:split]), root_by_definition(leaves[split:])
    return hashlib.sha256(b"\x01" + left + right).digest()


def bodies(dairy: Establishment) -> list[bytes]:
    return [bytes(e.body) for e in Entry.objects.of(dairy).order_by("sequence")]


def test_a_seal_states_size_root_time_and_reason_of_everything_so_far(cast: Cast) -> None:
    with at(cast.dairy, hours(1)):
        made = seal(establishment=cast.dairy, reason="daily")
    note = parse_note(made.note)
    assert note.size == ledger.head(cast.dairy)[0] == made.size
    assert note.root == root_by_definition(bodies(cast.dairy)) == bytes.fromhex(made.root)
    assert (note.instant, note.reason) == (canonical.instant(hours(1)), "daily")
    assert (note.origin, note.demonstration) == (f"near/{cast.dairy.pk}", True)


def test_the_signature_is_that_of_the_key_in_the_first_entry(cast: Cast) -> None:
    made = seal(establishment=cast.dairy, reason="daily")
    key = EstablishmentOpening.objects.of(cast.dairy).get().public_key
    text, [(_name, data)] = split_note(made.note)
    Ed25519PublicKey.from_public_bytes(b64decode(key)).verify(data[4:], text.encode())
    assert key == notes.public_key_base64(private_key())


@pytest.mark.parametrize("steps", [[1, 1, 1], [7, 2, 30], [64, 1]])
def test_sealing_goes_on_from_the_last_seal_to_the_same_root(cast: Cast, steps: list[int]) -> None:
    for count in steps:
        record(cast, count)
        made = seal(establishment=cast.dairy, reason="daily")
        assert bytes.fromhex(made.root) == root_by_definition(bodies(cast.dairy))
    assert verify(cast.dairy) == []


def test_sealing_reads_only_the_entries_since_the_last_seal(cast: Cast) -> None:
    record(cast, 50)
    first = seal(establishment=cast.dairy, reason="daily")
    record(cast, 1)
    with CaptureQueriesContext(
        connection,
    ) as queries:
        seal(establishment=cast.dairy, reason="daily")
    since = [q["sql"] for q in queries if "safetyplan_entry" in q["sql"] and f"> {first.size}" in q["sql"]]
    assert len(since) == 1


def test_an_unchanged_ledger_keeps_the_seal_it_has_for_a_reason(cast: Cast) -> None:
    first = seal(establishment=cast.dairy, reason="daily")
    assert seal(establishment=cast.dairy, reason="daily").pk == first.pk
    other = seal(establishment=cast.dairy, reason="print")
    assert (other.pk != first.pk, other.root) == (True, first.root)
    record(cast, 1)
    assert seal(establishment=cast.dairy, reason="daily").size == first.size + 1


def test_an_establishment_without_entries_cannot_be_sealed(db: None) -> None:
    with pytest.raises(Refused, match="nothing to seal"):
        seal(establishment=Establishment.objects.create(slug="empty"), reason="daily")
    opened, _owner = open_dairy("opened", "owner")
    assert seal(establishment=opened, reason="daily").size == 3


def test_the_seal_of_a_real_dairy_does_not_say_invented(db: None) -> None:
    real, _owner = open_dairy("real", "owner", demonstration=False)
    invented, _owner = open_dairy("invented", "owner", demonstration=True)
    assert "invented demonstration" not in seal(establishment=real, reason="daily").note
    assert "\ninvented demonstration\n" in seal(establishment=invented, reason="daily").note


def test_a_seal_kept_outside_verifies_and_another_root_does_not(cast: Cast) -> None:
    kept = seal(establishment=cast.dairy, reason="daily")
    record(cast, 5)
    good = Anchor("the print", kept.size, bytes.fromhex(kept.root), kept.note)
    assert verify(cast.dairy, [good]) == []
    wrong = good._replace(expected=bytes(32))
    assert [found.code for found in verify(cast.dairy, [wrong])] == ["anchor"]
    beyond = good._replace(size=kept.size + 100)
    assert [(f.sequence, f.code) for f in verify(cast.dairy, [beyond])] == [(kept.size + 6, "cut_back")]


def test_a_seal_signed_by_another_key_is_found_at_its_size(cast: Cast) -> None:
    made = seal(establishment=cast.dairy, reason="daily")
    text, _signatures = split_note(made.note)
    name = EstablishmentOpening.objects.of(cast.dairy).get().key_name
    guards.remove(connection)
    forged = notes.sign_note(text, name, notes.new_private_key())
    RecordSeal._base_manager.filter(pk=made.pk).update(note=forged)
    assert [(f.sequence, f.code) for f in verify(cast.dairy)] == [(made.size, "seal")]
    own = notes.sign_note(text, name, private_key())
    RecordSeal._base_manager.filter(pk=made.pk).update(note=own)
    assert verify(cast.dairy) == []


def test_a_seal_moved_to_another_establishment_is_missed_where_it_was_made(cast: Cast) -> None:
    made = seal(establishment=cast.dairy, reason="daily")
    guards.remove(connection)
    RecordSeal._base_manager.filter(pk=made.pk).update(establishment=cast.other_dairy)
    assert [(f.sequence, f.code) for f in verify(cast.dairy)] == [(made.size, "seal")]


def test_the_frontier_kept_with_a_seal_is_that_of_its_tree(cast: Cast) -> None:
    record(cast, 9)
    made = seal(establishment=cast.dairy, reason="daily")
    frontier = Frontier.from_list(canonical.loads(made.frontier.encode()))
    assert (frontier.size, frontier.root().hex()) == (made.size, made.root)
    assert newest_seal(cast.dairy) == made


def test_a_key_file_that_others_can_read_does_not_seal(
    cast: Cast, settings: Settings, tmp_path: Path
) -> None:
    path = tmp_path / "seal_key.pem"
    notes.save_private_key(path, private_key())
    path.chmod(0o644)
    settings.SEAL_KEY_FILE = path
    with pytest.raises(notes.KeyFileError):
        seal(establishment=cast.dairy, reason="daily")
    path.chmod(0o600)
    assert seal(establishment=cast.dairy, reason="daily").size == ledger.head(cast.dairy)[0]
