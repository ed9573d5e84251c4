"""Whether a step is a critical control point: two published trees of questions, as data.

A tree asks its questions in an order that the answers decide; the answers are kept with the plan, not only
the result. What a tree gives is an opinion on paper: the people who write the plan may differ and say why.

Sources: codex_2022: Codex General Principles of Food Hygiene CXC 1-1969, tree adopted in 2022; questions 1
and 2 read in a reproduction, questions 3 and 4 from memory. classic: the four questions of CXC 1-1969 rev.
1997 and 2003, read in a regulator's determination sheet; the last branch from memory.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

Answer = Literal["yes", "no"]
ANSWERS: tuple[Answer, ...] = ("yes", "no")
Result = Literal["ccp", "not_ccp", "later_step", "prerequisite", "change"]

RESULTS: Mapping[Result, Promise] = {
    "ccp": _("This step is a critical control point."),
    "not_ccp": _("This step is not a critical control point for this hazard."),
    "later_step": _(
        "Not a critical control point here: the later step controls the hazard and should be one itself."
    ),
    "prerequisite": _("Not a critical control point: good hygiene practice controls the hazard."),
    "change": _(
        "Change the step, the process or the product so that a control exists, and analyse the hazard again."
    ),
}


@dataclass(frozen=True)
class Question:
    """One question of a tree; each answer leads to another question or to a result."""

    code: str
    text: Promise
    yes: str
    no: str

    def next(self, answer: Answer) -> str:
        """Give the code of the question or the result that an answer leads to."""
        return self.yes if answer == "yes" else self.no


@dataclass(frozen=True)
class Tree:
    """A decision tree: its name, its source, its questions; it begins with the first."""

    code: str
    name: Promise
    source: str
    questions: tuple[Question, ...]

    def question(self, code: str) -> Question | None:
        """Find a question by code."""
        return next((question for question in self.questions if question.code == code), None)


CODEX_2022 = Tree(
    "codex_2022",
    _("Codex decision tree of 2022"),
    "Codex CXC 1-1969, decision tree of 2022 (questions 3 and 4 from memory)",
    (
        Question(
            "q1",
            _("Can good hygiene practice alone hold the hazard at an acceptable level at this step?"),
            "prerequisite",
            "q2",
        ),
        Question(
            "q2", _("Is there a specific control measure for the hazard at this step?"), "q3", "not_ccp"
        ),
        Question(
            "q3",
            _("Will a later step prevent or remove the hazard, or bring it to an acceptable level?"),
            "later_step",
            "q4",
        ),
        Question(
            "q4",
            _("Can this step itself prevent or remove the hazard, or bring it to an acceptable level?"),
            "ccp",
            "change",
        ),
    ),
)

CLASSIC = Tree(
    "classic",
    _("Classic tree of four questions"),
    "Codex CXC 1-1969 rev. 1997 and 2003 (the last branch from memory)",
    (
        Question("q1", _("Do preventive control measures exist?"), "q2", "q1_needed"),
        Question("q1_needed", _("Is control at this step needed to protect the eater?"), "change", "not_ccp"),
        Question(
            "q2",
            _(
                "Is the step made specifically to remove the hazard or bring its likelihood to an "
                "acceptable level?"
            ),
            "ccp",
            "q3",
        ),
        Question(
            "q3",
            _("Could contamination exceed an acceptable level, or grow beyond it?"),
            "q4",
            "not_ccp",
        ),
        Question(
            "q4",
            _("Will a later step remove the hazard or bring it to an acceptable level?"),
            "later_step",
            "ccp",
        ),
    ),
)

TREES: Mapping[str, Tree] = {tree.code: tree for tree in (CODEX_2022, CLASSIC)}


@dataclass(frozen=True)
class Walk:
    """A way through a tree: the questions met, the one still open, the result reached, unused answers."""

    asked: tuple[Question, ...]
    open: Question | None
    result: Result | None
    unused: tuple[str, ...]


def walk(tree: Tree, answers: Mapping[str, str]) -> Walk:
    """Follow the answers from the first question until one is missing or a result is reached.

    An answer other than yes or no counts as missing. Answers to questions that the way does not meet are
    named as unused: they were given for another way through the tree.
    """
    asked: list[Question] = []
    place = tree.questions[0].code
    while (question := tree.question(place)) is not None:
        asked.append(question)
        given = answers.get(question.code)
        if given not in ANSWERS:
            return Walk(tuple(asked), question, None, _unused(asked, answers))
        place = question.next("yes" if given == "yes" else "no")
    result = next(name for name in RESULTS if name == place)
    return Walk(tuple(asked), None, result, _unused(asked, answers))


def _unused(asked: list[Question], answers: Mapping[str, str]) -> tuple[str, ...]:
    met = {question.code for question in asked}
    return tuple(sorted(set(answers) - met))
