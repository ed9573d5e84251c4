"""Fixtures of the integrity tests: told dairies built once, and real database files to copy."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import transaction
from pytest_django import DjangoDbBlocker

from tests.remembering import told_again
from tests.safetyplan.integrity.every_kind import World, make_world, rolled_back
from tests.safetyplan.integrity.files import make_ledger, on_file


@pytest.fixture(scope="module")
def told(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[World]:
    """Tell the story in two dairies once; everything is undone at the end of the module."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield told_again("world", make_world)
        transaction.set_rollback(True)


@pytest.fixture
def every_kind(told: World, db: None) -> Iterator[World]:
    """Give two dairies with a row of every guarded table; what the test changes is undone."""
    with rolled_back():
        yield told


@pytest.fixture(scope="session")
def empty_file(tmp_path_factory: pytest.TempPathFactory, django_db_blocker: DjangoDbBlocker) -> Path:
    """Migrate a database file."""
    path = tmp_path_factory.mktemp("database") / "empty.sqlite3"
    with django_db_blocker.unblock(), on_file(path):
        call_command("migrate", verbosity=0)
    return path


@pytest.fixture(scope="session")
def ledger_file(empty_file: Path, django_db_blocker: DjangoDbBlocker) -> Path:
    """Make a file with a hundred entries, sealed at 40 and at 80; copy it before harming it."""
    path = empty_file.with_name("ledger.sqlite3")
    shutil.copy(empty_file, path)
    with django_db_blocker.unblock(), on_file(path):
        make_ledger()
    return path


@pytest.fixture(scope="session")
def told_file(empty_file: Path, django_db_blocker: DjangoDbBlocker) -> Path:
    """Make a file with a row in every guarded table; copy it before harming it."""
    path = empty_file.with_name("told.sqlite3")
    shutil.copy(empty_file, path)
    with django_db_blocker.unblock(), on_file(path), transaction.atomic():
        make_world()
    return path
