"""The ledger: first entry, order, all or none, claims stored once, the demonstration's clock, open items."""

import json
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import IntegrityError, connection, transaction

from safetyplan.establishments import kinds
from safetyplan.establishments.models import Establishment, EstablishmentOpening, Person, Training
from safetyplan.integrity import canonical, clock, guards, index, ledger
from safetyplan.integrity.models import Entry, OpenItem, RefusedClaim
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.verification import verify
from safetyplan.integrity.verifier import leaf_hash
from tests.builders import T0, a_device, a_lot, at, day_slot, hours
from tests.cast import Cast, make_cast, open_dairy
from tests.safetyplan.integrity.every_kind import rolled_back


def training(cast: Cast, name: str = "Dairy hygiene") -> Training:
    return Training(person=cast.maker, trained_on=T0.date(), training_type=name, provider="")


def append(cast: Cast, row: Training, **more: Any) -> Entry:
    return ledger.append(kind=kinds.TRAINING, row=row, establishment=cast.dairy, author=cast.owner, **more)


def entries(dairy: Establishment) -> list[Entry]:
    return list(Entry.objects.of(dairy).order_by("sequence"))


def size(cast: Cast) -> int:
    return ledger.head(cast.dairy)[0]


def test_the_first_entry_opens_the_establishment_and_follows_zeros(cast: Cast) -> None:
    first = entries(cast.dairy)[0]
    said = first.document()
    assert (first.sequence, first.kind, first.previous_hash) == (1, "establishment_opened", "0" * 64)
    assert said["record"]["slug"] == cast.dairy.slug
    assert said["record"]["demonstration"] is True
    assert said["record"]["public_key"] == EstablishmentOpening.objects.of(cast.dairy).get().public_key


def test_every_entry_names_the_hash_of_the_one_before(cast: Cast) -> None:
    chain = entries(cast.dairy)
    assert [entry.sequence for entry in chain] == list(range(1, len(chain) + 1))
    for before, entry in pairwise(chain):
        assert entry.previous_hash == before.hash == leaf_hash(bytes(before.body)).hex()
        assert entry.document()["previous"] == before.hash


def test_each_establishment_has_a_ledger_of_its_own(cast: Cast) -> None:
    before = ledger.head(cast.other_dairy)
    append(cast, training(cast))
    assert ledger.head(cast.other_dairy) == before
    assert entries(cast.other_dairy)[0].sequence == entries(cast.dairy)[0].sequence == 1


