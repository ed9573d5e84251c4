"""Database triggers that refuse to change, remove or misplace what is recorded.

They stop accidents; the ledger detects intent. SQLite drops triggers silently when it rebuilds a
table, so they are taken off before a migration, installed again after every migrate and counted at
start.
"""

from collections.abc import Iterable, Sequence
from typing import Any

from django.db import models, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models.signals import pre_migrate
from django.dispatch import receiver

from safetyplan.integrity.kinds import register
from safetyplan.integrity.models import Entry, Recorded, RecordSeal, StoredFile

PREFIX = "guard_"


def guarded_models() -> list[type[models.Model]]:
    """Give every guarded table: the ledger, the seals, the files and each kind's rows."""
    from safetyplan.establishments.models import Establishment

    return [Establishment, Entry, RecordSeal, StoredFile, *register.models()]


def _kinds_of(model: type[models.Model]) -> list[str]:
    return sorted({kind.name for kind in register.all() if kind.model is model})


def _scoped_keys(model: type[models.Model]) -> Iterable[tuple[str, str, str]]:
    """Give (column, table, key) of each foreign key to a table that belongs to an establishment."""
    for f in model._meta.concrete_fields:
        target = f.remote_field.model if f.remote_field else None
        if target is None or not any(t.name == "establishment" for t in target._meta.concrete_fields):
            continue
        yield f.column, target._meta.db_table, target._meta.pk.column


def conditions(model: type[models.Model]) -> list[tuple[str, str, str]]:
    """Give (name, SQL that is true when the new row must be refused, message) for a table's inserts."""
    found = []
    if issubclass(model, Entry):
        newest = (
            f"(SELECT e.sequence FROM {Entry._meta.db_table} e WHERE e.establishment_id = "
            "NEW.establishment_id ORDER BY e.sequence DESC LIMIT 1)"
        )
        newest_hash = newest.replace("e.sequence FROM", "e.hash FROM")
        found.append(
            (
                "order",
                f"NEW.sequence <> COALESCE({newest}, 0) + 1 "
                f"OR NEW.previous_hash <> COALESCE({newest_hash}, '{'0' * 64}')",
                "an entry must follow the newest one",
            )
        )
    for column, table, key in _scoped_keys(model):
        found.append(
            (
                f"scope_{column}",
                f"NEW.{column} IS NOT NULL AND NOT EXISTS (SELECT 1 FROM {table} t WHERE t.{key} = "
                f"NEW.{column} AND t.establishment_id = NEW.establishment_id)",
                f"{column} belongs to another establishment or is not there",
            )
        )
    if issubclass(model, Recorded):
        names = ", ".join(f"'{name}'" for name in _kinds_of(model))
        found.append(
            (
                "entry",
                f"NOT EXISTS (SELECT 1 FROM {Entry._meta.db_table} e WHERE e.id = NEW.entry_id "
                f"AND e.kind IN ({names}))",
                "a record needs its ledger entry first",
            )
        )
    return found


def _sqlite(model: type[models.Model]) -> dict[str, str]:
    table = model._meta.db_table
    made = {
        f"{PREFIX}{table}_{act}": f"CREATE TRIGGER {PREFIX}{table}_{act} BEFORE {act.upper()} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, 'recorded: {act} refused on {table}'); END"
        for act in ("update", "delete")
    }
    for name, condition, message in conditions(model):
        made[f"{PREFIX}{table}_{name}"] = (
            f"CREATE TRIGGER {PREFIX}{table}_{name} BEFORE INSERT ON {table} WHEN {condition} "
            f"BEGIN SELECT RAISE(ABORT, 'recorded: {message}'); END"
        )
    return made


def _postgresql(model: type[models.Model]) -> dict[str, str]:
    table = model._meta.db_table
    made = {
        f"{PREFIX}{table}_{act}": f"CREATE TRIGGER {PREFIX}{table}_{act} BEFORE {act.upper()} ON {table} "
        f"FOR EACH {'STATEMENT' if act == 'truncate' else 'ROW'} "
        f"EXECUTE FUNCTION guard_refuse('recorded: {act} refused on {table}')"
        for act in ("update", "delete", "truncate")
    }
    for name, condition, message in conditions(model):
        function = f"{PREFIX}{table}_{name}"
        made[function] = (
            f"CREATE OR REPLACE FUNCTION {function}() RETURNS trigger LANGUAGE plpgsql AS $body$ BEGIN "
            f"IF {condition} THEN RAISE EXCEPTION 'recorded: {message}' USING ERRCODE = "
            "'integrity_constraint_violation'; END IF; RETURN NEW; END $body$; "
            f"CREATE TRIGGER {function} BEFORE INSERT ON {table} FOR EACH ROW EXECUTE FUNCTION {function}()"
        )
    return made


REFUSE_FUNCTION = (
    "CREATE OR REPLACE FUNCTION guard_refuse() RETURNS trigger LANGUAGE plpgsql AS $body$ BEGIN "
    "RAISE EXCEPTION '%', TG_ARGV[0] USING ERRCODE = 'integrity_constraint_violation'; END $body$"
)


def wanted(connection: BaseDatabaseWrapper) -> dict[str, tuple[str, str]]:
    """Give each guard's name with its table and the SQL that makes it."""
    make = _sqlite if connection.vendor == "sqlite" else _postgresql
    return {
        name: (model._meta.db_table, sql) for model in guarded_models() for name, sql in make(model).items()
    }


def _present(connection: BaseDatabaseWrapper) -> list[tuple[str, str, bool]]:
    """Give each guard in the database: its name, its table, whether it is switched on."""
    query = {
        "sqlite": "SELECT name, tbl_name, 1 FROM sqlite_master WHERE type = 'trigger' "
        "AND name LIKE 'guard_%'",
        "postgresql": "SELECT tgname, relname, tgenabled = 'O' FROM pg_trigger t JOIN pg_class c "
        "ON c.oid = tgrelid WHERE NOT tgisinternal AND tgname LIKE 'guard_%'",
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(query)
        return [(name, table, bool(on)) for name, table, on in cursor.fetchall()]


def installed(connection: BaseDatabaseWrapper) -> set[str]:
    """Give the names of the guards that are in the database and switched on."""
    return {name for name, _table, on in _present(connection) if on}


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """Name the guards that should be in the database and are not."""
    return sorted(set(wanted(connection)) - installed(connection))


def install(connection: BaseDatabaseWrapper) -> None:
    """Make every guard whose table exists anew; one that is no longer wanted goes."""
    remove(connection)
    tables = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(REFUSE_FUNCTION)
        for table, sql in wanted(connection).values():
            if table in tables:
                cursor.execute(sql)


def remove(connection: BaseDatabaseWrapper) -> None:
    """Drop every guard: before a migration, and in tests of what the ledger detects without them."""
    with connection.cursor() as cursor:
        for name, table, _on in _present(connection):
            on = f" ON {table}" if connection.vendor == "postgresql" else ""
            cursor.execute(f"DROP TRIGGER IF EXISTS {name}{on}")


@receiver(pre_migrate, dispatch_uid="guards_before")
def before_migrate(*, using: str, plan: Sequence[object] = (), **kwargs: Any) -> None:
    """Take the guards off before a migration runs on SQLite.

    SQLite refuses to rename a rebuilt table while the trigger of another table names it.
    """
    from django.db import connections

    if plan and connections[using].vendor == "sqlite":
        remove(connections[using])


def after_migrate(*, using: str = "default", **kwargs: Any) -> None:
    """Install the guards again; called after every migrate."""
    from django.db import connections

    with transaction.atomic(using=using):
        install(connections[using])
