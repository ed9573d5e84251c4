"""Signatures: the password given again, a single-use proof, and the words that go on paper."""

from datetime import timedelta
from typing import TypeVar

from django.utils.translation import gettext as _

from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.queries import membership_of, roles_of
from safetyplan.integrity import canonical, clock
from safetyplan.integrity.models import SignatureProof, Signed
from safetyplan.integrity.refusals import BadInput, Refused

PASSWORD = "password"
GOOD_FOR = timedelta(minutes=5)
SignedRow = TypeVar("SignedRow", bound=Signed)


def prove(*, establishment: Establishment, person: Person, password: str) -> SignatureProof:
    """Check the password again and give a proof that is good for one signature."""
    if not person.is_active or not person.check_password(password):
        raise BadInput(_("The password does not match. Nothing was signed."), part="password")
    return SignatureProof.objects.create(person=person, method=PASSWORD, made_at=clock.now(establishment))


def sign(row: SignedRow, *, establishment: Establishment, proof: SignatureProof, meaning: str) -> Person:
    """Use a proof up and put the signature on a row that is about to be recorded; give the signer."""
    at = clock.now(establishment)
    used = SignatureProof.objects.filter(
        pk=proof.pk, used_at__isnull=True, made_at__gte=at - GOOD_FOR
    ).update(used_at=at)
    if not used:
        raise Refused(_("This signature was already used or has expired. Please sign again."))
    membership = membership_of(establishment, proof.person)
    if membership is None:
        raise Refused(_("Only people of this establishment can sign here."))
    row.signed_name = membership.printed_name
    row.signed_meaning = meaning
    row.signed_roles = canonical.dumps(sorted(roles_of(membership))).decode()
    row.signed_method = proof.method
    row.signed_proof = proof.pk
    return proof.person
