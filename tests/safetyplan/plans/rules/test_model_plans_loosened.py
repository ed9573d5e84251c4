"""Every limit of a model plan that a figure of its profile bounds: a little past the figure, and it is named.

The figure is set exactly first, which passes; then 0.1 beyond it, in the unit of the profile. Which limits a
figure bounds is written down in the control's key `parameter`; the figures are those of the profile, each
with its citation there.
"""

from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass
from decimal import Decimal

import pytest

from safetyplan.calculation.heat_tables import RULES
from safetyplan.plans.document import read
from safetyplan.plans.rules.profile_figures import answers_to
from safetyplan.reference.model_plans import model_plans
from safetyplan.reference.profiles import Parameter, profiles
from tests.safetyplan.plans.rules.plans import Data, item
from tests.safetyplan.plans.rules.worked_through import check_confirmed, worked

STEP = Decimal("0.1")
SIDES = {
    "milk_temperature_most": ("temperature", "at_most"),
    "milk_at_dairy_most": ("temperature", "at_most"),
    "milk_before_setting_most": ("temperature", "at_most"),
    "cold_store_most": ("temperature", "at_most"),
    "ageing_days": ("duration", "at_least"),
    "ageing_temperature_least": ("temperature", "at_least"),
}
UNITS = {"days": "d"}


@dataclass(frozen=True)
class Case:
    """One limit of one model plan under one profile, and the figure that bounds it."""

    family: str
    profile: str
    control: str
    parameter: Parameter

    def __str__(self) -> str:
        return f"{self.family}-{self.profile}-{self.control}-{self.parameter.code}"


def cases() -> Iterator[Case]:
    """Give every limit that a figure bounds: temperatures, days, heat."""
    for family, model in model_plans().items():
        for profile in profiles().values():
            document = worked(model, profile.code)
            raw = document["products"][0]["treatment"] != "pasteurised"
            for control in document["controls"]:
                found = profile.parameter(control.get("parameter", ""))
                if (
                    found
                    and found.value
                    and not (raw and found.code == "heat_rule")
                    and not (not raw and found.code.startswith("ageing"))
                ):
                    yield Case(family, profile.code, control["code"], found)


CASES = list(cases())


def bounds(limit: Data, quantity: str, side: str) -> list[Data]:
    """Find the bounds of a quantity on one side in a limit, however deep."""
    if "members" in limit:
        return [found for member in limit["members"] for found in bounds(member, quantity, side)]
    return [limit] if limit.get("quantity") == quantity and limit.get(side) is not None else []


def moved(case: Case, by: Decimal) -> list[tuple[str, str]]:
    """Set the limit to the figure, moved to the loose side by so much; give what is found of it."""
    document = deepcopy(worked(model_plans()[case.family], case.profile))
    quantity, side = SIDES[case.parameter.code]
    unit = UNITS.get(case.parameter.unit, case.parameter.unit)
    value = Decimal(case.parameter.value) + (by if side == "at_most" else -by)
    found = bounds(item(document, case.control)["limit"], quantity, side)
    assert found
    for one in found:
        one.update({"unit": unit, side: str(value), "target_at_most": None, "target_at_least": None})
        one.pop({"at_most": "at_least", "at_least": "at_most"}[side], None)
    return told(document, case.control)


def told(document: Data, code: str) -> list[tuple[str, str]]:
    """Give ids and messages of what is found about a limit against its profile."""
    return [
        (finding.id, finding.message)
        for finding in check_confirmed(document)
        if finding.where == code and finding.id in ("P021", "P025")
    ]


@pytest.mark.parametrize("case", [case for case in CASES if case.parameter.code in SIDES], ids=str)
def test_a_limit_past_the_figure_of_the_profile_is_found_with_the_citation(case: Case) -> None:
    exactly, past = moved(case, Decimal(0)), moved(case, STEP)

    assert exactly == []
    assert [id for id, _message in past] == ["P021"]
    assert case.parameter.citation in past[0][1]


def holds(limit: Data) -> list[Data]:
    """Find the holds in a limit."""
    if "members" in limit:
        return [found for member in limit["members"] for found in holds(member)]
    return [limit] if limit["kind"] == "held_for" else []


def cooler(case: Case, key: str) -> list[tuple[str, str]]:
    """Lower one figure of a hold just below the table of the profile; give what is found of it."""
    document = worked(model_plans()[case.family], case.profile)
    (hold,) = holds(item(document, case.control)["limit"])
    table = RULES[case.parameter.value]
    assert hold["unit"] == table.unit
    seconds = Decimal(hold["minutes"]) * 60
    row = max((row for row in table.rows if row.hold_seconds <= seconds), key=lambda row: row.hold_seconds)
    least = row.temperature if key == "product_at_least" else row.temperature + (table.air_space_above or 0)
    hold.update({key: str(least - STEP), "product_target": None})
    return told(document, case.control)


@pytest.mark.parametrize("case", [case for case in CASES if case.parameter.code == "heat_rule"], ids=str)
def test_a_heat_limit_below_the_table_of_the_profile_is_found_with_the_citation(case: Case) -> None:
    past = cooler(case, "product_at_least")

    assert [id for id, _message in past] == ["P021"]
    assert case.parameter.citation in past[0][1]


@pytest.mark.parametrize(
    "case",
    [
        case
        for case in CASES
        if case.parameter.code == "heat_rule" and RULES[case.parameter.value].air_space_above
    ],
    ids=str,
)
def test_an_air_space_below_the_table_of_the_profile_is_found(case: Case) -> None:
    assert [id for id, _message in cooler(case, "air_space_at_least")] == ["P021"]


def phosphatase_cases() -> Iterator[tuple[str, str]]:
    """Give the model plans whose verification names an activity of phosphatase, under each profile."""
    for family, model in model_plans().items():
        for profile in profiles():
            if any("mU/L" in one["how"] for one in worked(model, profile)["verifications"]):
                yield family, profile


@pytest.mark.parametrize(("family", "profile"), list(phosphatase_cases()))
def test_a_phosphatase_past_the_figure_of_the_profile_is_found(family: str, profile: str) -> None:
    document = worked(model_plans()[family], profile)
    (test,) = (one for one in document["verifications"] if "350 mU/L" in one["how"])
    parameters = [one for one in profiles()[profile].parameters if one.code.startswith("phosphatase")]

    test["how"] = test["how"].replace("350 mU/L", "351 mU/L")

    found = [finding for finding in check_confirmed(document) if finding.id == "P021"]
    assert [finding.where for finding in found] == [test["code"]]
    assert parameters[0].citation in found[0].message


@pytest.mark.parametrize("family", model_plans())
@pytest.mark.parametrize("profile", profiles())
def test_a_limit_that_a_figure_bounds_names_the_figure(family: str, profile: str) -> None:
    """What is recognised by its words alone in a plan written by hand carries the key in a model plan."""
    plan = read(worked(model_plans()[family], profile))

    unnamed = [c.code for c in plan.controls if answers_to(plan, c) and not c.parameter]

    assert unnamed == []


def test_there_is_a_limit_for_every_kind_of_figure() -> None:
    assert {case.family for case in CASES} == set(model_plans())
    assert {"milk_temperature_most", "milk_at_dairy_most", "cold_store_most", "heat_rule"} <= {
        case.parameter.code for case in CASES
    }
