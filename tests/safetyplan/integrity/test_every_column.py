"""Verification names what was changed: each column of each guarded table, by raw SQL without the guards.

Run with DATABASE_URL to try the same on PostgreSQL.
"""

import os
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection, models

from records.checks.models import Reading
from safetyplan.establishments.models import Establishment
from safetyplan.integrity import guards, verification
from safetyplan.integrity.chain import any_text
from safetyplan.integrity.models import CanonicalTextField, Entry, Recorded, RecordSeal, StoredFile
from safetyplan.integrity.verification import verify
from safetyplan.integrity.verifier import Finding
from tests.safetyplan.integrity.every_kind import MODELS, World, names, rolled_back

# Numbers that the database gives to rows; no record names them and no export holds them.
BARE_NUMBERS = {(RecordSeal, "id"), (StoredFile, "id")}
NONSENSE = ("'nonsense'", "CAST(X'FF41' AS TEXT)", "X'00FF'")
SOAK = os.environ.get("SOAK") == "1"
SPOILT = MODELS if SOAK else [model for n, model in enumerate(MODELS) if n % 4 == 0 or model is Reading]
HEXADECIMAL = {"hash", "previous_hash", "root", "sha256"}


@pytest.fixture(scope="module")
def unguarded(told: World) -> Iterator[World]:
    """Give the two dairies with every guard dropped.

    The list of open items is left out: each change must be found without its help.
    """
    with rolled_back(), pytest.MonkeyPatch.context() as patch:
        patch.setattr(verification, "_check_index", lambda establishment: ())
        guards.remove(connection)
        yield told


def another(f: Any, value: Any) -> Any:
    """Give a value that a person with access to the database might write instead."""
    if isinstance(f, models.ForeignKey | models.UUIDField):
        return uuid4()
    if isinstance(f, models.BooleanField):
        return not value
    if isinstance(f, models.BinaryField):
        return bytes([value[0] ^ 1]) + bytes(value[1:])
    if isinstance(f, models.DateField):
        step = timedelta(milliseconds=1) if isinstance(f, models.DateTimeField) else timedelta(days=1)
        return (value or date(2030, 1, 1)) + step
    if isinstance(f, models.IntegerField):
        return (value or 0) + 1000
    if isinstance(f, CanonicalTextField):
        return '{"uuid":"another"}' if value is None else '["another"]'
    if f.name in HEXADECIMAL:
        return ("0" if value[0] != "0" else "1") + value[1:]
    return f"{value[:-1]}~" if value else "~"


def write(row: models.Model, f: Any, value: Any) -> None:
    key: Any = row._meta.pk
    with connection.cursor() as cursor:
        cursor.execute(
            f'UPDATE "{row._meta.db_table}" SET "{f.column}" = %s WHERE "{key.column}" = %s',
            [f.get_db_prep_value(value, connection), key.get_db_prep_value(row.pk, connection)],
        )
        assert cursor.rowcount == 1


def findings(dairy: Establishment | None = None) -> list[Finding]:
    """Verify every establishment as the database gives it, the given one first; stop at what is found."""
    with any_text():
        listed = list(Establishment.objects.order_by("slug"))
    found: list[Finding] = []
    for each in sorted(listed, key=lambda each: each != dairy):
        found = found or verify(each)
    return found


def sequences_of(row: Any) -> set[int]:
    """Give the sequences that may be named for a row: its own; for a file, those of the records naming it."""
    if isinstance(row, Establishment):
        return {1}
    if isinstance(row, RecordSeal):
        return {row.size}
    if isinstance(row, StoredFile):
        naming = [model for model in MODELS if "sha256" in {f.name for f in model._meta.concrete_fields}]
        found = [r for model in naming for r in model._base_manager.filter(sha256=row.sha256)]
        return {r.entry.sequence for r in found if isinstance(r, Recorded)}
    return {row.sequence if isinstance(row, Entry) else row.entry.sequence}


def rows_to_change(world: World, model: type[models.Model]) -> list[Any]:
    rows = world.rows(model, world.dairy)
    # Two seals and two entries: one in the middle of the ledger and the newest.
    if model is Entry:
        return sorted(rows, key=lambda entry: entry.sequence)[20::23]
    return [rows[0], rows[-1]] if model is RecordSeal else [world.row(model)]


