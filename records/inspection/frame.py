"""What every print shares: head, foot, local times by frozen offsets, names and initials."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.inspection.models import PrintIssue
from safetyplan.establishments.localtime import FrozenOffsets
from safetyplan.establishments.models import Establishment, EstablishmentDetails, Membership, Role
from safetyplan.establishments.queries import details_of, names, roles_of
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


@dataclass
class Frame:
    """An issue and what it sees."""

    issue: PrintIssue
    establishment: Establishment
    as_of: int
    language: str
    clock: FrozenOffsets
    details: EstablishmentDetails
    people: dict[Any, Membership]
    used: set[Any] = field(default_factory=set)

    @classmethod
    def of(cls, issue: PrintIssue) -> "Frame":
        """Make the frame of an issue."""
        return cls(
            issue=issue,
            establishment=issue.establishment,
            as_of=issue.as_of,
            language=issue.language,
            clock=FrozenOffsets.read(canonical.loads(issue.offsets.encode())),
            details=details_of(issue.establishment, issue.as_of),
            people=names(issue.establishment, issue.as_of),
        )

    @property
    def paper(self) -> Paper:
        """Give the paper's size."""
        return "letter" if self.issue.paper == "letter" else "A4"

    def time(self, at: datetime | None) -> str:
        """Write an instant in local time."""
        return self.clock.local(at).strftime("%Y-%m-%d %H:%M") if at else ""

    def moment(self, at: datetime) -> str:
        """Write an instant in local time, to the second, with its offset from UTC."""
        local = self.clock.local(at)
        return (
            local.strftime("%Y-%m-%d %H:%M:%S ") + local.strftime("%z")[:3] + ":" + local.strftime("%z")[3:]
        )

    def name(self, person: Any) -> str:
        """Give a person's printed name; the clock's own records say so."""
        if person is None:
            return _("the clock")
        self.used.add(person)
        found = self.people.get(person)
        return found.printed_name if found else _("unknown")

    def initials(self, person: Any) -> str:
        """Give a person's initials and note that the key must explain them."""
        if person is None:
            return _("clock")
        self.used.add(person)
        found = self.people.get(person)
        return found.initials if found else "?"

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
            issued_on=self.time(version.in_force_from)[:10] if version else "",
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
        roles = canonical.loads(row.signed_roles.encode())
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
        found = [self.people[person] for person in self.used if person in self.people]
        return Initials(
            tuple(
                Initial(m.initials, m.printed_name, ", ".join(str(Role(r).label) for r in roles_of(m)))
                for m in sorted(found, key=lambda m: m.initials)
            )
        )

    def caution(self) -> Block:
        """Compose the caution."""
        return Caution(str(CAUTION))


def joined(parts: Iterable[str]) -> str:
    """Join the parts that say something."""
    return "; ".join(part for part in parts if part)
