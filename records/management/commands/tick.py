"""manage.py tick: what the clock does, for installations that run no `start`."""

from typing import Any

from django.core.management.base import BaseCommand

from records.checks import housekeeping


class Command(BaseCommand):
    """Open the deviations of missed critical checks and seal the ledger once a day."""

    help = "Open what must be open by now and seal the records once a day. Run it every minute."

    def handle(self, *args: Any, **options: Any) -> None:
        """Run the command."""
        housekeeping.run()
