"""Reads a file of unsent records that a device wrote, and takes each as if the device had sent it.

A line is {"claim": the exact text, "signature": base64, "state", "why"}: the claim was signed on the device,
so who brings the file does not matter.
"""

import json
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from records.checks.capture import accept_claim
from safetyplan.establishments.models import Establishment
from safetyplan.integrity.refusals import BadInput, Refused

LARGEST = 10_000_000
MOST = 5000


@dataclass(frozen=True)
class Taken:
    """What became of one line: its number, the record's, or why it was not taken."""

    line: int
    sequence: int | None
    before: bool
    why: str


def _lines(file: Any) -> list[str]:
    if file is None:
        raise BadInput(_("Choose the file that the device wrote."), part="file")
    if file.size > LARGEST:
        raise Refused(_("The file is larger than 10 MB. Export it in parts."), status=413)
    try:
        lines = [line for line in file.read().decode("utf-8-sig").splitlines() if line.strip()]
    except UnicodeDecodeError as error:
        raise BadInput(_("This is no file of unsent records."), part="file") from error
    if not lines:
        raise BadInput(_("The file holds no records."), part="file")
    if len(lines) > MOST:
        raise Refused(_("The file holds more than 5,000 records. Export it in parts."), status=413)
    return lines


def _read(line: str) -> tuple[str, str]:
    try:
        value = json.loads(line)
        claim, signature = value["claim"], value["signature"]
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise BadInput(_("This line is no record of a device.")) from error
    if not isinstance(claim, str) or not isinstance(signature, str):
        raise BadInput(_("This line is no record of a device."))
    return claim, signature


def _take(establishment: Establishment, number: int, line: str) -> Taken:
    try:
        claim, signature = _read(line)
        raw = claim.encode("utf-8", errors="surrogatepass")
        accepted = accept_claim(establishment=establishment, raw=raw, signature=signature)
    except Refused as refusal:
        return Taken(number, None, before=False, why=str(refusal))
    return Taken(number, accepted.entry.sequence, before=accepted.duplicate, why="")


def take_file(establishment: Establishment, file: Any) -> list[Taken]:
    """Take every record of a file; one that cannot be taken is kept raw with its reason and named."""
    lines = _lines(file)
    if all(_is_strange(line) for line in lines):
        raise BadInput(_("This is no file of unsent records."), part="file")
    return [_take(establishment, number, line) for number, line in enumerate(lines, start=1)]


def _is_strange(line: str) -> bool:
    try:
        _read(line)
    except BadInput:
        return True
    return False
