"""Guards after a migration that rebuilds their tables, on a real SQLite file.

SQLite changes a column by building the table anew, and drops its triggers without a word.
"""

import os
import shutil
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import IntegrityError, OperationalError, connections, models, transaction
from django.test import override_settings
from pytest_django import DjangoDbBlocker

from safetyplan.establishments.models import Establishment, Training
from safetyplan.integrity import guards
from safetyplan.integrity.models import Entry
from safetyplan.integrity.verification import verify
from tests.safetyplan.integrity.every_kind import MODELS, append_copy, names
from tests.safetyplan.integrity.files import on_file
from tests.safetyplan.integrity.rebuild import MODULE, widened

APPS = ("safetyplan", "records")
TRIED = MODELS if os.environ.get("SOAK") == "1" else MODELS[::6]


@pytest.fixture
def copied(told_file: Path, tmp_path: Path, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """Use a copy of the file that has a row in every guarded table."""
    path = shutil.copy(told_file, tmp_path / "copy.sqlite3")
    with django_db_blocker.unblock(), on_file(path):
        yield


def later_migrations(folder: Path) -> dict[str, str]:
    """Copy each app's migrations and add one that rebuilds the guarded tables."""
    found = {}
    for app in APPS:
        source = Path(str(import_module(f"{app}.migrations").__file__)).parent
        package = f"later_{app}_migrations"
        shutil.copytree(source, folder / package, ignore=shutil.ignore_patterns("__pycache__"))
        last = max(path.stem for path in source.glob("[0-9]*.py"))
        (folder / package / "9000_rebuild.py").write_text(MODULE.format(app=app, last=last))
        found[app] = package
    return found


@pytest.fixture(scope="module")
def migrated_file(
    told_file: Path, tmp_path_factory: pytest.TempPathFactory, django_db_blocker: DjangoDbBlocker
) -> Path:
    """Run a migration that rebuilds every guarded table on a file with rows."""
    folder = tmp_path_factory.mktemp("migrated")
    path = Path(shutil.copy(told_file, folder / "migrated.sqlite3"))
    with pytest.MonkeyPatch.context() as patch, django_db_blocker.unblock(), on_file(path):
        patch.syspath_prepend(folder)
        with override_settings(MIGRATION_MODULES=later_migrations(folder)):
            call_command("migrate", verbosity=0)
    return path


def guards_of(model: type[models.Model]) -> set[str]:
    wanted = guards.wanted(connections["default"])
    return {name for name, (table, _sql) in wanted.items() if table == model._meta.db_table}


def rebuild(model: type[models.Model]) -> None:
    field, wider = widened(model)
    wider.set_attributes_from_name(field.name)
    wider.model = model
    with connections["default"].schema_editor() as editor:
        editor.alter_field(model, field, wider)


def test_rebuilding_a_table_drops_its_triggers(copied: None) -> None:
    assert guards.missing(connections["default"]) == []
    rebuild(Training)
    assert set(guards.missing(connections["default"])) == guards_of(Training)
    Training._base_manager.update(provider="changed")
    assert Training._base_manager.filter(provider="changed").exists()


def test_a_table_that_other_guards_name_cannot_be_rebuilt_under_them(copied: None) -> None:
    with pytest.raises((OperationalError, IntegrityError)):
        rebuild(Entry)


def test_a_table_that_other_guards_name_is_rebuilt_when_they_are_taken_off_before(copied: None) -> None:
    guards.before_migrate(using="default", plan=[object()])
    rebuild(Entry)
    assert guards.installed(connections["default"]) == set()


def test_a_migrate_without_anything_to_do_leaves_the_guards_alone(copied: None) -> None:
    guards.before_migrate(using="default", plan=[])
    assert guards.missing(connections["default"]) == []


@pytest.mark.parametrize("model", TRIED, ids=names(TRIED))
def test_after_a_migration_that_rebuilt_the_table_changes_are_still_refused(
    migrated_file: Path, django_db_blocker: DjangoDbBlocker, model: type[models.Model]
) -> None:
    with django_db_blocker.unblock(), on_file(migrated_file):
        row = model._base_manager.first()
        assert row is not None
        with pytest.raises(IntegrityError, match="recorded: update refused"), transaction.atomic():
            row.save()
        with pytest.raises(IntegrityError, match="recorded: delete refused"), transaction.atomic():
            model._base_manager.filter(pk=row.pk)._raw_delete("default")


def test_after_a_migration_that_rebuilt_the_tables_records_are_taken_and_verify(
    migrated_file: Path, tmp_path: Path, django_db_blocker: DjangoDbBlocker
) -> None:
    path = shutil.copy(migrated_file, tmp_path / "copy.sqlite3")
    with django_db_blocker.unblock(), on_file(path) as connection:
        column = Training._meta.db_table
        with connection.cursor() as cursor:
            made = cursor.execute("SELECT sql FROM sqlite_master WHERE name = %s", [column]).fetchone()
        assert str(widened(Training)[1].max_length) in made[0]
        assert guards.missing(connection) == []
        append_copy(Training._base_manager.first())
        assert [verify(dairy) for dairy in Establishment.objects.all()] == [[], [], [], []]


def test_the_apps_of_the_migration_hold_every_guarded_table() -> None:
    assert {model._meta.app_label for model in MODELS} == set(APPS)
    assert set(APPS) < {app.split(".")[0] for app in settings.INSTALLED_APPS}
