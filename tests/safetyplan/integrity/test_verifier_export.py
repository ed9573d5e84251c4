"""The verifier's judgement of whole exports: unharmed, attacked, and in another form."""

import random
from base64 import b64encode
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

import pytest

from safetyplan.integrity import canonical, notes, verifier
from safetyplan.integrity.verifier import Anchor, Finding, leaf_hash, verify_export

from .stores import (
    FILE_HASH,
    KEY,
    KEY_NAME,
    OTHER_KEY,
    Row,
    Store,
    entry_body,
    outside_seal,
    receipt,
    seal_text,
    sealed_store,
)


def first_bad(findings: list[Finding]) -> int | None:
    return next((found.sequence for found in findings if found.sequence is not None), None)


def edit_a_value(store: Store) -> None:
    store.change(50, record={"value": "9.99"})


def edit_a_value_and_its_hash(store: Store) -> None:
    edit_a_value(store)
    store.rows[49].stored_hash = leaf_hash(store.rows[49].body)


def delete_a_middle_row(store: Store) -> None:
    del store.rows[49]


def delete_a_row_and_chain_again(store: Store) -> None:
    del store.rows[49]
    store.chain_again()


def insert_a_row_and_chain_again(store: Store) -> None:
    store.rows.insert(49, store.rows[48])
    store.chain_again()


def cut_back_past_a_seal(store: Store) -> None:
    del store.rows[70:]
    del store.seals[1:]


def rewrite_all_without_the_key(store: Store) -> None:
    store.change(10, record={"value": "9.99"})
    store.chain_again()
    store.seals.clear()


def rewrite_all_and_seal_again(store: Store) -> None:
    rewrite_all_without_the_key(store)
    store.seal(40)
    store.seal(80)


def cut_back_after_the_newest_seal(store: Store) -> None:
    del store.rows[90:]


def rewrite_after_the_newest_seal(store: Store) -> None:
    store.change(85, record={"value": "9.99"})
    store.chain_again()


@dataclass(frozen=True)
class Attack:
    """An attack, and the first bad sequence named with what is given; None: nothing is seen."""

    act: Callable[[Store], None]
    by_stored_seals: int | None
    by_outside_seal: int | None


# Which of the ten is seen follows from what hash chains and seals, kept inside or outside, can show; the
# sequences are this program's: the first entry in doubt.
ATTACKS = [
    Attack(edit_a_value, 50, 50),
    Attack(edit_a_value_and_its_hash, 50, 50),
    Attack(delete_a_middle_row, 50, 50),
    Attack(delete_a_row_and_chain_again, 41, 41),
    Attack(insert_a_row_and_chain_again, 41, 41),
    Attack(cut_back_past_a_seal, None, 71),
    Attack(rewrite_all_without_the_key, None, 1),
    Attack(rewrite_all_and_seal_again, None, 1),
    Attack(cut_back_after_the_newest_seal, None, None),
    Attack(rewrite_after_the_newest_seal, None, None),
]
UNSEEN = [attack for attack in ATTACKS if attack.by_outside_seal is None]
SEEN = [attack for attack in ATTACKS if attack.by_outside_seal is not None]


def named(attack: Attack) -> str:
    return attack.act.__name__


def test_an_unharmed_export_has_no_findings_whatever_is_given() -> None:
    store = sealed_store()
    anchors = [outside_seal(store, 40), outside_seal(store, 80), receipt(store, 1), receipt(store, 95)]
    assert verify_export(store.export(), anchors) == []
    assert verify_export(store.export()) == []


@pytest.mark.parametrize("attack", ATTACKS, ids=named)
def test_an_attack_is_seen_by_the_stored_seals_alone_exactly_where_it_can_be(attack: Attack) -> None:
    store = sealed_store()
    attack.act(store)
    assert first_bad(verify_export(store.export())) == attack.by_stored_seals


@pytest.mark.parametrize("attack", ATTACKS, ids=named)
def test_an_attack_is_seen_by_a_printed_seal_exactly_where_it_can_be(attack: Attack) -> None:
    store = sealed_store()
    printed = outside_seal(store)
    attack.act(store)
    assert first_bad(verify_export(store.export(), [printed])) == attack.by_outside_seal


@pytest.mark.parametrize("attack", SEEN, ids=named)
def test_the_digits_of_a_printed_root_see_what_the_printed_seal_sees(attack: Attack) -> None:
    store = sealed_store()
    digits = Anchor("the printed root", 80, outside_seal(store).expected)
    attack.act(store)
    assert first_bad(verify_export(store.export(), [digits])) == attack.by_outside_seal


