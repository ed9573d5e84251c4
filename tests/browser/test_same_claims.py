"""Python and the browser judge and write down 10,000 generated claims alike.

The two are written apart: what one of them gets wrong shows as a difference. The tables are those of the
vectors, whose states were reasoned by hand; the values crowd around their bounds and around what a parser
may stumble over; the bodies hold text of many scripts, nested lists, and integers up to 2^53 - 1
(RFC 8785 and RFC 7493 set that range).
"""

import json
import random
import unicodedata
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from safetyplan.calculation.limits.table import judge_by_table
from safetyplan.integrity import canonical
from tests.browser.test_judge_vectors import ROWS, static_address

__all__ = ["static_address"]
pytestmark = pytest.mark.browser
COUNT = 10_000
SEED = 20260514
LETTERS = 'aZ09 éëßøŁžḍΩЖשش中あ한𝄞🧀“”–\t\n\r"\\/<>&\u007f\u0085\u00a0\u200b\u200e\u2028\u2029\ufeff￮'
ODD = [
    "",
    " ",
    "-",
    "+",
    ".",
    ",",
    "1e3",
    "NaN",
    "０",
    "٤",
    "1_0",
    "--1",
    "1.2.3",
    "0x1",
    "4.2 °C",
    "½",
    "inf",
]
BLANKS = ["", "", "", " ", "\t", "\u00a0", "\u2009", "\u3000", "\ufeff", "\x1c", "\x85", "\u200b", "\r\n"]
# As one text each way: handing over objects one by one takes minutes.
BOTH = """async (written) => {
  const { judge } = await import("/js/judge.js");
  const { canonical } = await import("/js/canonical.js");
  return JSON.stringify(JSON.parse(written).map(({ table, parts, observed_at, body }) => (
    [judge(table, parts, new Date(observed_at)), canonical(body)])));
}"""


def number(dice: random.Random, table: dict[str, Any]) -> str:
    """Write a number on a bound of the table, beside it, or anywhere; sometimes something that is none."""
    if dice.random() < 0.15:
        return dice.choice(ODD)
    bounds = [v for v in table.values() if isinstance(v, str) and v.lstrip("-").replace(".", "").isdigit()]
    base = dice.choice([*bounds, "0", "7", "4.60", "999999999", "1000000000", "0.000000001"])
    whole, _, decimals = base.partition(".")
    digits = decimals.ljust(3, "0")
    beside = int(whole + digits) + dice.choice([-1, 0, 0, 0, 1])
    sign, size = ("-" if beside < 0 else dice.choice(["", "", "+"])), str(abs(beside)).zfill(len(digits) + 1)
    cut = len(size) - len(digits)
    written = f"{sign}{size[:cut]}{dice.choice('.,')}{size[cut:]}" if dice.random() < 0.8 else base
    written = written.replace("-", dice.choice("-−"))
    return dice.choice(BLANKS) + written + dice.choice(BLANKS)


def names_in(table: dict[str, Any]) -> set[str]:
    """Give the parts that a table asks for."""
    own = {table[key] for key in ("part", "first", "second") if key in table}
    return own.union(*(names_in(member) for member in table.get("members", [])))


def parts_for(dice: random.Random, table: dict[str, Any]) -> list[dict[str, str]]:
    """Enter the parts of a table; now and then leave one out or take an option."""
    found = []
    for name in sorted(names_in(table)):
        if dice.random() < 0.07:
            continue
        accepted = [code for code in table.get("accepted", [])]
        raw = dice.choice([*accepted, "positive", " negative"]) if accepted else number(dice, table)
        unit = dice.choice([table.get("unit", ""), "", "degC", "degF", "pH", "K"])
        found.append({"name": name, "raw": raw, "unit": unit})
    return found


def text(dice: random.Random) -> str:
    """Write a text of many scripts, normalised as it is at entry."""
    return unicodedata.normalize("NFC", "".join(dice.choices(LETTERS, k=dice.randrange(12))))


def body(dice: random.Random, depth: int = 0) -> Any:
    """Make a value that a claim may hold."""
    kind = dice.randrange(7 if depth < 4 else 4)
    if kind == 0:
        return dice.choice([None, True, False])
    if kind == 1:
        return dice.choice([0, -1, 2**53 - 1, 1 - 2**53, dice.randrange(-(10**9), 10**9)])
    if kind in (2, 3):
        return text(dice)
    if kind == 4:
        return [body(dice, depth + 1) for _ in range(dice.randrange(4))]
    keys = ["".join(dice.choices("abAB_09.", k=dice.randrange(1, 4))) for _ in range(dice.randrange(5))]
    return {key: body(dice, depth + 1) for key in keys}


def claim(dice: random.Random) -> dict[str, Any]:
    """Generate one claim: a table, what is entered for it and when, and a body to write down."""
    row = dice.choice(ROWS)
    table = row["table"]
    moments = [table[key] for key in ("opens_at", "deadline") if key in table] or [row["observed_at"]]
    at = datetime.fromisoformat(dice.choice(moments)) + timedelta(
        milliseconds=dice.choice([-1, 0, 1, 3600000])
    )
    parts = parts_for(dice, table)
    content = {"parts": [{**part, "raw": canonical_text(part["raw"])} for part in parts], "note": body(dice)}
    written = {"v": 1, "observed_at": canonical.instant(at.astimezone(UTC)), "content": content}
    return {"table": table, "parts": parts, "observed_at": written["observed_at"], "body": written}


def canonical_text(raw: str) -> str:
    """Normalise a text as the device does before it signs."""
    return unicodedata.normalize("NFC", raw)


def test_both_judge_and_write_ten_thousand_claims_alike(browser: Any, static_address: str) -> None:
    dice = random.Random(SEED)
    claims = [claim(dice) for _ in range(COUNT)]
    page = browser.new_page()
    page.goto(f"{static_address}/js/judge.js")
    found: list[list[str]] = json.loads(page.evaluate(BOTH, json.dumps(claims)))
    page.close()

    ours = [
        [
            str(judge_by_table(c["table"], c["parts"], datetime.fromisoformat(c["observed_at"]))),
            canonical.dumps(c["body"]).decode(),
        ]
        for c in claims
    ]
    differing = [
        (json.dumps(c), theirs, mine)
        for c, theirs, mine in zip(claims, found, ours, strict=True)
        if theirs != mine
    ]
    assert differing[:3] == []
    assert {state for state, _text in ours} >= {"within", "outside_limit", "on_receipt", "not_shown"}
