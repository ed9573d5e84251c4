"""The table of attempts against the rules that protect the eater: what is tried, by whom, and how it ends."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from safetyplan.establishments.models import Role
from tests.records.rules.acts import Act, Told
from tests.records.rules.scene import ROLES, Shown

MAY_14, MAY_15 = date(2026, 5, 14), date(2026, 5, 15)
MAKER, REVIEWER, QUALIFIED, RESPONSIBLE = ROLES[:4]
ONLY_MAKER, ONLY_REVIEWER, ONLY_QUALIFIED, ONLY_RESPONSIBLE = ((role,) for role in ROLES[:4])
WRITING = (MAKER, REVIEWER, QUALIFIED, RESPONSIBLE)
SENDING = (MAKER, RESPONSIBLE)
EVERYBODY = ROLES
NOT_MADE = "not_made, open, hold missing"


def without_hold(words: str) -> str:
    """Say the same of a lot that has left: nothing to set apart, but a recall to decide."""
    return words.replace("hold missing", "recall missing")


@dataclass(frozen=True)
class Refusal:
    """The attempt is refused: the status, and words the person is told."""

    status: int
    words: str


@dataclass(frozen=True)
class Ends:
    """The attempt is carried out: what the records say afterwards."""

    facts: tuple[str, ...]


Outcome = Refusal | Ends
FORBIDDEN = Refusal(403, "This needs the role")


def told(*facts: str) -> Ends:
    """Say what the records say afterwards."""
    return Ends(facts)


def no(words: str, status: int = 409) -> Refusal:
    """Say in which words the attempt is refused."""
    return Refusal(status, words)


@dataclass(frozen=True)
class Attempt:
    """One attempt.

    before: what happened, with the hour of each step. own: what the actor did of it, with a maker's role lent
    for the purpose. who: the roles that get as far as the rule; every other
    role is refused outright. shows: what the sheet of the day shows of the watched check afterwards.
    """

    rule: int
    sentence: str
    before: Told
    hour: float
    act: Act
    who: tuple[Role, ...]
    ends: Outcome
    shows: Shown
    watch: str = "CCP2"
    day: date = MAY_15
    own: Told = ()

    @property
    def outcomes(self) -> Mapping[Role, Outcome]:
        """Give the expected outcome for each role."""
        return {role: self.ends if role in self.who else FORBIDDEN for role in ROLES}