@pytest.mark.parametrize(
    ("attack", "sequence"), [(UNSEEN[0], 91), (UNSEEN[1], 81)], ids=["cut_back", "rewrite"]
)
def test_what_no_seal_sees_is_seen_by_a_newer_receipt_of_a_device(attack: Attack, sequence: int) -> None:
    store = sealed_store()
    kept = [outside_seal(store), receipt(store, 95)]
    attack.act(store)
    assert verify_export(store.export(), kept[:1]) == []
    assert first_bad(verify_export(store.export(), kept)) == sequence


def test_a_seal_signed_by_the_same_key_over_another_history_is_called_a_fork() -> None:
    store = sealed_store()
    printed = outside_seal(store)
    rewrite_all_and_seal_again(store)
    findings = verify_export(store.export(), [printed])
    assert [(found.sequence, found.code) for found in findings] == [(1, "anchor")]
    assert "fork" in findings[0].message


def test_an_outside_copy_that_agrees_narrows_the_range_named_for_one_that_does_not() -> None:
    store = sealed_store()
    kept = [receipt(store, 95), outside_seal(store, 80)]
    rewrite_after_the_newest_seal(store)
    findings = verify_export(store.export(), kept)
    assert [found.message for found in findings] == ["entries 81 to 95 are not those of a receipt"]


def test_a_receipt_that_agrees_vouches_for_no_entry_before_a_broken_link() -> None:
    store = sealed_store()
    store.seals.clear()
    kept = [receipt(store, 50), Anchor("the printed root", 80, bytes(32))]
    store.change(30, record={})
    messages = [found.message for found in verify_export(store.export(), kept)]
    assert "entries 1 to 80 are not those of the printed root" in messages


def test_two_outside_copies_of_one_size_that_disagree_put_everything_in_doubt() -> None:
    store = sealed_store()
    good = outside_seal(store)
    wrong = Anchor("another root", 80, bytes(32))
    assert first_bad(verify_export(store.export(), [good, wrong])) == 1


