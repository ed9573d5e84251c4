"""The dairy that buys milk, prepared once for a file; each test works in it and is undone."""

from collections.abc import Iterator

import pytest
from pytest_django.plugin import DjangoDbBlocker

from tests.builders import T0, at, plan_in_force
from tests.cast import make_cast
from tests.records.receiving.stage import Dairy, open_dairy, plan
from tests.records.rules.sharing import undone


@pytest.fixture(scope="module")
def prepared(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Dairy]:
    """Open the dairy with its plan in force since the day before."""
    with undone(django_db_blocker):
        cast = make_cast()
        with at(cast.dairy, T0.replace(day=13, hour=1)):
            plan_in_force(cast, plan())
            dairy = open_dairy(cast)
        yield dairy


@pytest.fixture
def door(prepared: Dairy, db: None) -> Dairy:
    """Give the dairy for one test."""
    return prepared
