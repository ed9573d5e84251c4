"""manage.py verify_records: check the records, or an export, against the ledger and copies kept outside."""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from records.management.commands._choose import add_choice, chosen
from safetyplan.establishments.models import Establishment
from safetyplan.integrity import ledger
from safetyplan.integrity.verification import verify
from safetyplan.integrity.verifier import Anchor, Finding, read_anchors, verify_export


class Command(BaseCommand):
    """Exit 0 when everything holds, 1 naming the first bad sequence."""

    help = "Check the records (or an export of them) and name the first bad sequence."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the arguments."""
        parser.add_argument("--export", metavar="FILE", help="check this export instead of the database")
        parser.add_argument(
            "--seal",
            metavar="FILE",
            action="append",
            default=[],
            help="a record seal kept outside (repeatable)",
        )
        parser.add_argument(
            "--receipts", metavar="FILE", action="append", default=[], help="a device's receipts"
        )
        parser.add_argument("--root", metavar="HEX", help="the 64 digits of a printed seal")
        parser.add_argument("--size", metavar="N", help="the number of entries under the printed seal")
        add_choice(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        """Run the command."""
        anchors = self._anchors(options)
        if options["export"]:
            size, found = self._export(Path(options["export"]), anchors)
        else:
            size, found = self._database(options["establishment"], anchors)
        if found:
            first = next((f.sequence for f in found if f.sequence), None)
            self.stderr.write(f"NOT OK: first bad sequence {first or 'unknown'}")
            for finding in found[:50]:
                self.stderr.write(f"  {finding.message}")
            sys.exit(1)
        newest = max((anchor.size for anchor in anchors), default=0)
        self.stdout.write(f"OK: {size} entries agree with their rows, the chain and the seals.")
        outside = (
            f"entries 1 to {newest} by copies kept outside" if newest else "nothing by copies kept outside"
        )
        self.stdout.write(f"Proven against the keeper of the records: {outside}.")

    @staticmethod
    def _anchors(options: dict[str, Any]) -> list[Anchor]:
        if bool(options["root"]) != bool(options["size"]):
            raise CommandError("--root and --size belong together: both are printed on the page.")
        given = {"--seal": options["seal"], "--receipts": options["receipts"]}
        if options["root"]:
            given |= {"--root": [options["root"]], "--size": [options["size"]]}
        try:
            return list(read_anchors(given))
        except ValueError as error:
            raise CommandError(f"This is no record seal or receipt: {error}") from error

    @staticmethod
    def _export(path: Path, anchors: list[Anchor]) -> tuple[int, list[Finding]]:
        try:
            with path.open("rb") as lines:
                rows = list(lines)
        except OSError as error:
            raise CommandError(f"{path} cannot be read: {error.strerror}.") from error
        size = sum(row.startswith(b'{"author"') for row in rows)
        return size, verify_export(rows, anchors)

    @staticmethod
    def _database(name: str | None, anchors: list[Anchor]) -> tuple[int, list[Finding]]:
        if name is None and Establishment.objects.count() > 1 and not anchors:
            size, found = 0, []
            for establishment in Establishment.objects.order_by("slug"):
                size += ledger.head(establishment)[0]
                found += verify(establishment)
            return size, found
        establishment = chosen(name)
        return ledger.head(establishment)[0], verify(establishment, anchors)
