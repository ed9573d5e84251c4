"""Choosing an establishment on the command line."""

from argparse import ArgumentParser

from django.core.management.base import CommandError

from safetyplan.establishments.models import Establishment


def add_choice(parser: ArgumentParser) -> None:
    """Declare the argument that names the establishment."""
    parser.add_argument(
        "--establishment",
        metavar="NAME",
        help="short name of the establishment (needed when there are several)",
    )


def chosen(name: str | None) -> Establishment:
    """Give the establishment named, or the only one."""
    rows = Establishment.objects.order_by("slug")
    if name is not None:
        found = rows.filter(slug=name).first()
        if found is None:
            raise CommandError(f"There is no establishment called {name!r}.")
        return found
    if rows.count() > 1:
        listed = ", ".join(row.slug for row in rows)
        raise CommandError(f"There are several establishments ({listed}): name one with --establishment.")
    only = rows.first()
    if only is None:
        raise CommandError("There is no establishment yet: run `manage.py start` or `manage.py demo` first.")
    return only
