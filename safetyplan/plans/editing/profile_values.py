"""Figures of the regulatory profile: how each is typed, what the profile itself says, what differs."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from django.utils.functional import Promise
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean, number, whole_number
from safetyplan.plans import parts
from safetyplan.plans.figures import Figure, parameter_words, provenance_words
from safetyplan.plans.parts import Plan
from safetyplan.reference.profiles import PARAMETERS, Profile, profiles

TEMPERATURES = ("degC", "degF")
# the units a figure may be typed in; one that is not here is words
UNITS_OF: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "review_days": ("days", "working days"),
        "validation_days": ("days", "working days"),
        "ageing_days": ("days",),
        "reanalysis_months": ("months",),
        "retention_records_months": ("months",),
        "retention_plan_months": ("months",),
        "trace_retention_months": ("months",),
        "recall_exercise_months": ("months",),
        "produce_within_hours": ("h",),
        "milk_temperature_most": TEMPERATURES,
        "milk_at_dairy_most": TEMPERATURES,
        "milk_before_setting_most": TEMPERATURES,
        "ageing_temperature_least": TEMPERATURES,
        "cold_store_most": TEMPERATURES,
        "phosphatase_most": ("mU/L",),
        "phosphatase_below": ("mU/L",),
        "status_by": ("month-day",),
        "status_change_by": ("month-day",),
        "attestation_window": ("month-day",),
    }
)
# these are one of the codes that some profile uses
CHOSEN = ("heat_rule", "listeria_wording")
UNIT_WORDS: Mapping[str, Promise] = MappingProxyType(
    {
        "days": gettext_lazy("days"),
        "working days": gettext_lazy("working days"),
        "months": gettext_lazy("months"),
        "h": gettext_lazy("hours"),
        "degC": gettext_lazy("°C"),
        "degF": gettext_lazy("°F"),
        "mU/L": gettext_lazy("mU/L"),
        "month-day": gettext_lazy("month-day, such as 07-01"),
    }
)
MONTH_DAY = r"(?:0[1-9]|1[0-2])-(?:0[1-9]|[12][0-9]|3[01])"
LONGEST = 300


@dataclass(frozen=True)
class ParameterShown:
    """One figure of the profile in words; profile_says: what the profile itself says, where that differs."""

    parameter: parts.Parameter
    name: str
    words: str
    provenance: str
    profile_says: str
    is_own: bool


@dataclass(frozen=True)
class Side:
    """A figure in words with its note and citation, before or after a change of the profile."""

    words: str
    note: str
    citation: str


@dataclass(frozen=True)
class Difference:
    """One figure that changing the profile would change; own: a figure chosen here, which goes."""

    name: str
    now: Side
    then: Side
    own: bool


def codes_of(code: str) -> list[str]:
    """List the codes that the profiles use for a figure that is chosen, not typed."""
    found = (profile.parameter(code) for profile in profiles().values())
    return list(dict.fromkeys(parameter.value for parameter in found if parameter and parameter.value))


def name_of(code: str) -> str:
    """Name a figure of the profile."""
    return capital(str(PARAMETERS.get(code, code)))


def capital(words: str) -> str:
    """Begin words with a capital, but not "pH"."""
    return words if words.startswith("pH") else str(capfirst(words))


def words_of(parameter: Any) -> str:
    """Write a figure with its unit; an empty one says that no text fixes it."""
    if not parameter.value:
        return _("no text fixes it")
    if parameter.unit == "month-day":
        return str(parameter.value)
    return parameter_words(parameter)


def own_profile(plan: Plan) -> Profile | None:
    """Give the profile that the plan uses as it was read for this programme; None when it has none such."""
    return profiles().get(plan.profile.code) if plan.profile else None


def own_figure(plan: Plan, code: str) -> Any:
    """Give a figure as the profile itself has it, or None."""
    profile = own_profile(plan)
    return profile.parameter(code) if profile else None


def profile_says(plan: Plan, parameter: parts.Parameter) -> str:
    """Write what the profile itself says, where the plan has another figure; else ''."""
    itself = own_figure(plan, parameter.code)
    if itself is None or (itself.value, itself.unit) == (parameter.value, parameter.unit):
        return ""
    return words_of(itself)


def profile_figure_words(plan: Plan, figure: Figure) -> str:
    """Write what the profile says beside a figure to confirm.

    For a figure of the profile: what the profile itself says where the plan has another. For a limit: the
    figure of the profile that it answers to. '' where there is nothing to say.
    """
    code = figure.what.split(":", 1)[1]
    control = plan.control(code) if figure.is_limit else None
    answers_to = control.parameter if control else code
    parameter = plan.profile.parameter(answers_to) if plan.profile else None
    if parameter is None:
        return ""
    if control is None:
        return profile_says(plan, parameter)
    return f"{name_of(answers_to)}: {words_of(parameter)}"


def shown(plan: Plan) -> list[ParameterShown]:
    """Give every figure of the plan's profile in words."""
    return [
        ParameterShown(
            parameter=parameter,
            name=name_of(parameter.code),
            words=words_of(parameter),
            provenance=provenance_words(parameter.provenance),
            profile_says=profile_says(plan, parameter),
            is_own=parameter.provenance == "own",
        )
        for parameter in (plan.profile.parameters if plan.profile else ())
    ]


def read_value(raw: str, unit: str, code: str) -> str:
    """Read a typed figure of the profile."""
    if not raw.strip():
        raise BadInput(_("Give the figure."), part="value")
    units = UNITS_OF.get(code, ())
    if not units:
        return clean(raw, most=LONGEST, part="value")
    if unit == "month-day":
        return _month_day(raw, is_window="window" in code)
    if unit in TEMPERATURES:
        return number(raw, quantity="temperature", unit=unit, part="value", confirmed=True).text
    if unit == "h":
        return number(raw, quantity="duration", unit="h", part="value", confirmed=True).text
    if unit == "mU/L":
        return number(raw, quantity="ratio", unit="ratio", part="value", confirmed=True).text
    return str(whole_number(raw, part="value"))


def _month_day(raw: str, *, is_window: bool) -> str:
    typed = clean(raw, part="value")
    form = f"{MONTH_DAY} to {MONTH_DAY}" if is_window else MONTH_DAY
    if not re.fullmatch(form, typed):
        example = "10-01 to 12-31" if is_window else "07-01"
        raise BadInput(
            _("Write month and day in two digits each, such as %(example)s.") % {"example": example},
            part="value",
        )
    return typed


def block_of(profile: Profile) -> dict[str, Any]:
    """Give a profile as the document of a plan holds it."""
    keys = ("code", "value", "unit", "note", "citation", "provenance")
    return {
        "code": profile.code,
        "read_on": profile.read_on,
        "parameters": [{key: getattr(one, key) for key in keys} for one in profile.parameters],
    }


def differences(plan: Plan, profile: Profile) -> list[Difference]:
    """List what would change if the plan took a profile over whole; figures that stay are not listed."""
    present = {one.code: one for one in (plan.profile.parameters if plan.profile else ())}
    coming = {one.code: one for one in profile.parameters}
    found = []
    for code in dict.fromkeys([*present, *coming]):
        now, then = present.get(code), coming.get(code)
        own = now is not None and now.provenance == "own"
        if own or _said(now) != _said(then):
            found.append(Difference(name_of(code), _side(now), _side(then), own))
    return found


def _said(one: Any) -> tuple[str, ...] | None:
    return (one.value, one.unit, one.note, one.citation, one.provenance) if one else None


def _side(one: Any) -> Side:
    return Side(words_of(one), one.note, one.citation) if one else Side(_("nothing said"), "", "")
