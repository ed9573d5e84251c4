"""Gathers the models of the project for Django."""

from safetyplan.establishments.models import (
    Challenge,
    Credential,
    CredentialRevoked,
    Establishment,
    EstablishmentDetails,
    EstablishmentOpening,
    Membership,
    Person,
    SignInTry,
    Training,
)
from safetyplan.integrity.models import (
    BackedUp,
    Entry,
    OpenItem,
    RecordSeal,
    RefusedClaim,
    SignatureProof,
    StoredFile,
)
from safetyplan.plans.models import PlanApproved, PlanDraft

__all__ = [
    "BackedUp",
    "Challenge",
    "Credential",
    "CredentialRevoked",
    "Entry",
    "Establishment",
    "EstablishmentDetails",
    "EstablishmentOpening",
    "Membership",
    "OpenItem",
    "Person",
    "PlanApproved",
    "PlanDraft",
    "RecordSeal",
    "RefusedClaim",
    "SignInTry",
    "SignatureProof",
    "StoredFile",
    "Training",
]
