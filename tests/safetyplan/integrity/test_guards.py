"""Guards: every way to change, remove or misplace what is recorded is refused, on every guarded table.

Run with DATABASE_URL to try the same on PostgreSQL.
"""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.core import serializers
from django.db import IntegrityError, connection, models, transaction

from safetyplan.establishments.models import Establishment
from safetyplan.integrity import guards, ledger
from safetyplan.integrity.models import Entry, Recorded, RecordSeal, StoredFile
from safetyplan.integrity.seals import seal
from tests.safetyplan.integrity.every_kind import (
    MODELS,
    RECORDED,
    World,
    append_copy,
    copy_of,
    kind_of,
    names,
    rolled_back,
)

SQLITE = connection.vendor == "sqlite"
only_postgresql = pytest.mark.skipif(
    SQLITE, reason="PostgreSQL only: TRUNCATE and switched-off triggers are PostgreSQL's"
)
every_table = pytest.mark.parametrize("model", MODELS, ids=names(MODELS))
every_record = pytest.mark.parametrize("model", RECORDED, ids=names(RECORDED))
PLAIN_COLUMN = {Establishment: "slug", Entry: "kind", RecordSeal: "reason", StoredFile: "sha256"}


def plain_column(row: models.Model) -> str:
    return PLAIN_COLUMN.get(type(row), "claim_signature")


def changed(row: Any) -> Any:
    setattr(row, plain_column(row), "changed")
    return row


def columns_of(row: models.Model) -> tuple[str, str, str]:
    meta = row._meta
    assert meta.pk is not None
    quoted = [f'"{f.column}"' for f in meta.concrete_fields]
    return f'"{meta.db_table}"', ", ".join(quoted), f'"{meta.pk.column}"'


def key_value(row: models.Model) -> Any:
    assert row._meta.pk is not None
    return row._meta.pk.get_db_prep_value(row.pk, connection)


def run(sql: str, *values: Any) -> None:
    with connection.cursor() as cursor:
        cursor.execute(sql, values)


def save(row: Any) -> None:
    changed(row).save()


def delete(row: Any) -> None:
    row.delete()


def queryset_update(row: Any) -> None:
    type(row)._base_manager.filter(pk=row.pk).update(**{plain_column(row): "changed"})


def queryset_delete(row: Any) -> None:
    type(row)._base_manager.filter(pk=row.pk).delete()


def bulk_update(row: Any) -> None:
    type(row)._base_manager.bulk_update([changed(row)], [plain_column(row)])


def upsert(row: Any) -> None:
    type(row)._base_manager.bulk_create(
        [changed(row)],
        update_conflicts=True,
        unique_fields=[row._meta.pk.name],
        update_fields=[plain_column(row)],
    )


def raw_update(row: Any) -> None:
    table, _columns, key = columns_of(row)
    run(f'UPDATE {table} SET "{plain_column(row)}" = %s WHERE {key} = %s', "changed", key_value(row))


def raw_delete(row: Any) -> None:
    table, _columns, key = columns_of(row)
    run(f"DELETE FROM {table} WHERE {key} = %s", key_value(row))


def raw_replace(row: Any) -> None:
    table, columns, key = columns_of(row)
    again = f"INTO {table} ({columns}) SELECT {columns} FROM {table} WHERE {key} = %s"
    column = plain_column(row)
    other = f' ON CONFLICT ({key}) DO UPDATE SET "{column}" = EXCLUDED."{column}"'
    run(f"REPLACE {again}" if SQLITE else f"INSERT {again}{other}", key_value(row))


def fixture_with_a_used_key(row: Any) -> None:
    text = serializers.serialize("json", [changed(row)])
    for found in serializers.deserialize("json", text):
        found.save()


ATTEMPTS: list[Callable[[Any], None]] = [
    save,
    delete,
    queryset_update,
    queryset_delete,
    bulk_update,
    upsert,
    raw_update,
    raw_delete,
    raw_replace,
    fixture_with_a_used_key,
]


def stored(row: models.Model) -> Any:
    return type(row)._base_manager.filter(pk=row.pk).values().get()


def total(model: type[models.Model]) -> int:
    return model._base_manager.count()


