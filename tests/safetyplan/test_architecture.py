"""How the code is laid out: sizes, imports, scoping, names; what import contracts cannot say."""

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest
from django.apps import apps
from django.db import models
from django.db.backends.base.base import BaseDatabaseWrapper

from safetyplan.integrity import guards
from safetyplan.integrity.models import ScopedManager

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("safetyplan", "records")
FILE_LINES, FUNCTION_LINES, VIEW_LINES, TEMPLATE_LINES = 400, 40, 20, 150
# A single longest name in PostgreSQL: https://www.postgresql.org/docs/current/limits.html
LONGEST_NAME = 63


def sources(*folders: str) -> list[Path]:
    found = [path for folder in folders for path in (ROOT / folder).rglob("*.py")]
    return sorted(path for path in found if "migrations" not in path.parts)


def shown(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def matches(pattern: str, *folders: str) -> list[str]:
    compiled = re.compile(pattern)
    return [
        f"{shown(path)}:{number}"
        for path in sources(*folders)
        for number, line in enumerate(path.read_text("utf-8").splitlines(), start=1)
        if compiled.search(line)
    ]


def functions(path: Path) -> Iterator[tuple[str, int]]:
    """Give each function with the lines of its body, signature and docstring left out."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            body = node.body[1:] if ast.get_docstring(node) is not None else node.body
            if body:
                yield node.name, (node.end_lineno or 0) - body[0].lineno + 1


def test_the_rules_look_at_the_whole_project() -> None:
    assert len(sources(*PACKAGES)) > 80
    assert list(functions(ROOT / "manage.py")) == [("main", 4)]


def test_no_file_is_longer_than_400_lines() -> None:
    long = {
        shown(path): lines
        for path in sources(*PACKAGES, "tests")
        if (lines := len(path.read_text("utf-8").splitlines())) > FILE_LINES
    }
    assert long == {}


def test_no_template_is_longer_than_150_lines() -> None:
    templates = list((ROOT / "templates").rglob("*.html"))
    assert templates
    assert [shown(t) for t in templates if len(t.read_text("utf-8").splitlines()) > TEMPLATE_LINES] == []


def test_functions_stay_short_and_views_shorter() -> None:
    long = [
        f"{shown(path)} {name}: {lines}"
        for path in sources(*PACKAGES)
        for name, lines in functions(path)
        if lines > (VIEW_LINES if path.name == "views.py" else FUNCTION_LINES)
    ]
    assert long == []


def test_calculation_loads_without_django() -> None:
    program = (
        "import pkgutil, sys, safetyplan.calculation as package\n"
        "for found in pkgutil.walk_packages(package.__path__, package.__name__ + '.'):\n"
        "    __import__(found.name)\n"
        "print([name for name in sys.modules if name.split('.')[0] in ('django', 'records')])\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_the_stand_alone_verifier_needs_the_standard_library_only() -> None:
    path = ROOT / "safetyplan" / "integrity" / "verifier.py"
    program = f"import runpy, sys; runpy.run_path({str(path)!r}); print('django' in sys.modules)"
    done = subprocess.run(
        [sys.executable, "-I", "-S", "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "False"
    assert len(path.read_text("utf-8").splitlines()) <= 300


def test_only_the_root_urls_name_the_urls_of_the_records() -> None:
    assert matches(r"[\"']records\.urls[\"']", *PACKAGES) == ["safetyplan/urls.py:8"]
    named = re.compile(r"[\"']records\.(?!sqlite3)[\w.]+[\"']")
    elsewhere = [
        f"{shown(path)}: {found}"
        for path in sources("safetyplan")
        for found in named.findall(path.read_text("utf-8"))
    ]
    assert elsewhere == [
        'safetyplan/settings.py: "records.apps.RecordsConfig"',
        'safetyplan/urls.py: "records.urls"',
    ]


def test_no_query_asks_for_a_date_in_the_zone_of_the_server() -> None:
    parts = "date|year|iso_year|quarter|month|day|week|week_day|hour|minute|time"
    assert matches(rf"\w__({parts})(__\w+)?\s*=[^=]", *PACKAGES) == []
    assert matches(r"\b(Trunc|Extract)[A-Z]\w*\(", *PACKAGES) == []


def own_models() -> list[type[models.Model]]:
    return [model for name in PACKAGES for model in apps.get_app_config(name).get_models()]


def test_every_table_of_an_establishment_has_a_manager_that_wants_it_named() -> None:
    of_one = [m for m in own_models() if "establishment" in {f.name for f in m._meta.concrete_fields}]
    assert len(of_one) > 25
    assert [m.__name__ for m in of_one if not isinstance(m._default_manager, ScopedManager)] == []


def test_only_establishments_logins_and_their_tries_belong_to_nobody() -> None:
    free = {m.__name__ for m in own_models() if not isinstance(m._default_manager, ScopedManager)}
    assert free == {"Establishment", "Person", "SignInTry", "SignatureProof"}


def test_no_query_is_made_without_its_establishment() -> None:
    scoped = "|".join(m.__name__ for m in own_models() if isinstance(m._default_manager, ScopedManager))
    assert matches(rf"\b({scoped})\.objects\.(?!of\(|create\(establishment=)\w", *PACKAGES) == []


def test_the_manager_without_a_scope_is_left_to_reads_that_join_on_a_row() -> None:
    # Each narrows by OuterRef, by a key that was scoped before, or by the one table of all logins.
    allowed = {
        "records/checks/capture.py",
        "records/deviations/queries.py",
        "safetyplan/establishments/queries.py",
        "safetyplan/integrity/chain.py",
        "safetyplan/integrity/verification.py",
    }
    unscoped = r"_(base|default)_manager\b(?!\.filter\(establishment=)"
    assert {at.split(":")[0] for at in matches(unscoped, *PACKAGES)} <= allowed


def test_no_view_or_service_clears_or_rewrites_by_raw_sql() -> None:
    allowed = {"safetyplan/integrity/guards.py", "safetyplan/integrity/verification.py"}
    allowed |= {"safetyplan/system_checks.py"}
    found = {at.split(":")[0] for at in matches(r"\.cursor\(\)|\.raw\(|RawSQL|\.extra\(", *PACKAGES)}
    assert {path for path in found if "benchmark" not in path} <= allowed


@pytest.mark.parametrize("vendor", ["sqlite", "postgresql"])
def test_every_guard_has_a_name_that_both_databases_keep(vendor: str) -> None:
    connection = cast(BaseDatabaseWrapper, SimpleNamespace(vendor=vendor))
    names = list(guards.wanted(connection))
    assert len(names) > 150
    assert [name for name in names if len(name.encode()) > LONGEST_NAME] == []
    functions_made = [sql for _table, sql in guards.wanted(connection).values() if "FUNCTION" in sql]
    assert bool(functions_made) == (vendor == "postgresql")


def test_every_guarded_table_has_its_guards() -> None:
    connection: Any = SimpleNamespace(vendor="postgresql")
    guarded: dict[str, set[str]] = {}
    for name, (table, _sql) in guards.wanted(connection).items():
        guarded.setdefault(table, set()).add(name)
    for model in guards.guarded_models():
        table = model._meta.db_table
        assert {f"guard_{table}_{act}" for act in ("update", "delete", "truncate")} <= guarded[table]
