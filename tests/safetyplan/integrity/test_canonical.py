"""Canonical JSON, against RFC 8785, RFC 7493 and an independent implementation."""

import json
import unicodedata
from datetime import UTC, datetime, timedelta, timezone
from enum import StrEnum
from typing import Any

import pytest
import rfc8785
from hypothesis import given, settings
from hypothesis import strategies as st

from safetyplan.integrity.canonical import (
    CanonicalError,
    dumps,
    instant,
    loads,
    read_instant,
    text_problem,
)

LARGEST = 2**53 - 1
PACIFIC = timezone(timedelta(hours=-8))


def _noncharacter(letter: str) -> bool:
    return ord(letter) & 0xFFFE == 0xFFFE or 0xFDD0 <= ord(letter) <= 0xFDEF


TEXTS = (
    st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=30)
    .map(lambda text: "".join(letter for letter in text if not _noncharacter(letter)))
    .map(lambda text: unicodedata.normalize("NFC", text))
)
NAMES = st.text(st.characters(min_codepoint=1, max_codepoint=127), max_size=10)
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-LARGEST, LARGEST) | TEXTS,
    lambda members: st.lists(members, max_size=5) | st.dictionaries(NAMES, members, max_size=5),
    max_leaves=25,
)


def nested(levels: int) -> Any:
    value: Any = "deep"
    for level in range(levels):
        value = [value] if level % 2 else {"a": value}
    return value


@settings(max_examples=150, deadline=None)
@given(VALUES)
def test_every_allowed_value_gets_the_bytes_of_an_independent_rfc_8785_implementation(value: Any) -> None:
    assert dumps(value) == rfc8785.dumps(value)


@settings(max_examples=100, deadline=None)
@given(VALUES)
def test_a_value_read_back_from_its_bytes_is_the_same_value(value: Any) -> None:
    assert loads(dumps(value)) == value


def test_the_literals_and_string_of_rfc_8785_section_3_2_4_get_the_published_bytes() -> None:
    # Members "literals" and "string" of the example in RFC 8785 sections 3.2.2 to 3.2.4; the third holds
    # fractions, which a record refuses.
    text = r'"\u20ac$\u000F\u000aA\u0027\u0042\u0022\u005c\\\"\/"'
    assert dumps({"string": json.loads(text), "literals": [None, True, False]}) == bytes.fromhex(
        "7b226c69746572616c73223a5b6e756c6c2c747275652c66616c73655d2c"
        "22737472696e67223a22e282ac245c75303030665c6e4127425c225c5c5c5c5c222f227d"
    )


def test_names_are_sorted_by_code_unit_as_in_the_example_of_rfc_8785_section_3_2_3() -> None:
    # The ASCII names of that example and of the reference test data "weird" by the author of RFC 8785.
    value = {"</script>": "Browser Challenge", "1": "One", "\r": "Carriage Return", "\n": "Newline"}
    assert dumps(value) == (
        b'{"\\n":"Newline","\\r":"Carriage Return","1":"One","</script>":"Browser Challenge"}'
    )


def test_longer_names_follow_their_beginnings_and_capitals_come_first() -> None:
    # RFC 8785 section 3.2.3: compared as arrays of UTF-16 code units, a shorter one first.
    assert dumps({"ab": 1, "a": 2, "B": 3, "a_b": 4, "": 5}) == b'{"":5,"B":3,"a":2,"a_b":4,"ab":1}'


@pytest.mark.parametrize(
    ("letter", "written"),
    [
        # RFC 8785 section 3.2.2.2: five short escapes, lower-case \u00xx for other controls, nothing else.
        ("\b", rb"\b"),
        ("\t", rb"\t"),
        ("\n", rb"\n"),
        ("\f", rb"\f"),
        ("\r", rb"\r"),
        ("\x01", rb"\u0001"),
        ("\x0b", rb"\u000b"),
        ("\x1f", rb"\u001f"),
        ('"', rb"\""),
        ("\\", rb"\\"),
        ("/", b"/"),
        ("\x7f", b"\x7f"),
        ("\x80", b"\xc2\x80"),
        ("\u2028", b"\xe2\x80\xa8"),
        ("\U0001f9c0", b"\xf0\x9f\xa7\x80"),
    ],
)
def test_a_character_is_written_as_rfc_8785_section_3_2_2_2_says(letter: str, written: bytes) -> None:
    assert dumps(letter) == b'"' + written + b'"'


