"""Every way through both published trees, and what each means.

Codex CXC 1-1969, tree of 2022 (questions 3 and 4 from memory), and the four questions of 1997 and 2003 as on
a regulator's determination sheet (the last branch from memory).
"""

from itertools import product

import pytest

from safetyplan.plans.decision_tree import ANSWERS, CLASSIC, CODEX_2022, RESULTS, TREES, Tree, walk

CODEX_WAYS = {
    "yes": "prerequisite",  # held by good hygiene practice: not a critical control point
    "no no": "not_ccp",  # no specific measure here: look at later steps
    "no yes yes": "later_step",  # the later step should be the critical control point
    "no yes no yes": "ccp",
    "no yes no no": "change",  # no step controls it: change step, process or product
}
CLASSIC_WAYS = {
    "no yes": "change",  # control is needed and no measure exists
    "no no": "not_ccp",
    "yes yes": "ccp",  # the step is made for it
    "yes no no": "not_ccp",  # contamination cannot exceed the acceptable level
    "yes no yes yes": "later_step",
    "yes no yes no": "ccp",
}
WAYS = [(CODEX_2022, way, result) for way, result in CODEX_WAYS.items()] + [
    (CLASSIC, way, result) for way, result in CLASSIC_WAYS.items()
]


def answers_of(tree: Tree, way: list[str]) -> dict[str, str]:
    """Give the answers of a way, question by question as they come up."""
    answers: dict[str, str] = {}
    for answer in way:
        question = walk(tree, answers).open
        assert question is not None
        answers[question.code] = answer
    return answers


@pytest.mark.parametrize(("tree", "way", "result"), WAYS, ids=[f"{t.code} {w}" for t, w, _ in WAYS])
def test_a_way_through_a_tree_ends_in_its_published_meaning(tree: Tree, way: str, result: str) -> None:
    found = walk(tree, answers_of(tree, way.split()))
    assert (found.result, found.open, found.unused) == (result, None, ())


@pytest.mark.parametrize(("tree", "ways"), [(CODEX_2022, CODEX_WAYS), (CLASSIC, CLASSIC_WAYS)])
def test_the_table_holds_every_way_there_is(tree: Tree, ways: dict[str, str]) -> None:
    codes = [question.code for question in tree.questions]
    found = set()
    for given in product(ANSWERS, repeat=len(codes)):
        answers = dict(zip(codes, given, strict=True))
        found.add(" ".join(answers[question.code] for question in walk(tree, answers).asked))
    assert found == set(ways)


@pytest.mark.parametrize("tree", TREES.values(), ids=list(TREES))
def test_without_answers_the_first_question_is_open_and_there_is_no_result(tree: Tree) -> None:
    found = walk(tree, {})
    assert (found.open, found.result) == (tree.questions[0], None)


def test_an_answer_that_is_neither_yes_nor_no_leaves_the_question_open() -> None:
    assert walk(CODEX_2022, {"q1": "perhaps"}).open == CODEX_2022.questions[0]


def test_an_answer_to_a_question_not_met_is_named_as_unused() -> None:
    assert walk(CODEX_2022, {"q1": "yes", "q4": "no"}).unused == ("q4",)
    assert walk(CODEX_2022, {"q1": "yes"}).unused == ()


def test_every_result_has_words_and_every_tree_its_source() -> None:
    assert all(str(text) for text in RESULTS.values())
    assert all(tree.source for tree in TREES.values())