@every_table
@pytest.mark.parametrize("attempt", ATTEMPTS, ids=[attempt.__name__ for attempt in ATTEMPTS])
def test_a_stored_row_is_neither_changed_nor_removed(
    every_kind: World, model: type[models.Model], attempt: Callable[[Any], None]
) -> None:
    row = every_kind.row(model)
    before, count = stored(row), total(model)
    with pytest.raises(IntegrityError, match=r"recorded:|protected foreign keys"), transaction.atomic():
        attempt(row)
    row.refresh_from_db()
    assert (stored(row), total(model)) == (before, count)


@only_postgresql
@every_table
def test_a_table_is_not_emptied(every_kind: World, model: type[models.Model]) -> None:
    run("SET CONSTRAINTS ALL IMMEDIATE")
    with pytest.raises(IntegrityError, match="recorded: truncate refused"), transaction.atomic():
        run(f'TRUNCATE "{model._meta.db_table}" CASCADE')
    assert total(model) >= 2


@every_record
def test_a_row_with_its_entry_is_taken(every_kind: World, model: type[Recorded]) -> None:
    before = total(model)
    twin = append_copy(every_kind.row(model))
    assert total(model) > before
    assert Entry._base_manager.get(pk=twin.pk).sequence == ledger.head(every_kind.dairy)[0]


@every_record
def test_a_row_without_its_entry_is_refused(every_kind: World, model: type[Recorded]) -> None:
    twin = copy_of(every_kind.row(model))
    with pytest.raises(IntegrityError, match="recorded:"), transaction.atomic():
        twin.save(force_insert=True)


@every_record
def test_a_row_with_an_entry_of_another_kind_is_refused(every_kind: World, model: type[Recorded]) -> None:
    twin = copy_of(every_kind.row(model))
    next_entry(every_kind.dairy, id=twin.entry_id, kind="another").save(force_insert=True)
    with pytest.raises(IntegrityError, match="needs its ledger entry first"), transaction.atomic():
        twin.save(force_insert=True)


@every_record
def test_a_row_with_an_entry_of_another_establishment_is_refused(
    every_kind: World, model: type[Recorded]
) -> None:
    row = every_kind.row(model)
    twin = copy_of(row)
    entry = next_entry(every_kind.other.dairy, id=twin.entry_id, kind=kind_of(row).name)
    entry.save(force_insert=True)
    with pytest.raises(IntegrityError, match="entry_id belongs to another"), transaction.atomic():
        twin.save(force_insert=True)


def scoped_keys(model: type[models.Model]) -> list[Any]:
    """Foreign keys to tables whose rows belong to one establishment, the entry's own apart."""
    keys = [f for f in model._meta.concrete_fields if f.remote_field and f.name != "entry"]
    return [
        f
        for f in keys
        if "establishment" in {other.name for other in f.remote_field.model._meta.concrete_fields}
    ]


CROSSINGS = [(model, f.name) for model in RECORDED for f in scoped_keys(model)]


@pytest.mark.parametrize(
    ("model", "name"), CROSSINGS, ids=[f"{model.__name__}-{name}" for model, name in CROSSINGS]
)
def test_a_foreign_key_into_another_establishment_is_refused(
    every_kind: World, model: type[Recorded], name: str
) -> None:
    f: Any = model._meta.get_field(name)
    row = every_kind.row(model)
    here = every_kind.row(f.remote_field.model)
    there = every_kind.row(f.remote_field.model, every_kind.other.dairy)
    with pytest.raises(IntegrityError, match=f"recorded: {f.column} belongs to"), transaction.atomic():
        append_copy(row, **{f.attname: there.pk})
    own = append_copy(row, **({} if f.unique else {f.attname: here.pk}))
    assert own.establishment_id == every_kind.dairy.pk


def test_every_guarded_record_can_point_elsewhere_only_within_its_establishment() -> None:
    assert {model for model, _name in CROSSINGS} == set(RECORDED)


def next_entry(dairy: Establishment, **changes: Any) -> Entry:
    sequence, previous = ledger.head(dairy)
    values: dict[str, Any] = {
        "id": uuid4(),
        "establishment": dairy,
        "sequence": sequence + 1,
        "kind": "training",
        "version": 1,
        "body": b"{}",
        "previous_hash": previous,
        "hash": "a" * 64,
    }
    return Entry(**{**values, **changes})


