"""Signed notes and the key file, against published notes and the C2SP signed-note text."""

import stat
from base64 import b64decode
from pathlib import Path

import pytest
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, generate_private_key
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from safetyplan.integrity import notes
from safetyplan.integrity.notes import KeyFileError
from safetyplan.integrity.verifier import parse_note, split_note, verify_note

# The example in the documentation of Go's package note (golang.org/x/mod, sumdb/note): signing key, verifying
# key, and note.
GO_SIGNER = "PRIVATE+KEY+PeterNeumann+c74f20a3+AYEKFALVFGyNhPJEMzD1QIDr+Y7hfZx09iUvxdXHKDFz"
GO_VERIFIER = "PeterNeumann+c74f20a3+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW"
GO_TEXT = (
    "If you think cryptography is the answer to your problem,\nthen you don't know what your problem is.\n"
)
GO_NOTE = (
    GO_TEXT + "\n— PeterNeumann x08go/ZJkuBS9UG/SffcvIAQxVBtiFupLLr8pAcElZInNIuGUgYN1FFYC2pZSNXgKvqfqdngotpR"
    "Zb6KE6RyyBwJnAM=\n"
)
SEAL_TEXT = (
    "alp/8f1c\n80\n47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU=\n2026-05-14T18:00:00.000Z\nreason sign_off\n"
)


def go_key() -> Ed25519PrivateKey:
    return Ed25519PrivateKey.from_private_bytes(b64decode(GO_SIGNER.split("+", 4)[4])[1:])


def test_a_published_text_and_key_give_the_published_note() -> None:
    assert notes.sign_note(GO_TEXT, "PeterNeumann", go_key()) == GO_NOTE


def test_the_published_note_verifies_with_the_published_key() -> None:
    assert verify_note(GO_NOTE, b64decode(GO_VERIFIER.split("+", 2)[2])[1:], "PeterNeumann")


@pytest.mark.parametrize(
    "verifier_key",
    [
        # Go's package note: the two keys of its documentation and tests. C2SP signed-note: its example key.
        GO_VERIFIER,
        "EnochRoot+af0cfe78+ATtqJ7zOtqQtYqOo0CpvDXNlMhV3HeJDpjrASKGLWdop",
        "example.com/foo+530d903a+AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k",
    ],
)
def test_the_key_id_of_a_published_key_is_the_one_published_with_it(verifier_key: str) -> None:
    name, key_id, encoded = verifier_key.split("+", 2)
    assert notes.key_id(name, b64decode(encoded)[1:]).hex() == key_id


def test_a_seal_is_signed_over_its_text_with_the_last_newline_and_nothing_else() -> None:
    key = notes.new_private_key()
    text, signatures = split_note(notes.sign_note(SEAL_TEXT, "alp/8f1c", key))
    (name, data) = signatures[0]
    key.public_key().verify(data[4:], SEAL_TEXT.encode())
    assert (text, name, len(signatures), len(data)) == (SEAL_TEXT, "alp/8f1c", 1, 68)


def test_a_signed_seal_is_read_back_as_what_it_states() -> None:
    note = parse_note(notes.sign_note(SEAL_TEXT, "alp/8f1c", notes.new_private_key()))
    assert (note.origin, note.size, note.instant, note.reason, note.demonstration) == (
        "alp/8f1c",
        80,
        "2026-05-14T18:00:00.000Z",
        "sign_off",
        False,
    )


def test_a_note_is_bound_to_its_key_and_to_its_name() -> None:
    key, other = notes.new_private_key(), notes.new_private_key()
    note = notes.sign_note(SEAL_TEXT, "alp/8f1c", key)
    answers = [
        verify_note(note, notes.public_bytes(key), "alp/8f1c"),
        verify_note(note, notes.public_bytes(key)),
        verify_note(note, notes.public_bytes(other), "alp/8f1c"),
        verify_note(note, notes.public_bytes(key), "other/8f1c"),
        verify_note(note.replace("\n80\n", "\n81\n"), notes.public_bytes(key), "alp/8f1c"),
    ]
    assert answers == [True, True, False, False, False]


def test_signatures_of_unknown_keys_beside_a_known_one_are_ignored() -> None:
    # C2SP signed-note: verifiers ignore signatures from unknown keys.
    key, witness = notes.new_private_key(), notes.new_private_key()
    line = notes.sign_note(SEAL_TEXT, "witness/1", witness).splitlines()[-1]
    note = notes.sign_note(SEAL_TEXT, "alp/8f1c", key) + line + "\n"
    assert verify_note(note, notes.public_bytes(key), "alp/8f1c")


def test_a_signature_of_an_unknown_key_under_the_same_name_is_ignored_too() -> None:
    # C2SP signed-note: they are ignored even if they share a name with a known key.
    key, stranger = notes.new_private_key(), notes.new_private_key()
    line = notes.sign_note(SEAL_TEXT, "alp/8f1c", stranger).splitlines()[-1]
    note = notes.sign_note(SEAL_TEXT, "alp/8f1c", key) + line + "\n"
    assert verify_note(note, notes.public_bytes(key), "alp/8f1c")


