"""The words for what a calculation says: one translatable template per sentence code, a file per subject.

Templates take the parameters of the sentence by name. Names of parts, events, options, quantities, organisms
and the like are looked up here too; a name the plan made up is shown with blanks for underscores. Instants
are shown in the current time zone.
"""

from datetime import datetime
from importlib import import_module

from django.utils import timezone
from django.utils.translation import gettext

from safetyplan.calculation.sentences import Sentence
from safetyplan.words.shape import Words

_SUBJECTS = [
    import_module(f"safetyplan.words.{subject}")
    for subject in (
        "acidification",
        "ageing",
        "brine",
        "calculators",
        "composition",
        "general",
        "growth",
        "heat",
        "instruments",
        "limit_kinds",
        "sampling",
        "trends",
    )
]
NAMES: Words = {name: text for subject in _SUBJECTS for name, text in subject.NAMES.items()}
WORDS: Words = {code: text for subject in _SUBJECTS for code, text in subject.WORDS.items()}
NAMED = frozenset({"part", "event", "option", "quantity", "organism", "method", "basis", "rule", "food"})


def name_words(name: str) -> str:
    """The words for a part, event, option or quantity; a name of the plan's own with blanks."""
    known = NAMES.get(name)
    return str(known) if known is not None else name.replace("_", " ")


def sentence_case(text: str) -> str:
    """A name as it stands at the beginning of a line; pH stays pH."""
    return text if text[1:2].isupper() else text[:1].upper() + text[1:]


def render(sentence: Sentence) -> str:
    """The sentence in the reader's language.

    Raises KeyError for a code without words or a parameter that is missing.
    """
    params = {name: _param_words(name, text) for name, text in sentence.params}
    if params.get("part") == "pH":  # the sentence names pH already: "pH at most 4.60"
        params |= {
            name: params[name].removeprefix("pH ") for name in ("limit", "tolerance") if name in params
        }
    return str(WORDS[sentence.code]) % params


def _param_words(name: str, text: str) -> str:
    if name in NAMED:
        return name_words(text)
    if name == "options":
        return gettext(" or ").join(name_words(option) for option in text.split(" "))
    if name.endswith("_at"):
        return f"{timezone.localtime(datetime.fromisoformat(text)):%Y-%m-%d %H:%M}"
    return text
