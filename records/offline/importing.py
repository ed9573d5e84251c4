"""Reads a file of unsent records that a device wrote, and takes each as if the device had sent it.

A line is {"claim": the exact text, "signature": base64, "state", "why"}, or a photo that a claim after it
names: {"file": base64, "sha256", "credential", "signature"}. Each was signed on the device, so who brings the
file does not matter.
"""

import json
from base64 import b64decode
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from records.checks.capture import accept_claim
from records.checks.photo_claims import accept_file
from safetyplan.establishments.models import Establishment
from safetyplan.integrity.refusals import BadInput, Refused

LARGEST = 200_000_000
MOST = 5000
MARK = b"\xef\xbb\xbf"
CLAIM, PHOTO = ("claim", "signature"), ("file", "sha256", "credential", "signature")
Row = dict[str, str]


@dataclass(frozen=True)
class Taken:
    """What became of one line: its number, the record's, or why it was not taken.

    photo: the line is a photo, which has no number of its own. kept: what was not taken is kept as it came.
    """

    line: int
    sequence: int | None = None
    before: bool = False
    why: str = ""
    photo: bool = False
    kept: bool = False


def _lines(file: Any) -> Iterator[bytes]:
    """Give the lines of a file, one at a time: photos make it large."""
    file.seek(0)
    for number, line in enumerate(file):
        text = line.removeprefix(MARK) if number == 0 else line
        if text.strip():
            yield text


def _read(line: bytes) -> Row:
    """Read a line; a claim or a photo."""
    try:
        value = json.loads(line.decode())
        row = {name: value[name] for name in (PHOTO if "file" in value else CLAIM)}
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise BadInput(_("This line is no record of a device.")) from error
    if not all(isinstance(text, str) for text in row.values()):
        raise BadInput(_("This line is no record of a device."))
    return row


def _take(establishment: Establishment, number: int, line: bytes) -> Taken:
    try:
        row = _read(line)
    except Refused as refusal:
        return Taken(number, why=str(refusal))
    try:
        return _photo(establishment, number, row) if "file" in row else _claim(establishment, number, row)
    except Refused as refusal:
        return Taken(number, why=str(refusal), photo="file" in row, kept="claim" in row)


def _claim(establishment: Establishment, number: int, row: Row) -> Taken:
    raw = row["claim"].encode("utf-8", errors="surrogatepass")
    accepted = accept_claim(establishment=establishment, raw=raw, signature=row["signature"])
    return Taken(number, accepted.entry.sequence, before=accepted.duplicate)


def _photo(establishment: Establishment, number: int, row: Row) -> Taken:
    try:
        content = b64decode(row["file"], validate=True)
    except ValueError as error:
        raise BadInput(_("The photo arrived damaged: send it again."), part="photo") from error
    said = {name: row[name] for name in ("sha256", "credential", "signature")}
    new = accept_file(establishment=establishment, content=content, **said)
    return Taken(number, before=not new, photo=True)


def take_file(establishment: Establishment, file: Any) -> list[Taken]:
    """Take every record and photo of a file; a record that cannot be taken is kept raw with its reason."""
    if file is None:
        raise BadInput(_("Choose the file that the device wrote."), part="file")
    if file.size > LARGEST:
        raise Refused(_("The file is larger than 200 MB. Export it in parts."), status=413)
    count = sum(1 for _line in _lines(file))
    if not count:
        raise BadInput(_("The file holds no records."), part="file")
    if count > MOST:
        raise Refused(_("The file holds more than 5,000 records. Export it in parts."), status=413)
    if all(_is_strange(line) for line in _lines(file)):
        raise BadInput(_("This is no file of unsent records."), part="file")
    return [_take(establishment, number, line) for number, line in enumerate(_lines(file), start=1)]


def _is_strange(line: bytes) -> bool:
    try:
        _read(line)
    except BadInput:
        return True
    return False
