"""Every way through both published trees, and what each means.

Sources, by the letters in the tables (what is paraphrased there was read in them, save where it says memory):
A   reproduction of the tree of 2022 of Codex CXC 1-1969 (questions 1 and 2, and the notes * and **)
M   the same tree from memory (questions 3 and 4, and the note ***)
B   Canadian Food Inspection Agency, Guide to Food Safety (2010), Annex III: the tree of CAC/RCP 1-1969 rev. 3
    (1997) told in words
C   Canadian Food Inspection Agency, worksheet for the determination of critical control points: the four
    questions and where each answer leads
"""

from itertools import product

import pytest

from safetyplan.plans.decision_tree import ANSWERS, CLASSIC, CODEX_2022, RESULTS, TREES, Tree, walk

# the answers on the way, what the tree then says (published meaning, source), our result, what it adds
CODEX_WAYS = [
    (
        "yes",
        "not a critical control point; good hygiene practice, routine or with greater attention (A)",
        "prerequisite",
        "greater attention",
    ),
    (
        "no no",
        "not a critical control point; later steps are evaluated; without any, change and analyse again (A)",
        "not_ccp",
        "Look at the later steps",
    ),
    (
        "no yes yes",
        "not a critical control point; the later step should be one (M)",
        "later_step",
        "The later step should be a critical control point",
    ),
    (
        "no yes no yes",
        "critical control point; with another step that it needs, both (M)",
        "ccp",
        "both are critical control points",
    ),
    (
        "no yes no no",
        "change the process or product so that a control exists, and analyse the hazard again (A, M)",
        "change",
        "",
    ),
]
CLASSIC_WAYS = [
    (
        "no yes",
        "change step, process or product and go back to the first question (B)",
        "change",
        "begin again",
    ),
    ("no no", "not a critical control point; proceed to the next hazard (B)", "not_ccp", ""),
    ("yes yes", "critical control point (B, C)", "ccp", ""),
    ("yes no no", "not a critical control point; proceed to the next hazard (B, C)", "not_ccp", ""),
    ("yes no yes yes", "not a critical control point (C)", "later_step", ""),
    ("yes no yes no", "critical control point (C)", "ccp", ""),
]
WAYS = [(CODEX_2022, *row) for row in CODEX_WAYS] + [(CLASSIC, *row) for row in CLASSIC_WAYS]
# what a published meaning must begin with for each of our results
BEGINS = {
    "ccp": "critical control point",
    "not_ccp": "not a critical control point",
    "later_step": "not a critical control point",
    "prerequisite": "not a critical control point",
    "change": "change",
}


def answers_of(tree: Tree, way: list[str]) -> dict[str, str]:
    """Give the answers of a way, question by question as they come up."""
    answers: dict[str, str] = {}
    for answer in way:
        question = walk(tree, answers).open
        assert question is not None
        answers[question.code] = answer
    return answers


@pytest.mark.parametrize(
    ("tree", "way", "published", "result", "note"), WAYS, ids=[f"{row[0].code} {row[1]}" for row in WAYS]
)
def test_a_way_through_a_tree_ends_in_its_published_meaning(
    tree: Tree, way: str, published: str, result: str, note: str
) -> None:
    found = walk(tree, answers_of(tree, way.split()))

    assert published.startswith(BEGINS[result])
    assert (found.result, found.open, found.unused) == (result, None, ())
    assert note in str(found.note)
    assert bool(found.note) == bool(note)


@pytest.mark.parametrize(("tree", "ways"), [(CODEX_2022, CODEX_WAYS), (CLASSIC, CLASSIC_WAYS)])
def test_the_table_holds_every_way_there_is_once(tree: Tree, ways: list[tuple[str, str, str, str]]) -> None:
    codes = [question.code for question in tree.questions]
    found = set()
    for given in product(ANSWERS, repeat=len(codes)):
        answers = dict(zip(codes, given, strict=True))
        found.add(" ".join(answers[question.code] for question in walk(tree, answers).asked))

    assert sorted(found) == sorted(row[0] for row in ways)


@pytest.mark.parametrize("tree", TREES.values(), ids=list(TREES))
def test_every_way_that_is_not_at_its_end_has_a_question_open_and_no_result(tree: Tree) -> None:
    for row in CODEX_WAYS if tree is CODEX_2022 else CLASSIC_WAYS:
        way = row[0].split()
        for length in range(len(way)):
            found = walk(tree, answers_of(tree, way[:length]))
            assert (found.result, found.open, found.note) == (None, found.asked[-1], "")
            assert len(found.asked) == length + 1


@pytest.mark.parametrize("tree", TREES.values(), ids=list(TREES))
def test_every_answer_of_a_tree_leads_to_a_question_or_a_result(tree: Tree) -> None:
    for question in tree.questions:
        for answer in ANSWERS:
            place = question.next(answer)
            assert (tree.question(place) is not None) != (place in RESULTS)


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
