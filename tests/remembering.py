"""A set-up that many tests share is made once in a process; after that its statements are said again.

The rows are the same to the last byte, and the guards of the database check them as they check any others.
A set-up on top of another one (a plan on the cast) works when the one below it came from here too.
"""

import copy
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

from django.db import connection

T = TypeVar("T")

_NUMBERED = re.compile(r'INSERT INTO "(\w+)".* RETURNING "\w+"\."(\w+)"$', re.DOTALL)


@dataclass(frozen=True)
class _Said:
    """A statement that changed something; PostgreSQL's sequences do not go back when a test is undone."""

    sql: str
    params: Any
    sequence: str = ""
    number: int = 0


_told: dict[str, tuple[list[_Said], Any]] = {}


def told_again(name: str, make: Callable[[], T]) -> T:
    """Make what the tests begin with, or repeat the statements that made it before."""
    if name not in _told:
        statements: list[_Said] = []
        with connection.execute_wrapper(_Listener(statements)):
            made = make()
        _told[name] = statements, copy.deepcopy(made)
        return made
    statements, made = _told[name]
    with connection.cursor() as cursor:
        for said in statements:
            if said.sequence:
                cursor.execute("SELECT setval(%s, %s, false)", [said.sequence, said.number])
            cursor.execute(said.sql, said.params)
    return copy.deepcopy(made)


class _Listener:
    """Keeps what is written, in order."""

    def __init__(self, statements: list[_Said]) -> None:
        self.statements = statements

    def __call__(self, execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        """Run the statement; keep it when it changed something."""
        result = execute(sql, params, many, context)
        if sql.startswith(("INSERT", "UPDATE", "DELETE")):
            assert not many
            self.statements.append(_Said(sql, params, *_sequence_of(sql)))
        return result


def _sequence_of(sql: str) -> tuple[str, int]:
    numbered = _NUMBERED.match(sql)
    if connection.vendor != "postgresql" or numbered is None:
        return "", 0
    with connection.connection.cursor() as cursor:  # a raw one: this is no statement of the set-up
        cursor.execute("SELECT pg_get_serial_sequence(%s, %s)", numbered.groups())
        (sequence,) = cursor.fetchone()
        if sequence is None:
            return "", 0
        cursor.execute("SELECT currval(%s)", [sequence])
        return sequence, cursor.fetchone()[0]
