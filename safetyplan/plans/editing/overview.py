"""What is left to do in a draft: the findings by part of the editor, each with where it is mended."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from safetyplan.plans import plan_check
from safetyplan.plans.document import Plan
from safetyplan.plans.editing.frame import PARTS
from safetyplan.plans.editing.places import address, code_of, part_of, place_of
from safetyplan.plans.models import PlanDraft
from safetyplan.plans.plan_check import Finding

ERROR = "error"


@dataclass(frozen=True)
class Mended:
    """A finding with the address of the screen where it is mended; code: of the item it names, if any."""

    finding: Finding
    code: str
    address: str


@dataclass(frozen=True)
class Summary:
    """What is left to do in one part; items: its findings, errors first."""

    name: str
    title: str | Promise
    address: str
    items: tuple[Mended, ...]
    sentence: str

    @property
    def errors(self) -> int:
        """Give how many findings block approval."""
        return sum(item.finding.level == ERROR for item in self.items)

    @property
    def warnings(self) -> int:
        """Give how many findings ask to think again."""
        return len(self.items) - self.errors

    @property
    def state(self) -> str:
        """Name the state: must, again or done."""
        return "must" if self.errors else "again" if self.items else "done"


def parts_of(draft: PlanDraft | None) -> list[tuple[str, Promise]]:
    """Give the parts of the editor that there are: without a draft the overview and the file."""
    return [(name, title) for name, title in PARTS if draft or name in ("plan_draft", "plan_text")]


def summaries(plan: Plan, findings: Sequence[Finding], slug: str) -> list[Summary]:
    """Sum up every part of the editor; the file only where something is left in it."""
    found = []
    for name, title in PARTS[1:]:
        here = [finding for finding in findings if part_of(finding, plan) == name]
        here.sort(key=lambda finding: finding.level != ERROR)
        if name == "plan_text" and not here:
            continue
        items = tuple(_mended(slug, finding, plan) for finding in here)
        found.append(Summary(name, title, address(slug, name), items, _sentence(items)))
    return found


def _mended(slug: str, finding: Finding, plan: Plan) -> Mended:
    there = address(slug, *place_of(finding, plan)) or address(slug, part_of(finding, plan))
    return Mended(finding, code_of(finding, plan), there)


def first_step(shown: Sequence[Summary]) -> Mended | None:
    """Give the first finding that blocks approval, in the order of the work."""
    return next((item for summary in shown for item in summary.items if item.finding.level == ERROR), None)


def _counted(count: int) -> Mapping[str, Callable[[], str]]:
    """Give the sentences of findings that come in numbers, by id."""
    n = {"n": count}
    return {
        "P015": lambda: ngettext("Set the limit that is still open.", "Set %(n)d limits.", count) % n,
        "P018": lambda: (
            ngettext("Confirm one figure on its source.", "Confirm %(n)d figures, each on its source.", count)
            % n
        ),
        "P019": lambda: _("Sign the table of operating targets."),
        "P020": lambda: (
            ngettext("Walk the process and confirm its flow.", "Walk and confirm %(n)d processes.", count) % n
        ),
    }


def _sentence(here: Sequence[Mended]) -> str:
    """Say in plain words what to do next in a part."""
    if not here:
        return _("The checks find nothing left to do here.")
    counts = Counter(item.finding.id for item in here if item.finding.level == ERROR)
    said = [_counted(count)[code]() for code, count in counts.items() if code in _counted(count)]
    other = next(
        (item for item in here if item.finding.level == ERROR and item.finding.id not in _counted(1)), None
    )
    if other is not None:
        said.insert(0, f"{other.code}: {other.finding.message}" if other.code else other.finding.message)
    if said:
        return " ".join(said)
    return _("Nothing here blocks approval. Think again about what is marked.")


def rules() -> list[tuple[str, str, str]]:
    """List every rule of the plan check: its id, how grave a finding is, what it demands."""
    return [(rule.id, rule.level, str(rule.title)) for rule in plan_check.rules_list()]
