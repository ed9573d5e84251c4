"""The record kinds of establishments and people."""

from safetyplan.establishments.models import (
    Credential,
    CredentialRevoked,
    EstablishmentDetails,
    EstablishmentOpening,
    Membership,
    Training,
)
from safetyplan.integrity.kinds import declare

OPENING = declare(
    EstablishmentOpening, "establishment_opened", "slug", "demonstration", "key_name", "public_key"
)
DETAILS = declare(
    EstablishmentDetails,
    "establishment_details",
    "name",
    "address",
    "registration_number",
    "time_zone",
    "temperature_unit",
    "volume_unit",
    "mass_unit",
    "paper",
    "regulatory_profile",
    "self_review_reason",
    "supersedes",
)
MEMBERSHIP = declare(
    Membership,
    "membership",
    "person",
    "printed_name",
    "initials",
    "roles",
    "inspector_until",
    "active",
    "reason",
    "supersedes",
)
TRAINING = declare(Training, "training", "person", "trained_on", "training_type", "provider")
CREDENTIAL = declare(Credential, "credential", "person", "device", "device_label", "public_key")
CREDENTIAL_REVOKED = declare(CredentialRevoked, "credential_revoked", "revoked", "reason")
