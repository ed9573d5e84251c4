"""Regulatory profiles: what a jurisdiction asks, each figure with its citation and the day it was read.

A profile is a beginning, never the law: every figure can be changed by the people who write the plan, law
changes, and the local regulator has the last word. provenance: "read" where the text was seen, "memory" where
it was not, "suggestion" where no text fixes anything and the figure is our own.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

FILE = Path(__file__).resolve().parents[2] / "fixtures" / "reference" / "profiles.json"
PROVENANCES = ("read", "memory", "suggestion")

# every parameter a profile may have, with its words
PARAMETERS: Mapping[str, Promise] = {
    "review_days": _("review of monitoring and corrective-action records, within"),
    "other_review": _("review of other verification records"),
    "validation_days": _("validation, within"),
    "reanalysis_months": _("reanalysis of the plan, at the latest after"),
    "retention_records_months": _("records are kept for"),
    "retention_plan_months": _("plan and validation are kept for"),
    "trace_retention_months": _("trace records are kept for"),
    "produce_within_hours": _("records are shown within"),
    "recall_exercise_months": _("recall exercise, every"),
    "record_signature": _("who signs a record"),
    "plan_signature": _("who signs the plan"),
    "record_mode": _("what a record holds"),
    "status_by": _("status determined by"),
    "status_change_by": _("change of status notified by"),
    "attestation_window": _("window of the attestation"),
    "attestation_option": _("option of the attestation"),
    "milk_temperature_most": _("milk at receipt at most"),
    "milk_at_dairy_most": _("milk in the dairy at most"),
    "milk_before_setting_most": _("milk held before setting at most"),
    "heat_rule": _("table of heat treatment"),
    "phosphatase_most": _("phosphatase at most"),
    "phosphatase_below": _("phosphatase below"),
    "ageing_days": _("ageing of raw-milk cheese, at least"),
    "ageing_temperature_least": _("ageing counts at or above"),
    "cold_store_most": _("cold store at most"),
    "sampling_criteria": _("criteria of sampling"),
    "listeria_wording": _("wording of the Listeria criteria"),
    "environment": _("sampling of the environment"),
    "raw_milk_label": _("words on the label of raw-milk cheese"),
    "stec_raw_milk": _("Shiga toxin-producing E. coli in raw-milk cheese"),
    "acidification": _("pH by an hour"),
    "radiological": _("radiological hazards"),
}
# what every profile says something about, and be it that no text fixes it
EVERYWHERE = (
    "review_days",
    "reanalysis_months",
    "retention_records_months",
    "record_signature",
    "plan_signature",
    "record_mode",
    "milk_temperature_most",
    "heat_rule",
    "ageing_days",
    "cold_store_most",
    "sampling_criteria",
    "environment",
    "acidification",
    "radiological",
)


@dataclass(frozen=True)
class Parameter:
    """One figure of a profile. An empty value says that no text fixes one."""

    code: str
    value: str
    unit: str
    note: str
    citation: str
    provenance: str


@dataclass(frozen=True)
class Profile:
    """A regulatory profile as read on a day."""

    code: str
    name: str
    jurisdiction: str
    read_on: str
    parameters: tuple[Parameter, ...]

    def parameter(self, code: str) -> Parameter | None:
        """Find a parameter by code."""
        return next((parameter for parameter in self.parameters if parameter.code == code), None)


def _profile(data: Mapping[str, Any], read_on: str) -> Profile:
    parameters = tuple(Parameter(**parameter) for parameter in data["parameters"])
    return Profile(data["code"], data["name"], data["jurisdiction"], read_on, parameters)


@lru_cache(maxsize=1)
def profiles() -> Mapping[str, Profile]:
    """Give every profile by its code, in the order of the file."""
    document = json.loads(FILE.read_text(encoding="utf-8"))
    found = (_profile(data, document["read_on"]) for data in document["profiles"])
    return {profile.code: profile for profile in found}
