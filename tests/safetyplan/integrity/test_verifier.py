"""The stand-alone verifier's hashes, signatures and seals, against published vectors."""

import hashlib
import random

import pytest
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from safetyplan.integrity import canonical, notes
from safetyplan.integrity.verifier import (
    Frontier,
    ed25519_verify,
    leaf_hash,
    node_hash,
    parse_note,
    tree_root,
)

from .stores import KEY, KEY_NAME, seal_text

# --- hashes and the tree -----------------------------------------------------------------------------------

# The leaves and roots of the reference tests of Certificate Transparency (RFC 6962); from memory, recomputed
# by the definition below.
CT_LEAVES = ["", "00", "10", "2021", "3031", "40414243", "5051525354555657"]
CT_LEAVES += ["606162636465666768696a6b6c6d6e6f"]
CT_ROOTS = [
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
]


def tree_hash_by_definition(entries: list[bytes]) -> bytes:
    """MTH of RFC 6962 section 2.1, word for word: split at the largest power of two below n."""
    if not entries:
        return hashlib.sha256(b"").digest()
    if len(entries) == 1:
        return hashlib.sha256(b"\x00" + entries[0]).digest()
    split = 1 << (len(entries) - 1).bit_length() - 1
    left, right = tree_hash_by_definition(entries[:split]), tree_hash_by_definition(entries[split:])
    return hashlib.sha256(b"\x01" + left + right).digest()


@pytest.mark.parametrize("size", range(9))
def test_the_tree_root_is_the_published_one(size: int) -> None:
    entries = [bytes.fromhex(leaf) for leaf in CT_LEAVES[:size]]
    assert tree_root(map(leaf_hash, entries)).hex() == CT_ROOTS[size]
    assert tree_hash_by_definition(entries).hex() == CT_ROOTS[size]


def test_a_node_hash_is_that_of_the_published_tree_of_two() -> None:
    assert node_hash(leaf_hash(b""), leaf_hash(b"\x00")).hex() == CT_ROOTS[2]


def test_the_tree_root_of_every_size_up_to_130_is_that_of_the_definition() -> None:
    entries = [str(number).encode() for number in range(130)]
    frontier, roots = Frontier(), []
    for entry in entries:
        frontier.push(leaf_hash(entry))
        roots.append(frontier.root())
    assert roots == [tree_hash_by_definition(entries[: size + 1]) for size in range(130)]


@pytest.mark.parametrize("size", [0, 1, 2, 3, 40, 63, 64, 80])
def test_a_frontier_kept_as_json_goes_on_as_if_never_kept(size: int) -> None:
    leaves = [leaf_hash(str(number).encode()) for number in range(100)]
    kept = canonical.dumps(Frontier(leaves[:size]).to_list())
    frontier = Frontier.from_list(canonical.loads(kept))
    for leaf in leaves[size:]:
        frontier.push(leaf)
    assert (frontier.size, frontier.root()) == (100, tree_root(leaves))


@pytest.mark.parametrize("heights", [[2, 2], [1, 2], [-1]])
def test_pairs_that_are_no_frontier_are_refused(heights: list[int]) -> None:
    with pytest.raises(ValueError, match=r"frontier|shift"):
        Frontier.from_list([(height, "0" * 64) for height in heights])


# --- Ed25519 -----------------------------------------------------------------------------------------------

