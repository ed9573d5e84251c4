"""The words for duties of the plan, their outcomes, and the occasions of a reanalysis. Pure."""

from collections.abc import Mapping

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

TRIGGERS: Mapping[str, Promise] = {
    "product": _("New product"),
    "equipment": _("New equipment"),
    "supplier": _("New supplier"),
    "process": _("Changed process"),
    "information": _("New information on a hazard"),
    "unforeseen": _("Unforeseen deviation"),
}
DUTIES: Mapping[str, Promise] = {
    "reanalysis": _("Reanalysis of the plan"),
    "status": _("Status as a qualified facility"),
    "attestation": _("Attestation"),
    "status_change": _("Change of status"),
    "occasion": _("Occasion for a reanalysis"),
    "validation": _("Validation is missing"),
    "validation_expiry": _("Validation and its last day"),
    "unreadable": _("A date cannot be read"),
}
OUTCOMES: Mapping[str, Promise] = {
    "unchanged": _("the plan stays as it is"),
    "kept": _("the plan stays as it is"),
    "revised": _("the plan is revised"),
    "qualified": _("qualified facility"),
    "not_qualified": _("not a qualified facility"),
    "option_i": _("submitted, option (i): hazards, controls and monitoring"),
    "option_ii": _("submitted, option (ii): state, local or other food law"),
    "change_notified": _("the authority was told of a change of status"),
}


def trigger_words(code: str) -> str:
    """Name an occasion for a reanalysis."""
    return str(TRIGGERS.get(code, code))


def duty_words(code: str) -> str:
    """Name a duty."""
    return str(DUTIES.get(code, code))


def outcome_words(code: str) -> str:
    """Name what came of a duty."""
    return str(OUTCOMES.get(code, code))
