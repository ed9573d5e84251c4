"""Fixtures every test may use, and the rule that nothing is skipped where everything is required."""

import os
from collections.abc import Generator
from pathlib import Path

import pytest
from django.conf import settings
from hypothesis import settings as hypothesis_settings

from safetyplan.integrity import notes
from tests.builders import T0, at, plan_in_force
from tests.cast import Cast, make_cast
from tests.remembering import told_again

# No deadline: the first example of a test pays for imports. The soak tries many more examples.
hypothesis_settings.register_profile("house", deadline=None, max_examples=50)
hypothesis_settings.register_profile("soak", deadline=None, max_examples=1000)
hypothesis_settings.load_profile("soak" if os.environ.get("SOAK") == "1" else "house")

ONLY_ELSEWHERE = ("PostgreSQL's", "names no PostgreSQL server", "PostgreSQL refuses what does not fit")


# Tests of pages and forms ask the same services and queries as the others, through Django's own client; the
# widest tables of attempts are asked of the second database in the soak.
LEFT_TO_THE_SOAK = ("page", "form", "view", "print", "access_table", "attempts", "every_column")


def pytest_addoption(parser: pytest.Parser) -> None:
    """Offer the choice of the tests that a second database can tell anything about."""
    parser.addoption("--only-database", action="store_true", help="leave out tests that know no database")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out, if asked, what neither uses a database nor starts processes that do."""
    if not config.getoption("--only-database"):
        return
    kept, left = [], []
    for item in items:
        (kept if _knows_a_database(item) else left).append(item)
    config.hook.pytest_deselected(items=left)
    items[:] = kept


def _knows_a_database(item: pytest.Item) -> bool:
    if any(word in item.path.name for word in LEFT_TO_THE_SOAK):
        return False
    names = set(getattr(item, "fixturenames", ()))
    if names & {"db", "django_db_setup"} or item.get_closest_marker("django_db"):
        return True
    return "DATABASE_URL" in item.path.read_text(encoding="utf-8")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item, call: pytest.CallInfo[None]
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """With REQUIRE_ALL=1 a skip is a failure, unless the test belongs to the other database."""
    report = yield
    if report.skipped and os.environ.get("REQUIRE_ALL") == "1" and not hasattr(report, "wasxfail"):
        why = str(call.excinfo.value) if call.excinfo else ""
        if not any(words in why for words in ONLY_ELSEWHERE):
            report.outcome = "failed"
            report.longrepr = f"skipped where nothing may be skipped: {why}"
    return report


@pytest.fixture(scope="session", autouse=True)
def seal_key() -> None:
    """Make the key of the record seals of the test run."""
    path = Path(settings.SEAL_KEY_FILE)
    if not path.exists():
        notes.save_private_key(path, notes.new_private_key())


@pytest.fixture
def cast(db: None) -> Cast:
    """Open the dairy with its people."""
    return told_again("cast", make_cast)


@pytest.fixture
def working(cast: Cast) -> Cast:
    """Open the dairy with a plan in force since the day before the test's day."""

    def at_work() -> Cast:
        with at(cast.dairy, T0.replace(day=13)):
            plan_in_force(cast)
        return cast

    return told_again("working", at_work)
