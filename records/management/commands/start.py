"""manage.py start: an empty installation, served; the first visit opens the first-run page."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.urls import reverse

from records.management.commands._serving import (
    add_serving,
    base_url,
    begin_again_over_tls,
    serve_as_told,
)
from safetyplan.establishments import first_run
from safetyplan.establishments.models import Establishment
from safetyplan.installation import prepare_database, prepare_folder


class Command(BaseCommand):
    """Prepare the data folder where it is missing, and serve."""

    help = "Prepare an installation and serve it; an empty one shows the first-run page."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the arguments."""
        add_serving(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        """Run the command."""
        begin_again_over_tls(options)
        folder = prepare_folder()
        prepare_database()
        self.stdout.write(f"Records are kept in {folder}. Keep copies of this folder elsewhere.")
        if not Establishment.objects.exists():
            page = reverse("first_run", args=[first_run.new_token()])
            self.stdout.write("Nothing is set up yet. Open this address once to begin:")
            self.stdout.write(f"  {base_url(options)}{page}")
        serve_as_told(folder, options, self.stdout.write)
