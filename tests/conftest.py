"""Fixtures every test may use."""

from pathlib import Path

import pytest
from django.conf import settings

from safetyplan.integrity import notes
from tests.builders import T0, at, plan_in_force
from tests.cast import Cast, make_cast


@pytest.fixture(scope="session", autouse=True)
def seal_key() -> None:
    """Make the key of the record seals of the test run."""
    path = Path(settings.SEAL_KEY_FILE)
    if not path.exists():
        notes.save_private_key(path, notes.new_private_key())


@pytest.fixture
def cast(db: None) -> Cast:
    """Open the dairy with its people."""
    return make_cast()


@pytest.fixture
def working(cast: Cast) -> Cast:
    """Open the dairy with a plan in force since the day before the test's day."""
    with at(cast.dairy, T0.replace(day=13)):
        plan_in_force(cast)
    return cast
