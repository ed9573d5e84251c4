"""manage.py demo: an invented dairy with records of its own, served on this computer."""

from argparse import ArgumentParser
from datetime import UTC, date, datetime, time
from pathlib import Path
from types import ModuleType
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import BaseCommand, CommandError

from records.demonstration import ostervane, tarrowby
from records.management.commands._serving import add_serving, begin_again_over_tls, serve_as_told
from safetyplan.establishments.models import Establishment
from safetyplan.installation import prepare_database, prepare_folder

STORIES = {story.SLUG: story for story in (tarrowby, ostervane)}


def a_day(text: str) -> date:
    """Read a day given on the command line."""
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise CommandError(f"{text!r} is not a day: write it like 2026-05-14.") from error


class Command(BaseCommand):
    """Prepare a data folder, tell what happened in an invented dairy through the services, and serve it."""

    help = "Prepare the invented demonstration dairy and serve it on this computer."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the arguments."""
        parser.add_argument("--today", metavar="DATE", help="the day the story ends on (default: today)")
        parser.add_argument(
            "--dairy",
            choices=sorted(STORIES),
            default=tarrowby.SLUG,
            help="whose story: a month that ends today, or the days before a day that is yours to live",
        )
        add_serving(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        """Run the command."""
        begin_again_over_tls(options)
        story = STORIES[options["dairy"]]
        now = self._now(options["today"], story)
        folder = prepare_folder()
        prepare_database()
        if Establishment.objects.filter(demonstration=False).exists():
            raise CommandError(f"{folder} holds real records: give the demonstration a folder of its own.")
        if Establishment.objects.exists():
            story = self._there(folder)
            self.stdout.write(f"The demonstration in {folder} is as it was left.")
        else:
            self.stdout.write(story.TELLING)
            story.tell(now=now)
        self._say_names(story)
        serve_as_told(folder, options, self.stdout.write)

    @staticmethod
    def _there(folder: Path) -> ModuleType:
        """Find whose story a folder holds already; a second one would not fit beside it."""
        for slug, story in STORIES.items():
            if Establishment.objects.filter(slug=slug).exists():
                return story
        raise CommandError(f"{folder} holds another demonstration: give this one a folder of its own.")

    @staticmethod
    def _now(today: str | None, story: ModuleType) -> datetime | None:
        """End the story at this hour of the given day."""
        if today is None:
            return None
        zone = ZoneInfo(story.DETAILS.time_zone)
        present = datetime.now(UTC).astimezone(zone)
        return datetime.combine(a_day(today), time(present.hour, present.minute), tzinfo=zone).astimezone(UTC)

    def _say_names(self, story: ModuleType) -> None:
        self.stdout.write("Invented demonstration. Sign in as")
        for username, who in story.NAMES:
            self.stdout.write(f"  {username:<8} {who}")
        self.stdout.write(f"each with the password  {story.PASSWORD}")
