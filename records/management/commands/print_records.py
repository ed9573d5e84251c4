"""manage.py print_records: issue the print of a lot or a day and write it to a file."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from records.batches.models import Lot
from records.batches.queries import similar_lot
from records.inspection.queries import kept_bytes
from records.inspection.services import DAY, LOT, issue_print
from records.management.commands._choose import add_choice, chosen
from records.management.commands.demo import a_day
from safetyplan.establishments.access import WRITERS
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.queries import memberships, roles_of
from safetyplan.integrity.refusals import Refused


class Command(BaseCommand):
    """Issue a print in the name of a person of the establishment."""

    help = "Issue the print of a lot or of a day and write the PDF to a file."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the arguments."""
        what = parser.add_mutually_exclusive_group(required=True)
        what.add_argument("--lot", metavar="CODE", help="code of the lot to print")
        what.add_argument("--day", metavar="DATE", help="day to print, like 2026-05-14")
        parser.add_argument("--out", metavar="FILE.pdf", required=True, help="file to write")
        parser.add_argument("--by", metavar="NAME", help="sign-in name of the person who prints")
        add_choice(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        """Run the command."""
        establishment = chosen(options["establishment"])
        out = Path(options["out"])
        if not out.parent.is_dir():
            raise CommandError(f"The folder {out.parent} does not exist.")
        what, subject = self._subject(establishment, options)
        person = self._person(establishment, options["by"])
        try:
            issue = issue_print(establishment=establishment, by=person, what=what, subject=subject)
        except Refused as refusal:
            raise CommandError(str(refusal)) from refusal
        try:
            out.write_bytes(kept_bytes(issue))
        except OSError as error:
            raise CommandError(f"{out} cannot be written: {error.strerror}.") from error
        self.stdout.write(f"Issue {issue.number} written to {out}")

    @staticmethod
    def _subject(establishment: Establishment, options: dict[str, Any]) -> tuple[str, str]:
        if options["day"]:
            return DAY, a_day(options["day"]).isoformat()
        code = options["lot"].strip().upper()
        lot: Lot | None = Lot.objects.of(establishment).filter(code=code).first()
        if lot is None:
            near = similar_lot(establishment, code)
            hint = f" Did you mean {near.code}?" if near else ""
            raise CommandError(f"There is no lot {options['lot']!r}.{hint}")
        return LOT, str(lot.pk)

    @staticmethod
    def _person(establishment: Establishment, username: str | None) -> Person:
        active = [m for m in memberships(establishment).select_related("person") if m.active]
        if username is not None:
            active = [m for m in active if m.person.username == username]
            if not active:
                raise CommandError(f"{username!r} is not a person of this establishment.")
        may = {*WRITERS, Role.ADMINISTRATOR}
        ranked = sorted(active, key=lambda m: Role.RESPONSIBLE not in roles_of(m))
        found = [m.person for m in ranked if may & set(roles_of(m))]
        if not found:
            raise CommandError("Nobody named may print here.")
        return found[0]