def test_an_entry_that_follows_the_newest_is_taken(every_kind: World) -> None:
    entry = next_entry(every_kind.dairy)
    entry.save(force_insert=True)
    assert ledger.head(every_kind.dairy) == (entry.sequence, "a" * 64)


@pytest.mark.parametrize("step", [-44, -1, 1, 2, 1000])
def test_an_entry_out_of_sequence_is_refused(every_kind: World, step: int) -> None:
    entry = next_entry(every_kind.dairy)
    entry.sequence += step
    with pytest.raises(IntegrityError, match="an entry must follow"), transaction.atomic():
        entry.save(force_insert=True)


@pytest.mark.parametrize("previous", ["0" * 64, "b" * 64, ""])
def test_an_entry_that_names_another_previous_hash_is_refused(every_kind: World, previous: str) -> None:
    entry = next_entry(every_kind.dairy, previous_hash=previous)
    with pytest.raises(IntegrityError, match="an entry must follow"), transaction.atomic():
        entry.save(force_insert=True)


@pytest.mark.parametrize(("sequence", "previous"), [(2, "0" * 64), (1, "a" * 64), (0, "0" * 64)])
def test_the_first_entry_is_number_one_and_follows_zeros(
    every_kind: World, sequence: int, previous: str
) -> None:
    new = Establishment.objects.create(slug="new")
    wrong = next_entry(new, sequence=sequence, previous_hash=previous)
    with pytest.raises(IntegrityError, match="an entry must follow"), transaction.atomic():
        wrong.save(force_insert=True)
    next_entry(new).save(force_insert=True)
    assert ledger.head(new)[0] == 1


def test_two_entries_in_one_statement_must_follow_each_other(every_kind: World) -> None:
    first = next_entry(every_kind.dairy)
    apart = next_entry(every_kind.dairy, sequence=first.sequence + 1)
    with pytest.raises(IntegrityError, match="an entry must follow"), transaction.atomic():
        Entry._base_manager.bulk_create([first, apart])
    apart.previous_hash = first.hash
    Entry._base_manager.bulk_create([first, apart])
    assert ledger.head(every_kind.dairy)[0] == apart.sequence


def test_a_seal_a_file_and_an_establishment_are_taken(every_kind: World) -> None:
    counts = [total(model) for model in (RecordSeal, StoredFile, Establishment)]
    seal(establishment=every_kind.dairy, reason="export")
    StoredFile(establishment=every_kind.dairy, sha256="c" * 64, content=b"c").save(force_insert=True)
    Establishment.objects.create(slug="new")
    assert [total(model) for model in (RecordSeal, StoredFile, Establishment)] == [n + 1 for n in counts]


def test_every_guard_is_in_the_database(every_kind: World) -> None:
    assert guards.missing(connection) == []
    assert guards.installed(connection) == set(guards.wanted(connection))


@pytest.mark.parametrize("model", MODELS, ids=names(MODELS))
def test_a_guard_that_was_dropped_is_missed_and_comes_back(
    every_kind: World, model: type[models.Model]
) -> None:
    table = model._meta.db_table
    on = "" if SQLITE else f" ON {table}"
    run(f"DROP TRIGGER guard_{table}_update{on}")
    assert guards.missing(connection) == [f"guard_{table}_update"]
    guards.install(connection)
    assert guards.missing(connection) == []


@only_postgresql
def test_a_guard_that_was_switched_off_is_missed(every_kind: World) -> None:
    run("SET CONSTRAINTS ALL IMMEDIATE")
    run("ALTER TABLE safetyplan_entry DISABLE TRIGGER guard_safetyplan_entry_update")
    assert guards.missing(connection) == ["guard_safetyplan_entry_update"]


def test_without_its_guards_the_database_takes_a_change(every_kind: World) -> None:
    row = every_kind.row(RecordSeal)
    with rolled_back():
        guards.remove(connection)
        queryset_update(row)
        assert stored(row)["reason"] == "changed"
    assert guards.missing(connection) == []