@pytest.fixture
def signatures_checked_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The notes stay the same in thousands of exports; their signatures need no second look."""
    monkeypatch.setattr(verifier, "ed25519_verify", cache(verifier.ed25519_verify))


@pytest.mark.usefixtures("signatures_checked_once")
def test_each_of_2000_random_bit_flips_in_entries_is_seen() -> None:
    store = sealed_store()
    store.seal(100)
    lines = store.export()
    source = random.Random(6962)
    unseen = []
    for _ in range(2000):
        at = source.randrange(1, 101)
        line = bytearray(lines[at])
        place, bit = source.randrange(len(line) - 1), source.randrange(8)
        line[place] ^= 1 << bit
        # A flip may make a line break: the export is read as a file would be.
        broken = b"".join([*lines[:at], bytes(line), *lines[at + 1 :]]).splitlines(keepends=True)
        if not verify_export(broken):
            unseen.append((at, place, bit))
    assert unseen == []
    assert verify_export(b"".join(lines).splitlines(keepends=True)) == []


# --- what else an export must be ---------------------------------------------------------------------------


def codes(findings: list[Finding]) -> list[tuple[int | None, str]]:
    return [(found.sequence, found.code) for found in findings]


def header_changed(lines: list[bytes], **members: Any) -> list[bytes]:
    return [canonical.dumps(canonical.loads(lines[0][:-1]) | members) + b"\n", *lines[1:]]


@pytest.mark.parametrize(
    ("members", "expected"),
    [
        ({"slug": "other"}, []),
        ({"export": "other"}, [(None, "header")]),
        ({"v": 2}, [(None, "header")]),
        ({"v": True}, [(None, "header")]),
        ({"size": "100"}, [(None, "header")]),
        ({"establishment": "alp"}, [(None, "header")]),
        ({"public_key": "AAAA"}, [(None, "header")]),
        ({"key_name": "a b"}, [(None, "header")]),
        ({"more": 1}, [(None, "header")]),
        ({"key_name": "other"}, [(40, "seal"), (80, "seal")]),
        ({"public_key": notes.public_key_base64(OTHER_KEY)}, [(1, "key"), (40, "seal"), (80, "seal")]),
    ],
)
def test_a_header_is_checked(members: dict[str, Any], expected: list[tuple[int | None, str]]) -> None:
    assert codes(verify_export(header_changed(sealed_store().export(), **members))) == expected


@pytest.mark.parametrize("lines", [[], [b""], [b"\n"], [b"\xff\n"], [b"{}\n"]])
def test_a_file_that_is_no_export_is_named_so(lines: list[bytes]) -> None:
    assert codes(verify_export(lines)) == [(None, "header")]


@pytest.mark.parametrize(
    "members",
    [
        {"v": 2},
        {"v": True},
        {"sequence": "50"},
        {"sequence": True},
        {"sequence": 0},
        {"establishment": "99999999-1111-4222-8333-444455556666"},
        {"record": []},
    ],
)
def test_an_entry_of_another_form_is_named(members: dict[str, Any]) -> None:
    store = sealed_store()
    store.change(50, **members)
    assert (50, "entry") in codes(verify_export(store.export()))


@pytest.mark.parametrize("name", sorted(verifier.FIELDS))
def test_an_entry_that_lacks_a_field_is_named(name: str) -> None:
    store = sealed_store()
    value = canonical.loads(store.rows[49].body)
    del value[name]
    store.rows[49].body = canonical.dumps(value)
    assert (50, "entry") in codes(verify_export(store.export()))


def test_an_entry_may_hold_more_fields_than_those_required() -> None:
    store = sealed_store(10)
    store.seals.clear()
    store.change(10, credential=None)
    assert verify_export(store.export(files=())) == []


@pytest.mark.parametrize(
    "spelling",
    [
        lambda body: body.replace(b'"v":1', b'"v": 1'),
        lambda body: body.replace(b'"v":1', b'"v":1.0'),
        lambda body: body.replace(b'"5.00"', b"5.0"),
        lambda body: body.replace(b'"5.00"', b"NaN"),
        lambda body: body.replace(b'"v":1', b'"v":1,"v":1'),
        lambda body: body.replace("ä".encode(), b"\\u00e4"),
        lambda body: body + b"\r",
        lambda body: b"[" * 100_000,
        lambda body: b"",
    ],
)
def test_an_entry_in_another_spelling_is_named(spelling: Callable[[bytes], bytes]) -> None:
    store = sealed_store()
    changed = spelling(store.rows[49].body)
    assert changed != store.rows[49].body
    store.rows[49].body = changed
    assert (50, "entry") in codes(verify_export(store.export()))


def test_the_last_entry_is_covered_by_a_seal_of_the_whole() -> None:
    store = sealed_store()
    store.seal(100)
    store.change(100, record={"value": "9.99"})
    assert codes(verify_export(store.export())) == [(81, "seal")]


def test_the_first_entry_must_name_zeros_as_the_hash_before_it() -> None:
    store = Store()
    body = entry_body(1, "1" * 64, "opened", {"public_key": notes.public_key_base64(KEY)})
    store.rows.append(Row(body, leaf_hash(body)))
    assert codes(verify_export(store.export(files=()))) == [(1, "chain")]


def test_a_shorter_export_than_its_header_says_names_the_first_missing_entry() -> None:
    store = sealed_store()
    lines = store.export()
    assert (71, "size") in codes(verify_export(lines[:71]))


def test_a_longer_export_than_its_header_says_is_named() -> None:
    store = sealed_store()
    assert (None, "line") in codes(verify_export(header_changed(store.export(), size=99)))


def test_a_stored_seal_signed_by_another_key_is_named_with_what_it_covers() -> None:
    store = sealed_store()
    store.seal(90, key=OTHER_KEY)
    assert codes(verify_export(store.export())) == [(90, "seal")]


def test_stored_seals_out_of_order_are_named() -> None:
    store = sealed_store()
    store.seals.reverse()
    assert codes(verify_export(store.export())) == [(40, "seal")]


def test_two_seals_of_one_size_are_in_order() -> None:
    store = sealed_store()
    store.seal(80)
    assert verify_export(store.export()) == []


def test_a_stored_seal_of_more_entries_than_there_are_is_named_as_cut_back() -> None:
    store = sealed_store()
    del store.rows[70:]
    assert codes(verify_export(store.export())) == [(71, "cut_back")]


def test_an_outside_seal_of_another_key_is_named_even_when_its_root_agrees() -> None:
    store = sealed_store()
    root = outside_seal(store).expected
    forged = notes.sign_note(seal_text(80, root), KEY_NAME, OTHER_KEY)
    assert codes(verify_export(store.export(), [Anchor("a seal", 80, root, forged)])) == [(80, "anchor")]


def test_the_file_an_entry_names_must_be_there() -> None:
    assert codes(verify_export(sealed_store().export(files=()))) == [(30, "file")]


def test_the_file_an_entry_names_must_have_its_hash() -> None:
    lines = sealed_store().export()
    changed = {"file": FILE_HASH, "base64": b64encode(b"another day sheet").decode()}
    lines[-1] = canonical.dumps(changed) + b"\n"
    assert codes(verify_export(lines)) == [(None, "line"), (30, "file")]


@pytest.mark.parametrize(
    "tail", [b"{}", b"[]", b'"seal"', b'{"seal":1}', b'{"base64":1,"file":1}', b"not JSON", b""]
)
def test_a_line_that_is_neither_seal_nor_file_is_named(tail: bytes) -> None:
    assert codes(verify_export([*sealed_store().export(), tail])) == [(None, "line")]


def test_findings_stand_by_sequence() -> None:
    store = sealed_store()
    store.change(70, record={})
    store.change(20, record={})
    sequences = [found.sequence or 0 for found in verify_export(store.export(files=()))]
    assert sequences == sorted(sequences)
