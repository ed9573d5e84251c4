"""The types of a control measure in the words of the plan's regulatory profile.

One plan keeps one code per type; what it is called depends on where the dairy works.

Sources: US: 21 CFR 117.135(c) (process, food allergen and sanitation controls read; supply-chain and other
controls from memory). EU: Commission Notice 2022/C 355/01 (its title and contents read, the words of the
programmes from memory). Codex: CXC 1-1969, decision tree of 2022, for good hygiene practice that needs
greater attention (read in a reproduction); the others from memory. Australia, New Zealand, Canada: from
memory.
"""

from collections.abc import Mapping

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from safetyplan.plans.parts import MEASURE_TYPES, Plan
from safetyplan.reference.profiles import profiles

Words = Mapping[str, Promise]

US_WORDS: Words = {
    "process": _("process control"),
    "allergen": _("food allergen control"),
    "sanitation": _("sanitation control"),
    "supply_chain": _("supply-chain control"),
    "prerequisite": _("good manufacturing practice (prerequisite programme)"),
    "prerequisite_attention": _("other preventive control: prerequisite needing greater attention"),
}
CODEX_WORDS: Words = {
    "process": _("control measure at a step of the process"),
    "allergen": _("allergen management"),
    "sanitation": _("cleaning and disinfection"),
    "supply_chain": _("control of incoming materials"),
    "prerequisite": _("good hygiene practice"),
    "prerequisite_attention": _("good hygiene practice needing greater attention"),
}
PREREQUISITE_WORDS: Words = {
    "process": _("control measure at a step of the process"),
    "allergen": _("allergen management"),
    "sanitation": _("cleaning and disinfection"),
    "supply_chain": _("control of raw materials and suppliers"),
    "prerequisite": _("prerequisite programme"),
    "prerequisite_attention": _("prerequisite programme needing greater attention"),
}
# a jurisdiction that is not named here speaks of prerequisite programmes
BY_JURISDICTION: Mapping[str, Words] = {"US": US_WORDS, "Codex": CODEX_WORDS}


def measure_words(plan: Plan) -> Words:
    """Give the words for every type, as the plan's profile has them; without a profile those of Codex."""
    known = profiles().get(plan.profile.code) if plan.profile else None
    if known is None:
        return CODEX_WORDS
    return BY_JURISDICTION.get(known.jurisdiction, PREREQUISITE_WORDS)


def measure_type_words(plan: Plan, code: str) -> str:
    """Name a type of control measure; nothing for none, the code itself for one that is not known."""
    return str(measure_words(plan).get(code, code))


def measure_type_choices(plan: Plan) -> list[tuple[str, str]]:
    """Give every type with its name, in their order."""
    return [(code, measure_type_words(plan, code)) for code in MEASURE_TYPES]