def test_lists_tuples_and_text_subclasses_are_written_by_their_content() -> None:
    class Word(StrEnum):
        PH = "pH"

    assert dumps({"list": [1, (2, True)], "word": Word.PH}) == b'{"list":[1,[2,true]],"word":"pH"}'


# RFC 7493 section 2.2: whole numbers are exact from -(2**53)+1 to (2**53)-1.
@pytest.mark.parametrize("number", [0, LARGEST, -LARGEST])
def test_a_whole_number_within_exact_range_is_written_as_its_digits(number: int) -> None:
    assert dumps({"n": number}) == b'{"n":' + str(number).encode() + b"}"


@pytest.mark.parametrize("number", [LARGEST + 1, -LARGEST - 1, 10**30])
def test_a_whole_number_beyond_exact_range_is_refused(number: int) -> None:
    with pytest.raises(CanonicalError, match=r"^/n: is a whole number of 2\*\*53"):
        dumps({"n": number})


@pytest.mark.parametrize(
    ("value", "pointer", "problem"),
    [
        ({"a": [1, 1.0]}, "/a/1", "is a fraction"),
        ({"a": float("nan")}, "/a", "is a fraction"),
        ({"a": "e\u0301"}, "/a", "normal form C"),
        ({"a": "x\0y"}, "/a", "NUL"),
        ({"a": "é\0y"}, "/a", "U\\+0000"),
        ({"a": "\ud800"}, "/a", "U\\+D800"),
        ({"a": "\uffff"}, "/a", "U\\+FFFF"),
        ({"a": b"bytes"}, "/a", "of type bytes"),
        ({"a": {1, 2}}, "/a", "of type set"),
        ({"a": datetime(2026, 5, 14, tzinfo=UTC)}, "/a", "of type datetime"),
        ({"a": {"é": 1}}, "/a", "has the name"),
        ({"a": {1: 1}}, "/a", "has the name 1"),
        ({"a": {"\0": 1}}, "/a", "has the name"),
        ({"a/b": {"c~d": [0.5]}}, "/a~1b/c~0d/0", "is a fraction"),
        (1.0, "", "is a fraction"),
    ],
)
def test_what_a_record_cannot_hold_is_refused_with_its_place(value: Any, pointer: str, problem: str) -> None:
    with pytest.raises(CanonicalError, match=problem) as caught:
        dumps(value)
    assert caught.value.pointer == pointer


def test_the_same_places_take_what_a_record_can_hold() -> None:
    value = {"a/b": {"c~d": ["0.5", "é", "x y", 1, None, True]}, "a": {"1": "2026-05-14T18:00:00.000Z"}}
    assert loads(dumps(value)) == value


def test_thirty_two_levels_are_written_and_read() -> None:
    assert loads(dumps(nested(32))) == nested(32)


def test_thirty_three_levels_are_refused_when_written() -> None:
    with pytest.raises(CanonicalError, match="nested more than 32 levels"):
        dumps(nested(33))


@pytest.mark.parametrize("levels", [33, 100_000])
def test_more_levels_are_refused_when_read(levels: int) -> None:
    with pytest.raises(CanonicalError, match="nested more than 32 levels"):
        loads(b"[" * levels + b"]" * levels)


def test_a_value_that_contains_itself_is_refused() -> None:
    value: list[Any] = []
    value.append(value)
    with pytest.raises(CanonicalError, match="nested more than 32 levels"):
        dumps(value)


CANONICAL = b'{"a":1,"b":["\xc3\xa9",true,null]}'


def test_the_canonical_bytes_are_read() -> None:
    assert loads(CANONICAL) == {"a": 1, "b": ["é", True, None]}


