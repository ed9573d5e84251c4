"""One fact of a plan as versions are compared by it, and how each kind of value is told. Pure."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.calculation.sentences import Sentence
from safetyplan.plans.change_codes import code_words
from safetyplan.plans.described import TARGET, TOLERANCE, WINDOW
from safetyplan.plans.document import Control, Plan
from safetyplan.words import render

LIMIT = "limit"
FACETS: Mapping[str, Promise] = {
    LIMIT: gettext_lazy("limit"),
    TARGET: gettext_lazy("operating target"),
    WINDOW: gettext_lazy("window for measuring"),
    TOLERANCE: gettext_lazy("tolerance of the instrument"),
}


@dataclass(frozen=True)
class Fact:
    """One fact: its name as a noun, the value that is compared, its words.

    many: the noun is in the plural. key: what the fact is matched by, where the name may differ.
    """

    name: str
    value: Any
    words: str
    many: bool = False
    key: str = ""

    @property
    def matched_by(self) -> str:
        """Give what the fact is matched by in the other version."""
        return self.key or self.name


def text_fact(name: str, text: str) -> Fact:
    """Tell a text by itself."""
    return Fact(name, text, text)


def coded_fact(name: str, code: str) -> Fact:
    """Tell a code by its words."""
    return Fact(name, code, code_words(code))


def yes_no_fact(name: str, *, value: bool) -> Fact:
    """Tell an answer."""
    return Fact(name, value, _("yes") if value else _("no"))


def listed_fact(name: str, texts: Iterable[str]) -> Fact:
    """Tell a list of texts."""
    found = tuple(texts)
    return Fact(name, found, ", ".join(found), many=True)


def step_name(plan: Plan, products: Sequence[str], code: str) -> str:
    """Name a step as the first of the products calls it; a code that names none as it is."""
    for product in plan.products:
        step = product.step(code)
        if step is not None and (not products or product.code in products):
            return step.name
    return code


def _facet(sentence: Sentence) -> str:
    words = sentence.code.split("_")
    return next((name for name in (TARGET, TOLERANCE, WINDOW) if name in words), LIMIT)


def _bare(sentence: Sentence) -> str:
    text = render(sentence).strip().removesuffix(".")
    for heading in (_("Limit:"), _("Target:")):
        text = text.removeprefix(heading).strip()
    return text


def facets(control: Control) -> dict[str, list[str]]:
    """Give limit, target, window and tolerance of a control, each in its own sentences."""
    found: dict[str, list[str]] = {name: [] for name in FACETS}
    for sentence in control.limit.describe():
        found[_facet(sentence)].append(_bare(sentence))
    return found


def _differing(mine: list[str], other: list[str]) -> list[str]:
    """Leave out the sentences that stand in both at the same place."""
    if len(mine) != len(other):
        return mine
    return [text for text, same in zip(mine, other, strict=True) if text != same]


def limit_fact(control: Control, other: Control) -> Fact:
    """Give a limit with all that belongs to it, as far as it differs from another."""
    own, beside = facets(control), facets(other)
    changed = [name for name in FACETS if own[name] != beside[name]]
    name = str(FACETS[changed[0] if changed else LIMIT])
    if control.is_ccp and (not changed or changed[0] == LIMIT):
        name = _("critical limit")
    lines = []
    for facet in changed:
        text = "; ".join(_differing(own[facet], beside[facet]))
        target = facet == TARGET and changed != [TARGET] and text
        lines.append(_("target %(text)s") % {"text": text} if target else text)
    return Fact(name, str(control.limit.to_document()), "; ".join(filter(None, lines)), key=LIMIT)


def gist_of_control(plan: Plan, control: Control) -> str:
    """Give the limit of a control that is new or left out; the target where it has no limit."""
    found = facets(control)
    return "; ".join(found[LIMIT] or found[TARGET])
