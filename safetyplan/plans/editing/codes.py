"""Codes of the parts of a plan, made from names: short, plain, never used twice. Pure."""

import re
import unicodedata
from collections.abc import Collection, Iterable

PRODUCT_CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,11}")
LONGEST = 40


def plain(text: str) -> str:
    """Give a text in plain letters: accents dropped, whatever is no letter or digit a blank."""
    letters = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return " ".join(re.findall(r"[A-Za-z0-9]+", letters))


def code_from(name: str, taken: Collection[str], otherwise: str) -> str:
    """Make a code from a name, such as starter_added; a number follows where it is taken."""
    stem = plain(name).lower().replace(" ", "_")[:LONGEST].strip("_") or otherwise
    return _free(stem, taken, "_")


def product_code(name: str, taken: Collection[str]) -> str:
    """Make the short code of a product from the first letters of its name."""
    words = plain(name).upper().split()
    stem = "".join(word[0] for word in words)[:4] if len(words) > 1 else "".join(words)[:3]
    return _free(stem or "P", taken, "")


def _free(stem: str, taken: Collection[str], joint: str) -> str:
    if stem not in taken:
        return stem
    return next(f"{stem}{joint}{n}" for n in range(2, len(taken) + 3) if f"{stem}{joint}{n}" not in taken)


def lines_of(text: str) -> list[str]:
    """Read a list written one per line; empty lines and what stands there twice are dropped."""
    return list(dict.fromkeys(line.strip() for line in text.splitlines() if line.strip()))


def as_lines(items: Iterable[str]) -> str:
    """Write a list one per line."""
    return "\n".join(items)
