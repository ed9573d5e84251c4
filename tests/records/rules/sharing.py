"""What several tests of a module share, written to the database once and undone at the end."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import transaction
from pytest_django.plugin import DjangoDbBlocker


@contextmanager
def undone(blocker: DjangoDbBlocker) -> Iterator[None]:
    """Undo everything that is written inside."""
    with blocker.unblock(), transaction.atomic():
        yield
        transaction.set_rollback(True)
