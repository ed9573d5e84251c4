"""Whether a step is a critical control point: two published trees of questions, as data.

A tree asks its questions in an order that the answers decide; the answers are kept with the plan, not only
the result. What a tree gives is an opinion on paper: the people who write the plan may differ and say why.

Sources. codex_2022: Codex General Principles of Food Hygiene CXC 1-1969, tree adopted in 2022: questions 1
and 2 and the notes on them read in a reproduction, questions 3 and 4 and the note on two steps that work
together from memory. classic: the four questions of CXC 1-1969 rev. 3 (1997) and 2003, read whole in the
Canadian Food Inspection Agency's Guide to Food Safety (2010), Annex III, and in its worksheet for the
determination of critical control points.
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
    "later_step": _("This step is not a critical control point: a later step deals with the hazard."),
    "prerequisite": _(
        "This step is not a critical control point: good hygiene practice controls the hazard."
    ),
    "change": _(
        "Change the step, the process or the product so that a control exists, and analyse the hazard again."
    ),
}


@dataclass(frozen=True)
class Question:
    """One question of a tree; each answer leads to another question or to a result.

    yes_note, no_note: what the published tree adds where the answer ends the way.
    """

    code: str
    text: Promise
    yes: str
    no: str
    yes_note: Promise | str = ""
    no_note: Promise | str = ""

    def next(self, answer: Answer) -> str:
        """Give the code of the question or the result that an answer leads to."""
        return self.yes if answer == "yes" else self.no

    def note(self, answer: Answer) -> Promise | str:
        """Give what the published tree adds to an answer; most often nothing."""
        return self.yes_note if answer == "yes" else self.no_note


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


_LATER_STEPS = _(
    "Look at the later steps. If no step comes out as a critical control point, change the process or the "
    "product and analyse the hazard again."
)

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
            yes_note=_(
                "The practice may be routine, or need greater attention: then it is monitored and recorded."
            ),
        ),
        Question(
            "q2",
            _("Is there a specific control measure for the hazard at this step?"),
            "q3",
            "not_ccp",
            no_note=_LATER_STEPS,
        ),
        Question(
            "q3",
            _("Will a later step prevent or remove the hazard, or bring it to an acceptable level?"),
            "later_step",
            "q4",
            yes_note=_("The later step should be a critical control point."),
        ),
        Question(
            "q4",
            _("Can this step itself prevent or remove the hazard, or bring it to an acceptable level?"),
            "ccp",
            "change",
            yes_note=_("If it works only together with another step, both are critical control points."),
        ),
    ),
)

CLASSIC = Tree(
    "classic",
    _("Classic tree of four questions"),
    "Codex CXC 1-1969 rev. 3 (1997) and 2003",
    (
        Question("q1", _("Do preventive control measures exist?"), "q2", "q1_needed"),
        Question(
            "q1_needed",
            _("Is control at this step needed to protect the eater?"),
            "change",
            "not_ccp",
            yes_note=_("After the change, begin again with the first question."),
        ),
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
    """A way through a tree: the questions met, the one still open, the result reached, unused answers.

    note: what the published tree adds to this result.
    """

    asked: tuple[Question, ...]
    open: Question | None
    result: Result | None
    unused: tuple[str, ...]
    note: Promise | str = ""


def walk(tree: Tree, answers: Mapping[str, str]) -> Walk:
    """Follow the answers from the first question until one is missing or a result is reached.

    An answer other than yes or no counts as missing. Answers to questions that the way does not meet are
    named as unused: they were given for another way through the tree.
    """
    asked: list[Question] = []
    place = tree.questions[0].code
    note: Promise | str = ""
    while (question := tree.question(place)) is not None:
        asked.append(question)
        given = answers.get(question.code)
        if given not in ANSWERS:
            return Walk(tuple(asked), question, None, _unused(asked, answers))
        answer: Answer = "yes" if given == "yes" else "no"
        place, note = question.next(answer), question.note(answer)
    result = next(name for name in RESULTS if name == place)
    return Walk(tuple(asked), None, result, _unused(asked, answers), note)


def _unused(asked: list[Question], answers: Mapping[str, str]) -> tuple[str, ...]:
    met = {question.code for question in asked}
    return tuple(sorted(set(answers) - met))