@pytest.mark.parametrize("control", ["\0", "\t", "\r", "\x1f"])
def test_a_note_with_a_control_character_is_no_note(control: str) -> None:
    # C2SP signed-note: no ASCII control characters other than newline.
    with pytest.raises(ValueError, match="not a signed note"):
        split_note(GO_NOTE.replace("cryptography", f"crypto{control}graphy"))


def test_a_wrong_signature_of_a_known_key_spoils_the_note_beside_a_right_one() -> None:
    # C2SP signed-note: if a signature from a known key fails, reject the whole note.
    key = notes.new_private_key()
    right = notes.sign_note(SEAL_TEXT, "alp/8f1c", key)
    wrong = notes.sign_note(SEAL_TEXT.replace("80", "81"), "alp/8f1c", key).splitlines()[-1]
    assert not verify_note(right + wrong + "\n", notes.public_bytes(key), "alp/8f1c")


@pytest.mark.parametrize("name", ["alp/8f1c", "käserei", "a.b-c_d"])
def test_a_key_name_without_spaces_and_plus_signs(name: str) -> None:
    key = notes.new_private_key()
    assert verify_note(notes.sign_note(SEAL_TEXT, name, key), notes.public_bytes(key), name)


@pytest.mark.parametrize("name", ["", "a b", "a+b", "a\u00a0b", "a\nb", "a\0b"])
def test_a_key_name_with_spaces_or_plus_is_refused(name: str) -> None:
    # C2SP signed-note: key names are not empty and hold no Unicode spaces or plus.
    with pytest.raises(ValueError, match="neither spaces nor plus"):
        notes.sign_note(SEAL_TEXT, name, notes.new_private_key())


@pytest.mark.parametrize("text", ["", "no last newline", "tab\there\n", "carriage\r\n", "nul\0\n"])
def test_a_text_that_is_not_whole_lines_is_refused(text: str) -> None:
    # C2SP signed-note: the text ends in a newline; no other control characters.
    with pytest.raises(ValueError, match="whole lines"):
        notes.sign_note(text, "alp/8f1c", notes.new_private_key())


def test_bytes_are_signed_so_that_the_public_key_verifies_them() -> None:
    key = notes.new_private_key()
    key.public_key().verify(notes.sign_bytes(b"receipt", key), b"receipt")
    assert b64decode(notes.public_key_base64(key)) == notes.public_bytes(key)


def test_a_saved_key_is_private_and_is_loaded_as_the_same_key(tmp_path: Path) -> None:
    path, key = tmp_path / "seal.pem", notes.new_private_key()
    notes.save_private_key(path, key)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert notes.public_bytes(notes.load_private_key(path)) == notes.public_bytes(key)


def test_a_saved_key_is_never_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "seal.pem"
    notes.save_private_key(path, notes.new_private_key())
    before = path.read_bytes()
    with pytest.raises(KeyFileError, match="never overwritten"):
        notes.save_private_key(path, notes.new_private_key())
    assert path.read_bytes() == before


@pytest.mark.parametrize("mode", [0o600, 0o400])
def test_a_key_file_of_its_owner_alone_is_loaded(tmp_path: Path, mode: int) -> None:
    path, key = tmp_path / "seal.pem", notes.new_private_key()
    notes.save_private_key(path, key)
    path.chmod(mode)
    assert notes.public_bytes(notes.load_private_key(path)) == notes.public_bytes(key)


@pytest.mark.parametrize("mode", [0o640, 0o604, 0o620, 0o644, 0o601])
def test_a_key_file_open_to_others_is_refused(tmp_path: Path, mode: int) -> None:
    path = tmp_path / "seal.pem"
    notes.save_private_key(path, notes.new_private_key())
    path.chmod(mode)
    with pytest.raises(KeyFileError, match="open to others"):
        notes.load_private_key(path)


def test_a_missing_key_file_is_refused_with_its_name(tmp_path: Path) -> None:
    with pytest.raises(KeyFileError, match=r"absent\.pem cannot be read: No such file"):
        notes.load_private_key(tmp_path / "absent.pem")


def test_a_folder_that_is_missing_is_refused_when_saving(tmp_path: Path) -> None:
    with pytest.raises(KeyFileError, match="cannot be written: No such file"):
        notes.save_private_key(tmp_path / "absent" / "seal.pem", notes.new_private_key())


def test_a_file_that_holds_no_key_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "seal.pem"
    path.write_text("not a key")
    path.chmod(0o600)
    with pytest.raises(KeyFileError, match="does not hold a signing key"):
        notes.load_private_key(path)


def test_a_key_of_another_kind_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "seal.pem"
    pem = generate_private_key(SECP256R1()).private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    path.write_bytes(pem)
    path.chmod(0o600)
    with pytest.raises(KeyFileError, match="another kind of key"):
        notes.load_private_key(path)