def shared_columns(model: type[models.Model]) -> set[str]:
    """Name the columns that every record has; without the soak they are tried on a reading alone."""
    left = not SOAK and model is not Reading and issubclass(model, Recorded)
    return {f.name for f in Recorded._meta.fields} if left else set()


def columns_to_change(model: type[models.Model]) -> list[Any]:
    kept = [f for f in model._meta.concrete_fields if f.name not in shared_columns(model)]
    return [f for f in kept if (model, f.name) not in BARE_NUMBERS]


def test_the_story_verifies_before_anything_is_changed(unguarded: World, db: None) -> None:
    assert findings() == []


@pytest.mark.parametrize("model", MODELS, ids=names(MODELS))
def test_a_change_of_any_column_is_found_at_its_sequence(
    unguarded: World, db: None, model: type[models.Model]
) -> None:
    missed = []
    for row in rows_to_change(unguarded, model):
        wanted = sequences_of(row)
        for f in columns_to_change(model):
            with rolled_back():
                write(row, f, another(f, getattr(row, f.attname)))
                named = {found.sequence for found in findings(unguarded.dairy)}
            if not named & wanted:
                missed.append(f"{f.column}: expected {wanted}, found {named}")
    assert missed == []


@pytest.mark.parametrize(("model", "name"), sorted(BARE_NUMBERS, key=str))
def test_the_bare_number_of_a_seal_or_file_says_nothing(
    unguarded: World, db: None, model: type[models.Model], name: str
) -> None:
    row = unguarded.row(model)
    with rolled_back():
        write(row, model._meta.get_field(name), row.pk + 1000)
        assert findings() == []


def readable_columns(model: type[models.Model]) -> list[Any]:
    """Give the columns to spoil."""
    shared = shared_columns(model)
    kept = BARE_NUMBERS | {(Establishment, "id")}  # nobody can ask to verify an establishment without its key
    # SQLite's adapter gives False for anything but 1, so nonsense in a yes-or-no column is no other value.
    yes_or_no = {f.name for f in model._meta.concrete_fields if isinstance(f, models.BooleanField)}
    fields = [f for f in model._meta.concrete_fields if f.name not in shared | yes_or_no | {"entry"}]
    return [f for f in fields if (model, f.name) not in kept]


@pytest.mark.skipif(
    connection.vendor != "sqlite", reason="SQLite only: PostgreSQL refuses what does not fit the column"
)
@pytest.mark.parametrize("model", SPOILT, ids=names(SPOILT))
def test_a_column_that_cannot_be_read_is_found_at_its_sequence(
    unguarded: World, db: None, model: type[models.Model]
) -> None:
    missed = []
    row = unguarded.row(model)
    wanted = sequences_of(row)
    columns = readable_columns(model)
    spoilt = [(f, nonsense) for f in columns for nonsense in NONSENSE]
    rotating = [(f, NONSENSE[number % len(NONSENSE)]) for number, f in enumerate(columns)]
    for f, nonsense in spoilt if SOAK else rotating:
        with rolled_back(), connection.cursor() as cursor:
            sql = f'UPDATE OR IGNORE "{row._meta.db_table}" SET "{f.column}" = {nonsense}'
            key: Any = row._meta.pk
            cursor.execute(f'{sql} WHERE "{key.column}" = %s', [key.get_db_prep_value(row.pk, connection)])
            changed = cursor.rowcount
            named = {found.sequence for found in findings(unguarded.dairy)}
        if changed and not named & wanted:
            missed.append(f"{f.column} {nonsense}: expected {wanted}, found {named}")
    assert missed == []


def test_every_column_of_the_guarded_tables_has_a_known_type() -> None:
    for model in MODELS:
        for f in model._meta.concrete_fields:
            example: Any = datetime(2026, 5, 14) if isinstance(f, models.DateField) else b"ab"  # noqa: DTZ001
            example = 1 if isinstance(f, models.IntegerField | models.BooleanField) else example
            example = "ab" if isinstance(f, models.CharField | models.TextField) else example
            assert another(f, example) != example
