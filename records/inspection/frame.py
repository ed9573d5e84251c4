"""What every print shares: head, foot, local times by frozen offsets, names and initials."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.checks.models import Reading
from records.inspection.beside import NONE, Beside, beside_of
from records.inspection.models import PrintIssue
from records.inspection.telling import Teller
from safetyplan.establishments.localtime import FrozenOffsets
from safetyplan.establishments.models import EstablishmentDetails, Role
from safetyplan.establishments.queries import details_of, names
from safetyplan.integrity import canonical
from safetyplan.integrity.models import Signed
from safetyplan.integrity.verifier import parse_note
from safetyplan.plans.models import PlanApproved
from safetyplan.printing.document import (
    Block,
    Caution,
    Foot,
    Head,
    Initial,
    Initials,
    Paper,
    SignatureBox,
)

CAUTION = gettext_lazy(
    "This record supports and does not replace the judgement of a qualified person. "
    "Final authority rests with the local regulator."
)


@dataclass(kw_only=True)
class Frame(Teller):
    """An issue and what it sees."""

    issue: PrintIssue
    as_of: int
    language: str
    details: EstablishmentDetails

    @classmethod
    def of(cls, issue: PrintIssue) -> "Frame":
        """Make the frame of an issue."""
        offsets = canonical.loads(issue.offsets.encode())
        assert isinstance(offsets, list)
        return cls(
            issue=issue,
            establishment=issue.establishment,
            as_of=issue.as_of,
            language=issue.language,
            form=issue.template_version,
            clock=FrozenOffsets.read(offsets),
            details=details_of(issue.establishment, issue.as_of),
            people=names(issue.establishment, issue.as_of),
        )

    def beside(self, readings: Sequence[Reading]) -> Mapping[UUID, Beside]:
        """Tell where each reading was taken and with what; forms of version 1 do not."""
        if self.form < 2:
            return NONE
        return beside_of(self.establishment, readings, self.as_of, self.clock)

    @property
    def paper(self) -> Paper:
        """Give the paper's size."""
        return "letter" if self.issue.paper == "letter" else "A4"

    def head(self, title: str, version: PlanApproved | None, *, self_reviewed: bool = False) -> Head:
        """Compose the head."""
        plan = version.plan() if version else None
        superseded = version.supersedes.number if version and version.supersedes else None
        return Head(
            establishment=self.details.name,
            address=self.details.address,
            registration=self.details.registration_number,
            title=title,
            form_number=plan.form_number if plan else "",
            version=_("plan version %(number)d") % {"number": version.number} if version else "",
            issued_on=self.day(version.in_force_from).isoformat() if version else "",
            supersedes=_("version %(number)d") % {"number": superseded} if superseded else _("none"),
            demonstration=self.establishment.demonstration,
            self_reviewed=self_reviewed,
        )

    def foot(self) -> Foot:
        """Compose the foot with the record seal."""
        note = parse_note(self.issue.seal_note)
        return Foot(
            printed_at=self.moment(self.issue.recorded_at),
            printed_by=self.name(self.issue.author_id),
            seal_note=self.issue.seal_note,
            seal_root=note.root.hex(),
            seal_size=note.size,
            issue_number=str(self.issue.number),
        )

    def signature(self, row: Signed, *, self_reviewed: bool = False) -> SignatureBox:
        """Compose the box of a signature, from what the signed record itself says."""
        self.used.add(row.author_id)
        roles = canonical.loads(row.signed_roles.encode())
        assert isinstance(roles, list)
        return SignatureBox(
            meaning=row.signed_meaning,
            name=row.signed_name,
            signed_at=self.moment(row.recorded_at),
            how_authenticated=_("password again") if row.signed_method == "password" else row.signed_method,
            roles=", ".join(str(Role(role).label) for role in roles),
            self_reviewed=self_reviewed,
        )

    def key(self) -> Initials:
        """Compose the key of the initials used."""
        return Initials(tuple(Initial(*row) for row in self.key_rows()))

    def caution(self) -> Block:
        """Compose the caution."""
        return Caution(str(CAUTION))
