"""What the check says of each model plan under each profile, before and after it was worked through.

The files in snapshots/ were read line by line. A line: profile | before or after | id | where | message.
After a wanted change: UPDATE_SNAPSHOTS=1 writes them anew; read what changed before you keep it.
"""

import os
from difflib import unified_diff
from pathlib import Path

import pytest

from safetyplan.plans.plan_check import Finding
from safetyplan.reference.model_plans import model_plans
from safetyplan.reference.profiles import profiles
from tests.safetyplan.plans.rules.worked_through import after, before

FOLDER = Path(__file__).parent / "snapshots"
# what a maker has still to do, and what only a maker can bring
TO_DO = {"P015", "P018", "P019", "P020"}
MAKERS_EVIDENCE = {"P035", "P037"}


def line(profile: str, when: str, finding: Finding) -> str:
    """Write one finding."""
    return f"{profile} | {when} | {finding.id} {finding.level} | {finding.where} | {finding.message}"


def snapshot(family: str) -> list[str]:
    """Write all that is found about one family."""
    model = model_plans()[family]
    lines = []
    for profile in profiles():
        lines += [line(profile, "before", finding) for finding in before(model, profile)]
        lines += [line(profile, "after", finding) for finding in after(model, profile)]
    return lines


@pytest.mark.parametrize("family", model_plans())
def test_what_is_found_about_a_model_plan_is_what_was_read_and_kept(family: str) -> None:
    kept, now = FOLDER / f"{family}.txt", snapshot(family)
    if os.environ.get("UPDATE_SNAPSHOTS") == "1":
        kept.write_text("\n".join(now) + "\n", encoding="utf-8")

    before_it = kept.read_text(encoding="utf-8").splitlines() if kept.exists() else []

    changed = list(unified_diff(before_it, now, kept.name, "now", lineterm="", n=0))
    assert not changed, "\n".join(changed)


def test_no_snapshot_is_left_of_a_model_that_is_gone() -> None:
    assert {file.stem for file in FOLDER.glob("*.txt")} == set(model_plans())


@pytest.mark.parametrize("family", model_plans())
@pytest.mark.parametrize("profile", profiles())
def test_a_model_plan_has_errors_before_it_is_worked_through_and_none_after(
    family: str, profile: str
) -> None:
    model = model_plans()[family]

    errors = {finding.id for finding in before(model, profile) if finding.level == "error"}
    left = [finding for finding in after(model, profile) if finding.level == "error"]

    assert {"P018", "P019", "P020"} <= errors <= TO_DO
    assert left == []


@pytest.mark.parametrize("family", model_plans())
@pytest.mark.parametrize("profile", profiles())
def test_a_model_plan_warns_only_of_evidence_that_the_maker_brings(family: str, profile: str) -> None:
    model = model_plans()[family]

    warned = {
        finding.id
        for finding in (*before(model, profile), *after(model, profile))
        if finding.level == "warning"
    }

    assert warned <= MAKERS_EVIDENCE
