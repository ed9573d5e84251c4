"""Several processes at once, and processes killed while they record: nothing acknowledged is lost.

Short forms; SOAK=1 runs the long ones. PostgreSQL is tried as well when DATABASE_URL names a server.
"""

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest

ROOT = Path(__file__).resolve().parents[3]
SOAK = os.environ.get("SOAK") == "1"
WRITERS, EACH = 8, 250 if SOAK else 60
KILLS = 100 if SOAK else 10
SERVER = os.environ.get("DATABASE_URL", "")
NAMES = iter(f"processes_{os.getpid()}_{number}" for number in range(1000))


def work(folder: Path, url: str, *words: object) -> dict[str, Any]:
    """Run a task in processes of their own with the project's settings."""
    environment = {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "safetyplan.settings",
        "SAFETYPLAN_DATA": str(folder),
        "SECRET_KEY": "only-for-the-tests-0123456789-abcdefghijklmnopqrstuvwxyz",
        "DATABASE_URL": url,
    }
    done = subprocess.run(
        [sys.executable, "-m", "tests.safetyplan.integrity.workers", *map(str, words)],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        timeout=1800 if SOAK else 300,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return {"errors": done.stderr, **(json.loads(done.stdout) or {})}


@pytest.fixture(scope="session")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make a data folder with an invented dairy once."""
    folder = tmp_path_factory.mktemp("prepared")
    work(folder, "", "prepare")
    return folder


def on_server(sql: str) -> None:
    import psycopg

    with psycopg.connect(SERVER, autocommit=True) as connection:
        connection.execute(sql)


@pytest.fixture(
    params=[
        "sqlite",
        pytest.param(
            "postgresql",
            marks=pytest.mark.skipif(
                not SERVER, reason="PostgreSQL only: DATABASE_URL names no PostgreSQL server"
            ),
        ),
    ]
)
def place(request: pytest.FixtureRequest, prepared: Path, tmp_path: Path) -> Iterator[tuple[Path, str]]:
    """Give a data folder and a database that no other test uses."""
    if request.param == "sqlite":
        yield Path(shutil.copytree(prepared, tmp_path / "data")), ""
        return
    name = next(NAMES)
    on_server(f"CREATE DATABASE {name}")
    url = urlsplit(SERVER)._replace(path=f"/{name}").geturl()
    work(tmp_path, url, "prepare")
    yield tmp_path, url
    on_server(f"DROP DATABASE {name} WITH (FORCE)")


def test_eight_processes_record_at_once_and_nobody_is_refused(place: tuple[Path, str]) -> None:
    found = work(*place, "contend", WRITERS, EACH)
    assert (found["errors"], found["failed"]) == ("", 0)
    assert found["recorded"] == WRITERS * EACH
    assert found["gapless"]
    assert found["findings"] == []


def test_verifying_while_others_record_gives_no_false_alarm(place: tuple[Path, str]) -> None:
    found = work(*place, "contend", 2, EACH // 4)
    assert (found["errors"], found["false_alarms"]) == ("", 0)
    assert found["recorded"] == 2 * (EACH // 4)


def test_of_many_who_approve_the_same_draft_at_once_one_wins(place: tuple[Path, str]) -> None:
    found = work(*place, "approve", 6)
    assert (found["errors"], found["codes"]) == ("", [0, 7, 7, 7, 7, 7])
    assert found["versions"] == 2
    assert found["gapless"]
    assert found["findings"] == []


@pytest.mark.parametrize("seed", [20260514])
def test_what_a_killed_process_had_acknowledged_is_there_once(place: tuple[Path, str], seed: int) -> None:
    found = work(*place, "kill", KILLS, seed)
    assert found["errors"] == ""
    assert found["acknowledged"] >= KILLS
    assert found["lost"] == []
    assert found["acknowledged"] <= found["recorded"] <= found["acknowledged"] + KILLS
    assert found["gapless"]
    assert found["findings"] == []
    assert found["integrity_check"] == ["ok"]
