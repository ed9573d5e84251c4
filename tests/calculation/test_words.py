"""Every sentence a calculation can say has words, and every word has the parameters it names."""

import ast
import re
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import pytest
from django.utils import timezone, translation

from safetyplan import words
from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.sentences import say
from tests.calculation.evidence import evidence, ph
from tests.calculation.test_reached_by import AT_24, LACTIC

PACKAGE = Path(words.__file__).parents[1] / "calculation"
PLACES = re.compile(r"%\((\w+)\)s")


def said() -> Iterator[tuple[str, ast.Call]]:
    """Every call of say() in the package, with the file and line it stands in."""
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "say":
                yield f"{path.name}:{node.lineno}", node


# sentences.py reads any sentence back from its document, so its code and parameters are not written out there
SAID = [(place, call) for place, call in said() if not place.startswith("sentences.py")]


def test_every_sentence_is_written_out_with_its_code_and_its_parameters() -> None:
    vague = [
        place
        for place, call in SAID
        if not (call.args and isinstance(call.args[0], ast.Constant))
        or None in [k.arg for k in call.keywords]
    ]
    assert vague == []
    assert len(SAID) > 80


def test_every_sentence_has_words_whose_parameters_are_all_supplied() -> None:
    lacking = []
    for place, call in SAID:
        code = ast.literal_eval(call.args[0])
        supplied = {keyword.arg for keyword in call.keywords}
        if code not in words.WORDS or not set(PLACES.findall(str(words.WORDS[code]))) <= supplied:
            lacking.append((place, code))
    assert lacking == []


def test_no_words_are_kept_for_a_sentence_nobody_says() -> None:
    assert set(words.WORDS) - {ast.literal_eval(call.args[0]) for _, call in SAID} == set()


def test_no_name_and_no_sentence_is_worded_twice_in_different_words() -> None:
    subjects = [
        import_module(f"safetyplan.words.{path.stem}")
        for path in Path(words.__file__).parent.glob("*.py")
        if path.stem not in ("__init__", "shape")
    ]
    for table in ("NAMES", "WORDS"):
        said = [(code, str(text)) for subject in subjects for code, text in getattr(subject, table).items()]
        assert [code for code, text in said if str(getattr(words, table)[code]) != text] == []


def test_no_words_call_anything_safe() -> None:
    assert [
        code for code, text in words.WORDS.items() if re.search(r"\bsafe", str(text), re.IGNORECASE)
    ] == []


def test_a_missed_deadline_is_said_in_the_words_of_the_trade() -> None:
    judgement = load(LACTIC).judge(evidence(ph("4.71", "24"), ordinal=AT_24))
    with translation.override("en"):
        assert (
            words.render(judgement.sentence)
            == "pH 4.71 is above the limit 4.60 at 24 h after starter added, by 0.11."
        )


def test_an_instant_is_shown_in_the_current_time_zone() -> None:
    sentence = say("time_future", observed_at="2026-05-14T18:00:00.000Z")
    with timezone.override("Europe/Paris"), translation.override("en"):
        assert words.render(sentence) == "2026-05-14 20:00 is still to come."


def test_a_name_the_plan_made_up_is_shown_with_blanks() -> None:
    assert words.render(say("part", part="smear_bucket")) == "smear bucket"


def test_a_percent_sign_in_an_amount_is_kept() -> None:
    with translation.override("en"):
        assert words.render(say("offer_as_typed", shown="18 % w/w")) == "Yes, 18 % w/w"


def test_a_sentence_without_words_or_with_a_parameter_missing_is_an_error() -> None:
    with pytest.raises(KeyError):
        words.render(say("never_said"))
    with pytest.raises(KeyError):
        words.render(say("above_limit", value="pH 4.71"))
