"""manage.py start: an empty installation, served; the first visit opens the first-run page."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.urls import reverse

from records.checks import housekeeping
from safetyplan.establishments import first_run
from safetyplan.establishments.models import Establishment
from safetyplan.installation import prepare_database, prepare_folder, serve


class Command(BaseCommand):
    """Prepare the data folder where it is missing, and serve."""

    help = "Prepare an installation and serve it; an empty one shows the first-run page."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the arguments."""
        parser.add_argument("--no-serve", action="store_true", help="stop before serving")
        parser.add_argument("--host", default="127.0.0.1", help="address to serve on")
        parser.add_argument("--port", type=int, default=8000, help="port to serve on")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run the command."""
        folder = prepare_folder()
        prepare_database()
        self.stdout.write(f"Records are kept in {folder}. Keep copies of this folder elsewhere.")
        if not Establishment.objects.exists():
            page = reverse("first_run", args=[first_run.new_token()])
            self.stdout.write("Nothing is set up yet. Open this address once to begin:")
            self.stdout.write(f"  http://{options['host']}:{options['port']}{page}")
        if not options["no_serve"]:
            serve(
                host=options["host"],
                port=options["port"],
                housekeeping=housekeeping.run,
                say=self.stdout.write,
            )
