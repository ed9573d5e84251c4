"""manage.py export_records: write everything recorded to a file that the stand-alone verifier reads."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from records.management.commands._choose import add_choice, chosen
from safetyplan.integrity.export import export_lines
from safetyplan.integrity.seals import seal


class Command(BaseCommand):
    """Seal the ledger and write the export."""

    help = "Seal the records and write them to a file that the stand-alone verifier reads."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the arguments."""
        parser.add_argument("--out", metavar="FILE", required=True, help="file to write")
        add_choice(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        """Run the command."""
        establishment = chosen(options["establishment"])
        out = Path(options["out"])
        sealed = seal(establishment=establishment, reason="export")
        try:
            with out.open("wb") as file:
                file.writelines(export_lines(establishment))
        except OSError as error:
            raise CommandError(f"{out} cannot be written: {error.strerror}.") from error
        self.stdout.write(f"{sealed.size} entries written to {out}. Root {sealed.root}")