# RFC 8032 section 7.1, TEST 1, 2, 3 and SHA(abc): public key, message, signature.
RFC_8032 = [
    (
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e06522490155"
        "5fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    (
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    (
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac"
        "18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
    (
        "ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf",
        hashlib.sha512(b"abc").hexdigest(),
        "dc2a4459e7369633a52b1bf277839a00201009a3efbf3ecb69bea2186c26b589"
        "09351fc9ac90b3ecfdfbc7c66431e0303dca179c138ac17ad9bef1177331a704",
    ),
]
ORDER = 2**252 + 27742317777372353535851937790883648493  # L of RFC 8032 section 5.1
IDENTITY = bytes([1]) + bytes(31)  # the encoding of the point (0, 1), RFC 8032 section 5.1.2


@pytest.mark.parametrize(("key", "message", "signature"), RFC_8032)
def test_a_published_signature_verifies(key: str, message: str, signature: str) -> None:
    assert ed25519_verify(bytes.fromhex(key), bytes.fromhex(message), bytes.fromhex(signature))


@pytest.mark.parametrize(("key", "message", "signature"), RFC_8032)
def test_a_published_signature_fails_another_message(key: str, message: str, signature: str) -> None:
    assert not ed25519_verify(bytes.fromhex(key), bytes.fromhex(message) + b"x", bytes.fromhex(signature))


def library_verifies(key: bytes, message: bytes, signature: bytes) -> bool:
    try:
        Ed25519PublicKey.from_public_bytes(key).verify(signature, message)
    except InvalidSignature:
        return False
    return True


def test_random_signatures_and_flipped_ones_are_judged_as_by_the_cryptography_library() -> None:
    source = random.Random(8032)
    judged = []
    for _ in range(60):
        private = Ed25519PrivateKey.from_private_bytes(source.randbytes(32))
        message = source.randbytes(source.randrange(2000))
        parts = [bytearray(notes.public_bytes(private)), bytearray(message), bytearray(private.sign(message))]
        whole = [bytes(part) for part in parts]
        broken = parts[source.choice([0, 1, 2] if message else [0, 2])]
        broken[source.randrange(len(broken))] ^= 1 << source.randrange(8)
        key, message, signature = (bytes(part) for part in parts)
        assert ed25519_verify(*whole)
        judged.append(ed25519_verify(key, message, signature))
        assert judged[-1] == library_verifies(key, message, signature)
    assert judged == [False] * 60


def test_a_signature_with_any_fifth_bit_flipped_is_refused() -> None:
    key, message, signature = (bytes.fromhex(part) for part in RFC_8032[2])
    for bit in range(0, 512, 5):
        flipped = int.from_bytes(signature, "little") ^ 1 << bit
        assert not ed25519_verify(key, message, flipped.to_bytes(64, "little"))


def test_a_signature_whose_s_is_raised_by_the_group_order_is_refused() -> None:
    # RFC 8032 section 5.1.7: S must lie below L, or one signature would have two spellings.
    key, message, signature = (bytes.fromhex(part) for part in RFC_8032[1])
    raised = int.from_bytes(signature[32:], "little") + ORDER
    assert ed25519_verify(key, message, signature)
    assert not ed25519_verify(key, message, signature[:32] + raised.to_bytes(32, "little"))


@pytest.mark.parametrize(
    ("encoding", "accepted"),
    [
        (IDENTITY, True),
        # RFC 8032 section 5.1.3: y = p + 1 is not below p; x = 0 with the sign bit set.
        (((2**255 - 19) + 1).to_bytes(32, "little"), False),
        (IDENTITY[:31] + b"\x80", False),
    ],
)
def test_a_point_has_one_encoding_as_key_and_in_a_signature(encoding: bytes, accepted: bool) -> None:
    # With the identity as key, R = identity and S = 0 satisfy [S]B = R + [k]A for every message.
    assert ed25519_verify(encoding, b"any", IDENTITY + bytes(32)) is accepted
    assert ed25519_verify(IDENTITY, b"any", encoding + bytes(32)) is accepted


@pytest.mark.parametrize(("key_length", "signature_length"), [(31, 64), (33, 64), (32, 63), (32, 65), (0, 0)])
def test_parts_of_another_length_are_refused(key_length: int, signature_length: int) -> None:
    assert not ed25519_verify(bytes(key_length), b"any", bytes(signature_length))


# --- seals -------------------------------------------------------------------------------------------------


GOOD_NOTE = notes.sign_note(seal_text(), KEY_NAME, KEY)


def test_a_seal_states_six_things() -> None:
    expected = (KEY_NAME, 80, bytes(32), "2026-05-14T18:00:00.000Z", "sign_off", False)
    assert parse_note(GOOD_NOTE) == expected


def test_a_seal_of_a_demonstration_says_so() -> None:
    note = notes.sign_note(seal_text(more="invented demonstration\n"), KEY_NAME, KEY)
    assert parse_note(note).demonstration


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("\n80\n", "\n080\n"),
        ("\n80\n", "\n0\n"),
        ("\n80\n", "\n-80\n"),
        ("\n80\n", "\n٨٠\n"),
        ("AAA=\n", "AAB=\n"),
        ("AAA=\n", "AA==\n"),
        ("AAA=\n", "AAA\n"),
        (".000Z", "Z"),
        ("reason sign_off", "reason"),
        ("reason sign_off", "reason Sign off"),
        ("reason sign_off\n", "reason sign_off\nanother line\n"),
        ("reason sign_off\n", ""),
        ("\n\n—", "\n—"),
        ("\n\n—", "\n\n-"),
        ("\n\n— ", "\n\n—"),
        ("\n80\n", "\n80\r\n"),
        (f"{KEY_NAME}\n80", "\n80"),
    ],
)
def test_a_note_that_differs_in_form_is_no_seal(old: str, new: str) -> None:
    assert GOOD_NOTE.count(old) == 1
    with pytest.raises(ValueError, match="not a"):
        parse_note(GOOD_NOTE.replace(old, new))


@pytest.mark.parametrize(
    "note", ["", "\n", GOOD_NOTE[:-1], GOOD_NOTE + "\n", GOOD_NOTE + "more", "\n" + GOOD_NOTE]
)
def test_a_note_with_more_or_less_around_it_is_no_seal(note: str) -> None:
    with pytest.raises(ValueError, match="not a"):
        parse_note(note)