@pytest.mark.parametrize(
    ("data", "problem"),
    [
        (b'{"b":["\xc3\xa9",true,null],"a":1}', "canonical form"),
        (b'{"a": 1,"b":["\xc3\xa9",true,null]}', "canonical form"),
        (b'{"a":1,"b":["\\u00e9",true,null]}', "canonical form"),
        (CANONICAL + b"\n", "canonical form"),
        (b" " + CANONICAL, "canonical form"),
        (CANONICAL + b"x", "is not JSON"),
        (CANONICAL[:-1], "is not JSON"),
        (b"", "is not JSON"),
        (b"\xef\xbb\xbf" + CANONICAL, "is not JSON"),
        (CANONICAL.decode().encode("utf-16"), "is not UTF-8"),
        (b'{"a":"\xff"}', "is not UTF-8 at byte 6"),
        (b'{"a":"\xed\xa0\x80"}', "is not UTF-8"),
        (b'{"a":1,"a":1}', "has the name 'a' twice"),
        (b'{"a":1,"\\u0061":2}', "has the name 'a' twice"),
        (b'{"a":1.0}', "fraction 1.0"),
        (b'{"a":1e2}', "fraction 1e2"),
        (b'{"a":NaN}', "has NaN"),
        (b'{"a":-Infinity}', "has -Infinity"),
        (b'{"a":-0}', "canonical form"),
        (b'{"a":9007199254740992}', "2\\*\\*53"),
        (b'{"a":' + b"9" * 5000 + b"}", "is not JSON"),
        (b'{"a":"\\ud800"}', "U\\+D800"),
        (b'{"a":"\\u0000"}', "NUL"),
        (b'{"a":"e\xcc\x81"}', "normal form C"),
        (b'{"\xc3\xa9":1}', "has the name"),
        (b'{"a":"\\/"}', "canonical form"),
        (b'{"a":"\\u000F"}', "canonical form"),
    ],
)
def test_any_other_spelling_is_refused(data: bytes, problem: str) -> None:
    with pytest.raises(CanonicalError, match=problem):
        loads(data)


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=60))
def test_any_bytes_are_refused_or_are_the_canonical_bytes_of_what_they_hold(data: bytes) -> None:
    try:
        value = loads(data)
    except CanonicalError:
        return
    assert dumps(value) == data


@pytest.mark.parametrize("text", ["", "Käse 4,2 °C", "\t\n", "\U0001f9c0"])
def test_text_that_may_stand_in_a_record_has_no_problem(text: str) -> None:
    assert text_problem(text) is None


@pytest.mark.parametrize(
    ("moment", "text"),
    [
        (datetime(2026, 5, 14, 18, 0, tzinfo=UTC), "2026-05-14T18:00:00.000Z"),
        # The first two examples of RFC 3339 section 5.8; the second is written there as 16:39:57-08:00.
        (datetime(1985, 4, 12, 23, 20, 50, 520_000, tzinfo=UTC), "1985-04-12T23:20:50.520Z"),
        (datetime(1996, 12, 19, 16, 39, 57, tzinfo=PACIFIC), "1996-12-20T00:39:57.000Z"),
        # Cut off, not rounded (this module's own rule).
        (datetime(2026, 12, 31, 23, 59, 59, 999_999, tzinfo=UTC), "2026-12-31T23:59:59.999Z"),
        (datetime(1, 1, 1, tzinfo=UTC), "0001-01-01T00:00:00.000Z"),
    ],
)
def test_an_instant_is_written_in_utc_with_three_digits_cut_off(moment: datetime, text: str) -> None:
    assert instant(moment) == text


@pytest.mark.parametrize(
    ("moment", "problem"),
    [
        (datetime(2026, 5, 14, 18, 0), "needs its zone"),  # noqa: DTZ001
        (datetime(1, 1, 1, tzinfo=timezone(timedelta(hours=1))), "years 1 to 9999"),
    ],
)
def test_an_instant_without_zone_or_outside_the_calendar_is_refused(moment: datetime, problem: str) -> None:
    with pytest.raises(CanonicalError, match=problem):
        instant(moment)


@settings(max_examples=100, deadline=None)
@given(st.datetimes(timezones=st.just(UTC)))
def test_a_whole_millisecond_is_read_back_as_the_same_instant(moment: datetime) -> None:
    whole = moment.replace(microsecond=moment.microsecond // 1000 * 1000)
    assert read_instant(instant(whole)) == whole


@pytest.mark.parametrize(
    "text",
    [
        "2026-05-14T18:00:00Z",
        "2026-05-14T18:00:00.0000Z",
        "2026-05-14T18:00:00.000+00:00",
        "2026-05-14t18:00:00.000z",
        "2026-05-14 18:00:00.000Z",
        "2026-05-14T24:00:00.000Z",
        "2026-05-14T23:59:60.000Z",
        "2026-02-29T00:00:00.000Z",
        "2026-05-14T18:00:00.000Z\n",
        "٢٠٢٦-05-14T18:00:00.000Z",
        "0000-01-01T00:00:00.000Z",
        "",
    ],
)
def test_another_spelling_of_an_instant_is_refused(text: str) -> None:
    with pytest.raises(CanonicalError, match="is not a time of the form"):
        read_instant(text)