def test_the_body_holds_what_the_row_holds_in_canonical_form(cast: Cast) -> None:
    row = training(cast, "Käse")
    entry = append(cast, row)
    said = canonical.loads(bytes(entry.body))
    assert said["record"] == {
        "person": str(cast.maker.pk),
        "trained_on": "2026-05-14",
        "training_type": "Käse",
        "provider": "",
    }
    assert (said["uuid"], said["author"], said["kind"]) == (str(row.pk), str(cast.owner.pk), "training")
    assert json.dumps(said, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode() == entry.body


def test_what_the_clock_records_has_the_clock_as_its_author(cast: Cast) -> None:
    entry = ledger.append(kind=kinds.TRAINING, row=training(cast), establishment=cast.dairy, author=None)
    assert entry.document()["author"] == "clock"


def test_several_records_are_appended_in_their_order(cast: Cast) -> None:
    start = size(cast)
    rows = [training(cast, f"Course {number}") for number in range(5)]
    made = ledger.append_many(
        establishment=cast.dairy, author=cast.owner, items=[(kinds.TRAINING, row, None) for row in rows]
    )
    assert [entry.sequence for entry in made] == list(range(start + 1, start + 6))
    assert [entry.pk for entry in made] == [row.pk for row in rows]
    assert verify(cast.dairy) == []


def test_of_several_records_all_are_stored_or_none(cast: Cast) -> None:
    start = size(cast)
    rows = [training(cast), training(cast), Training(person=cast.maker, training_type="No date")]
    items = [(kinds.TRAINING, row, None) for row in rows]
    with pytest.raises((IntegrityError, canonical.CanonicalError)):
        ledger.append_many(establishment=cast.dairy, author=cast.owner, items=items)
    assert (size(cast), Training.objects.of(cast.dairy).count()) == (start, 0)
    ledger.append_many(establishment=cast.dairy, author=cast.owner, items=items[:2])
    assert (size(cast), Training.objects.of(cast.dairy).count()) == (start + 2, 2)


def test_a_caller_that_fails_afterwards_leaves_no_entry(cast: Cast) -> None:
    start = ledger.head(cast.dairy)
    with pytest.raises(RuntimeError), transaction.atomic():
        _append_and_fail(cast)
    assert ledger.head(cast.dairy) == start
    append(cast, training(cast))
    assert size(cast) == start[0] + 1


def _append_and_fail(cast: Cast) -> None:
    append(cast, training(cast))
    raise RuntimeError


def test_the_order_is_that_of_the_sequence_whatever_the_clock_says(cast: Cast) -> None:
    moments = [hours(2), hours(1), hours(3), hours(1)]
    start = size(cast)
    for moment in moments:
        with at(cast.dairy, moment):
            append(cast, training(cast))
    recorded = [entry.document()["recorded_at"] for entry in entries(cast.dairy)[start:]]
    assert recorded == [canonical.instant(moment) for moment in moments]
    assert verify(cast.dairy) == []


def test_a_claim_is_stored_byte_for_byte_under_its_own_uuid(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        phone = a_device(working.dairy, working.maker)
        claim = phone.reading(day_slot(T0, "PRP1"), hours(0.4), temperature="3,5")
        accepted = phone.send(claim)
    body = accepted.entry.document()
    assert accepted.entry.pk == UUID(claim["uuid"])
    assert canonical.dumps(claim) in bytes(accepted.entry.body)
    assert (body["credential"], body["author"]) == (str(phone.credential.pk), str(working.maker.pk))


def test_a_claim_sent_twice_is_stored_once_and_answered_alike(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        phone = a_device(working.dairy, working.maker)
        claim = phone.reading(day_slot(T0, "PRP1"), hours(0.4), temperature="3.5")
        first = phone.send(claim)
        stored = size(working)
    with at(working.dairy, hours(1)):
        second = phone.send(claim)
    assert (first.duplicate, second.duplicate) == (False, True)
    assert size(working) == stored
    assert (second.receipt, second.signature) == (first.receipt, first.signature)


def test_another_claim_under_a_used_uuid_is_refused_and_kept(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        phone = a_device(working.dairy, working.maker)
        first = phone.reading(day_slot(T0, "PRP1"), hours(0.4), temperature="3.5")
        phone.send(first)
        stored = size(working)
        other = phone.reading(day_slot(T0, "PRP1"), hours(0.4), temperature="9.5")
        with pytest.raises(BadInput):
            phone.send({**other, "uuid": first["uuid"]})
        assert size(working) == stored
        assert RefusedClaim.objects.of(working.dairy).filter(claim_uuid=first["uuid"]).count() == 1
        phone.send(other)
        assert size(working) > stored


def test_an_entry_with_a_used_uuid_is_refused_by_the_database(cast: Cast) -> None:
    row = training(cast)
    append(cast, row)
    twin = training(cast)
    twin.entry_id = row.pk
    with pytest.raises(IntegrityError), transaction.atomic():
        append(cast, twin)
    twin.entry_id = uuid4()
    assert append(cast, twin).sequence == size(cast)


def test_only_a_demonstration_may_set_its_clock(db: None) -> None:
    real, _owner = open_dairy("real", "owner", demonstration=False)
    invented, _owner = open_dairy("invented", "owner", demonstration=True)
    with pytest.raises(Refused), clock.demonstration_clock(real, T0):
        pytest.fail("a real establishment has set its clock")
    with clock.demonstration_clock(invented, T0):
        assert clock.now(invented) == T0
        assert abs(clock.now(real) - datetime.now(UTC)) < timedelta(minutes=1)
    assert abs(clock.now(invented) - datetime.now(UTC)) < timedelta(minutes=1)


def test_turning_a_real_dairy_into_a_demonstration_is_found_at_its_first_entry(db: None) -> None:
    real = make_cast("real", demonstration=False).dairy
    assert verify(real) == []
    guards.remove(connection)
    Establishment.objects.filter(pk=real.pk).update(demonstration=True)
    found = verify(Establishment.objects.get(pk=real.pk))
    assert [(finding.sequence, finding.code) for finding in found] == [(1, "establishment")]


def test_an_entry_without_its_row_and_a_row_without_its_entry_are_found(cast: Cast) -> None:
    row = training(cast)
    entry = append(cast, row)
    append(cast, training(cast))
    guards.remove(connection)
    with transaction.atomic():
        Training._base_manager.filter(pk=row.pk)._raw_delete("default")
        assert (entry.sequence, "row") in codes(cast)
        transaction.set_rollback(True)
    with transaction.atomic():
        Entry._base_manager.filter(pk=row.pk)._raw_delete("default")
        assert {"sequence", "chain", "orphan"} <= {code for _at, code in codes(cast)}
        transaction.set_rollback(True)
    assert codes(cast) == []


def test_an_entry_of_a_kind_that_nobody_declared_is_found(cast: Cast) -> None:
    entry = append(cast, training(cast))
    guards.remove(connection)
    Entry._base_manager.filter(pk=entry.pk).update(kind="unheard_of")
    assert (entry.sequence, "kind") in codes(cast)


def codes(cast: Cast) -> list[tuple[int | None, str]]:
    return [(finding.sequence, finding.code) for finding in verify(cast.dairy)]


def test_the_list_of_open_items_is_compared_with_the_records(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        lot = a_lot(working)
    assert index.stored(working.dairy) == index.rebuilt(working.dairy) == {("lot", lot.pk, lot.pk)}
    assert codes(working) == []


@pytest.mark.parametrize("harm", ["forgotten", "invented", "another lot"])
def test_a_wrong_list_of_open_items_is_found_and_made_anew_after_an_update(working: Cast, harm: str) -> None:
    with at(working.dairy, hours(0.5)):
        lot = a_lot(working)
    items = OpenItem.objects.of(working.dairy)
    if harm == "forgotten":
        items.filter(subject=lot.pk).delete()
    elif harm == "invented":
        index.add(working.dairy, "deviation", lot.pk, lot.pk)
    else:
        items.update(lot=uuid4())
    assert set(codes(working)) == {(lot.entry.sequence, "index")}
    index.after_migrate(plan=[])
    assert set(codes(working)) == {(lot.entry.sequence, "index")}
    index.after_migrate(plan=["a migration"])
    assert codes(working) == []


@pytest.mark.skipif(
    connection.vendor != "sqlite", reason="SQLite only: PostgreSQL refuses what does not fit the column"
)
def test_an_open_item_that_cannot_be_compared_is_found_and_stops_nothing(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        lot = a_lot(working)
    guards.remove(connection)
    with rolled_back(), connection.cursor() as cursor:
        cursor.execute("UPDATE records_lot SET author_id = 'nonsense'")
        assert codes(working) == [(None, "index"), (lot.entry.sequence, "row")]
    assert codes(working) == []


def test_an_establishment_that_was_never_opened_has_no_ledger_and_says_so(db: None) -> None:
    nobody = Establishment.objects.create(slug="nobody")
    assert ledger.head(nobody) == (0, "0" * 64)
    assert [(found.sequence, found.code) for found in verify(nobody)] == [(1, "establishment")]


def test_nothing_is_read_without_naming_the_establishment(cast: Cast) -> None:
    for model in (Entry, Training, OpenItem):
        with pytest.raises(TypeError, match="establishment"):
            model.objects.count()
        assert model.objects.of(cast.dairy).count() >= 0
    assert Person.objects.count() >= 5
