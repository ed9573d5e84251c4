"""System checks: every way the installation can be wrong has an id and a hint."""

import sqlite3
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, Warning, register
from django.db import connections

from safetyplan.integrity import guards
from safetyplan.settings import WAL_RESET_FAULT_FIXED


@register(Tags.security)
def secret_is_set(**kwargs: Any) -> list[CheckMessage]:
    """E001: there must be a secret key."""
    if settings.SECRET_KEY_IS_SET:
        return []
    return [
        Error(
            "There is no secret key.",
            hint="Run `manage.py start` once, or set SECRET_KEY or SECRET_KEY_FILE.",
            id="safetyplan.E001",
        )
    ]


@register(Tags.security)
def seal_key_is_private(**kwargs: Any) -> list[CheckMessage]:
    """E002: the key of the record seals must be readable by the service alone."""
    path = Path(settings.SEAL_KEY_FILE)
    if path.is_file() and path.stat().st_mode & 0o077:
        return [
            Error(
                f"The seal key {path.name} can be read by others.",
                hint=f"chmod 600 {path}",
                id="safetyplan.E002",
            )
        ]
    return []


@register()
def times_are_utc(**kwargs: Any) -> list[CheckMessage]:
    """E003: the server keeps time in UTC, with zone data at hand."""
    faults: list[CheckMessage] = []
    if not settings.USE_TZ or settings.TIME_ZONE != "UTC":
        faults.append(
            Error(
                "Times are not kept in UTC.", hint="Leave USE_TZ and TIME_ZONE alone.", id="safetyplan.E003"
            )
        )
    try:
        ZoneInfo("Europe/Dublin")
    except ZoneInfoNotFoundError:
        faults.append(Error("Time zone data is missing.", hint="pip install tzdata", id="safetyplan.E004"))
    return faults


@register(Tags.database)
def sqlite_is_durable(*, databases: Any = None, **kwargs: Any) -> list[CheckMessage]:
    """E005, W002: SQLite must be set so that an acknowledged record is on the disk."""
    found: list[CheckMessage] = []
    for alias in databases or []:
        connection = connections[alias]
        if connection.vendor != "sqlite":
            continue
        with connection.cursor() as cursor:
            pragma = {
                name: cursor.execute(f"PRAGMA {name}").fetchone()[0]
                for name in ("journal_mode", "synchronous", "recursive_triggers", "foreign_keys")
            }
        found += _sqlite_findings(pragma, str(connection.settings_dict["NAME"]))
    return found


def _sqlite_findings(pragma: dict[str, Any], name: str) -> list[CheckMessage]:
    found: list[CheckMessage] = []
    wal = pragma["journal_mode"] == "wal"
    if wal and sqlite3.sqlite_version_info < WAL_RESET_FAULT_FIXED:
        found.append(
            Error(
                f"SQLite {sqlite3.sqlite_version} can lose data with write-ahead logging.",
                hint="Use the journal mode DELETE (the default here), or SQLite 3.51.3 or newer.",
                id="safetyplan.E005",
            )
        )
    in_memory = "memory" in pragma["journal_mode"] or "mode=memory" in name
    if not in_memory and pragma["synchronous"] < (2 if wal else 3):
        found.append(
            Warning(
                "SQLite does not wait for the disk.",
                hint="PRAGMA synchronous=EXTRA with journal_mode DELETE, FULL with WAL.",
                id="safetyplan.W002",
            )
        )
    if not pragma["recursive_triggers"] or not pragma["foreign_keys"]:
        found.append(
            Warning(
                "SQLite lets REPLACE or a missing parent pass the guards.",
                hint="PRAGMA recursive_triggers=ON and foreign_keys=ON on every connection.",
                id="safetyplan.W003",
            )
        )
    return found


@register(Tags.database)
def guards_are_installed(*, databases: Any = None, **kwargs: Any) -> list[CheckMessage]:
    """W001: a warning, not an error, since an error would block the migrate that mends it."""
    found: list[CheckMessage] = []
    for alias in databases or []:
        connection = connections[alias]
        gone = guards.missing(connection)
        if gone:
            found.append(
                Warning(
                    f"{len(gone)} guards are missing from the database, first {gone[0]}.",
                    hint="Run `manage.py migrate`: it installs them again.",
                    id="safetyplan.W001",
                )
            )
    return found
