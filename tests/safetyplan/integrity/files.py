"""Real SQLite files, opened as the project opens them, in place of the test run's own database."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from typing import Any

from django.db import DEFAULT_DB_ALIAS, connections, transaction
from django.db.backends.sqlite3.base import DatabaseWrapper

from safetyplan.establishments.models import Establishment
from safetyplan.integrity import ledger
from safetyplan.integrity.seals import seal
from safetyplan.settings import sqlite_options
from tests.builders import T0, a_reading, at, day_slot, hours, plan_in_force
from tests.cast import Cast, make_cast

SEALED_AT = (40, 80)
SIZE = 100


@contextmanager
def on_file(path: Path, **options: Any) -> Iterator[DatabaseWrapper]:
    """Let everything inside the block use this SQLite file."""
    entry = {
        **connections.settings[DEFAULT_DB_ALIAS],
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": str(path),
        "OPTIONS": {**sqlite_options(), **options},
    }
    usual = connections[DEFAULT_DB_ALIAS]
    wrapper = DatabaseWrapper(entry, DEFAULT_DB_ALIAS)
    connections[DEFAULT_DB_ALIAS] = wrapper
    try:
        yield wrapper
    finally:
        wrapper.close()
        connections[DEFAULT_DB_ALIAS] = usual


def record_some(cast: Cast, size: int) -> None:
    """Record readings until the ledger has so many entries."""
    sequence = ledger.head(cast.dairy)[0]
    for number in range(sequence, size):
        moment = hours(0.01 * number)
        with at(cast.dairy, moment):
            a_reading(cast, day_slot(T0, "PRP1", "extra"), moment, temperature=f"3.{number % 10}")


def make_ledger() -> Establishment:
    """Record a hundred entries, sealed at 40 and at 80."""
    with transaction.atomic():
        cast = make_cast()
        with at(cast.dairy, T0 - timedelta(days=1)):
            plan_in_force(cast)
        for size in SEALED_AT:
            record_some(cast, size)
            with at(cast.dairy, hours(0.01 * size)):
                seal(establishment=cast.dairy, reason="daily")
        record_some(cast, SIZE)
    return cast.dairy


def unguarded(path: Path) -> sqlite3.Connection:
    """Open a file as somebody with access to the disk does: no triggers, no constraints checked."""
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA synchronous = OFF")
    triggers = connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
    connection.execute("BEGIN")
    for (name,) in triggers:
        connection.execute(f"DROP TRIGGER {name}")
    connection.execute("COMMIT")
    return connection
