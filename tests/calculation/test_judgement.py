"""Sentences and judgements as values: their documents, and which state is worse."""

import json
from decimal import Decimal
from typing import Any

import pytest

from safetyplan.calculation.judgement import Judgement, State, combined, severity, worst
from safetyplan.calculation.sentences import Sentence, say


def test_a_sentence_comes_back_from_its_document() -> None:
    sentence = say("above_limit", value="pH 4.71", limit="4.60")
    assert Sentence.from_document(json.loads(json.dumps(sentence.to_document()))) == sentence


def test_the_order_of_parameters_makes_no_difference() -> None:
    assert say("x", a="1", b="2") == say("x", b="2", a="1")


@pytest.mark.parametrize(
    "document",
    [
        {},
        {"code": "x"},
        {"code": 1, "params": {}},
        {"code": "x", "params": {"a": 1}},
        {"code": "x", "params": {}, "y": 1},
    ],
)
def test_a_document_that_is_no_sentence_is_refused(document: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="sentence"):
        Sentence.from_document(document)


def test_a_judgement_comes_back_from_its_document() -> None:
    judgement = Judgement(State.OUTSIDE_LIMIT, say("a"), Decimal("-0.110"), "pH", (say("b", c="d"),))
    assert Judgement.from_document(json.loads(json.dumps(judgement.to_document()))) == judgement


def test_outside_the_limit_is_the_worst_and_within_the_mildest() -> None:
    assert sorted(State, key=severity) == [
        State.WITHIN,
        State.OUTSIDE_TARGET,
        State.NOT_YET_DUE,
        State.INSTRUMENT_NOT_VALID,
        State.NOT_SHOWN,
        State.OUTSIDE_LIMIT,
    ]


def test_of_equal_states_the_smaller_margin_is_the_worst() -> None:
    near, far = (Judgement(State.WITHIN, say("x"), Decimal(margin), "degC") for margin in ("0.1", "3"))
    assert worst([far, near]) is near


def test_combining_keeps_what_the_milder_ones_found() -> None:
    mild = Judgement(State.OUTSIDE_TARGET, say("mild"), warnings=(say("aside"),))
    judgement = combined([Judgement(State.WITHIN, say("fine")), mild, Judgement(State.NOT_SHOWN, say("gap"))])
    assert judgement.state is State.NOT_SHOWN
    assert [warning.code for warning in judgement.warnings] == ["mild", "aside"]
