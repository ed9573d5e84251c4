"""Lot codes: one written form for each, and the skeleton that finds codes a person would confuse."""

import unicodedata

from safetyplan.calculation.sentences import say
from safetyplan.calculation.typed import SPACES, TypedRefusal

LONGEST_CODE = 30
MARKS = frozenset("-/._#+")
# Letters of other alphabets that print like a Latin capital. From memory of the Unicode confusables.
_LOOKS = str.maketrans(
    "АВЕКМНОРСТХУІЅЈΑΒΕΖΗΙΚΜΝΟΡΤΥΧ",
    "ABEKMHOPCTXYISJABEZHIKMNOPTYX",
)
_ALIKE = str.maketrans("oil", "011")


def parse_code(text: str) -> str:
    """Read a lot code: trimmed, inner blanks single, Unicode NFC, upper case; at most 30 characters.

    Letters of one alphabet, the digits 0 to 9, blank and - / . _ # +. Raises TypedRefusal for anything else:
    letters of two alphabets, control, invisible and right-to-left marks, emoji, combining marks left over,
    full-width forms.
    """
    code = unicodedata.normalize("NFC", " ".join(text.translate(SPACES).split(" ")).strip(" \t\r\n"))
    code = " ".join(part for part in code.split(" ") if part).upper()
    if not code:
        raise TypedRefusal(say("code_empty"))
    if len(code) > LONGEST_CODE:
        raise TypedRefusal(say("code_long", most=str(LONGEST_CODE)))
    if not all(_allowed(letter) for letter in code):
        raise TypedRefusal(say("code_character"))
    if len({_script(letter) for letter in code if letter.isalpha()}) > 1:
        raise TypedRefusal(say("code_mixed_script"))
    return code


def skeleton(code: str) -> str:
    """What a code looks like: case folded, O as 0, I and l as 1, look-alike letters as Latin ones.

    Two codes with equal skeletons are "similar to" each other. Errors: none.
    """
    upper = unicodedata.normalize("NFC", code).upper()
    return upper.translate(_LOOKS).casefold().translate(_ALIKE)


def _allowed(letter: str) -> bool:
    if letter.isascii():
        return letter.isalnum() or letter in MARKS or letter == " "
    strange_form = unicodedata.normalize("NFKC", letter) != letter
    return unicodedata.category(letter) in {"Lu", "Ll", "Lo"} and not strange_form


def _script(letter: str) -> str:
    """The alphabet of a letter: the first word of its Unicode name (LATIN, CYRILLIC, GREEK, ...)."""
    return unicodedata.name(letter, "UNKNOWN").split(" ")[0]
