"""Signed notes (C2SP signed-note, Ed25519) and the key file that signs them.

A note is a text, a blank line, and one signature line: an em dash, the key's name, and the base64 of a 4-byte
key id followed by the signature of the text, its last newline included. Reading and checking notes is the
stand-alone verifier's work; the two share one reading of the form.
"""

from __future__ import annotations

import os
import re
import stat
from base64 import b64encode
from pathlib import Path

from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from safetyplan.integrity.verifier import key_id, split_note

__all__ = [
    "KeyFileError",
    "key_id",
    "load_private_key",
    "new_private_key",
    "public_bytes",
    "public_key_base64",
    "save_private_key",
    "sign_bytes",
    "sign_note",
]


class KeyFileError(Exception):
    """The file of the signing key cannot be used; the message says why and what to do."""


def new_private_key() -> Ed25519PrivateKey:
    """Return a new signing key from the system's random source."""
    return Ed25519PrivateKey.generate()


def public_bytes(private_key: Ed25519PrivateKey) -> bytes:
    """Return the 32 bytes of the public key (RFC 8032)."""
    return private_key.public_key().public_bytes_raw()


def public_key_base64(private_key: Ed25519PrivateKey) -> str:
    """Return the public key as base64 (RFC 4648 section 4), as entry 1 and the export's header hold it."""
    return b64encode(public_bytes(private_key)).decode("ascii")


def sign_bytes(data: bytes, private_key: Ed25519PrivateKey) -> bytes:
    """Return the 64-byte Ed25519 signature of ``data``."""
    return private_key.sign(data)


def sign_note(text: str, key_name: str, private_key: Ed25519PrivateKey) -> str:
    """Return the whole note: ``text``, a blank line, the signature line.

    ``text`` ends in a newline and holds no other control characters; ``key_name`` holds neither space nor
    plus. Raises ValueError otherwise.
    """
    if not key_name or re.search(r"[\s+\0-\x1f]", key_name):
        raise ValueError("the name of a key holds neither spaces nor plus")
    if not text.endswith("\n") or re.search(r"[\0-\x09\x0b-\x1f]", text):
        raise ValueError("the text of a note is whole lines without control characters")
    data = key_id(key_name, public_bytes(private_key)) + sign_bytes(text.encode("utf-8"), private_key)
    note = f"{text}\n— {key_name} {b64encode(data).decode('ascii')}\n"
    if split_note(note)[0] != text:
        raise ValueError("the text of a note cannot be read back")
    return note


def save_private_key(path: Path, private_key: Ed25519PrivateKey) -> None:
    """Write a key to a new PEM file (PKCS #8, not encrypted) that only its owner may read.

    The bytes are on the disk when this returns. Raises KeyFileError when the file cannot be written or exists
    already: a key is never overwritten, as nothing could be sealed under its name any more.
    """
    pem = private_key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    try:
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(descriptor, "wb") as file:
            file.write(pem)
            file.flush()
            os.fsync(file.fileno())
        _sync_folder(path.parent)
    except FileExistsError:
        raise KeyFileError(f"{path} exists already; a signing key is never overwritten.") from None
    except OSError as error:
        raise KeyFileError(f"{path} cannot be written: {error.strerror}.") from None


def load_private_key(path: Path) -> Ed25519PrivateKey:
    """Return the key in a PEM file.

    Raises KeyFileError when the file is missing, holds no Ed25519 key, or may be read or written by anyone
    but its owner.
    """
    try:
        with path.open("rb") as file:
            mode = os.fstat(file.fileno()).st_mode
            pem = file.read(10_000)
    except OSError as error:
        raise KeyFileError(f"{path} cannot be read: {error.strerror}.") from None
    if stat.S_IMODE(mode) & 0o077:
        raise KeyFileError(f"{path} is open to others than its owner. Run: chmod 600 {path}")
    try:
        key = serialization.load_pem_private_key(pem, password=None)
    except (TypeError, ValueError, UnsupportedAlgorithm):
        raise KeyFileError(f"{path} does not hold a signing key.") from None
    if not isinstance(key, Ed25519PrivateKey):
        raise KeyFileError(f"{path} holds another kind of key than Ed25519.")
    return key


def _sync_folder(folder: Path) -> None:
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
