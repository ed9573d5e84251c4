"""The modules of the device on their own: proofs, an old database, when a record may leave."""

import hashlib
from typing import Any

import pytest

from safetyplan.integrity.consistency import consistency_proof
from safetyplan.integrity.verifier import tree_root
from tests.browser.test_judge_vectors import static_address

__all__ = ["static_address"]
pytestmark = pytest.mark.browser
PROVES = """async (rows) => {
  const { proves } = await import("/js/witness.js");
  const bytes = (digits) => Uint8Array.from(digits.match(/../g) ?? [], (pair) => parseInt(pair, 16));
  return Promise.all(rows.map(({ first, second, from, to, proof }) => (
    proves({ first, second, from: bytes(from), to: bytes(to), proof: proof.map(bytes) }))));
}"""
OLD_DATABASE = """() => new Promise((resolve, reject) => {
  const request = indexedDB.open("safetyplan", 1);
  request.onupgradeneeded = () => {
    const made = request.result;
    made.createObjectStore("device", { keyPath: "name" });
    made.createObjectStore("credentials", { keyPath: "key" });
    made.createObjectStore("sending", { keyPath: "uuid" });
  };
  request.onerror = () => reject(request.error);
  request.onsuccess = () => {
    const work = request.result.transaction(["device", "sending"], "readwrite");
    work.objectStore("device").put({ name: "this", uuid: "here" });
    for (const [uuid, at, state] of [["b", "2026-05-14T08:00", "sending"],
      ["a", "2026-05-14T07:00", "received"], ["c", "2026-05-14T09:00", "sending"]]) {
      work.objectStore("sending").put({ uuid, state, claim: { captured_at: at } });
    }
    work.oncomplete = () => { request.result.onversionchange = () => request.result.close(); resolve(true); };
  };
})"""
CARRIED_OVER = """async () => {
  const { read, readAll } = await import("/js/store.js");
  const { counts } = await import("/js/outbox.js");
  const rows = (await readAll("sending")).sort((x, y) => x.number - y.number).map(({ uuid }) => uuid);
  return { rows, counts: await counts(), device: (await read("device", "this")).uuid };
}"""
LETS_NEWER_IN = """async () => {
  const { write, read } = await import("/js/store.js");
  await write("device", { name: "kept", value: 1 });
  const newer = await new Promise((resolve, reject) => {
    const request = indexedDB.open("safetyplan", 99);
    request.onblocked = () => reject(new Error("blocked"));
    request.onerror = () => reject(request.error);
    request.onsuccess = () => resolve(request.result);
  });
  const version = newer.version;
  newer.close();
  return version;
}"""
MAY_LEAVE = """async (rows) => {
  const { mayLeave } = await import("/js/outbox.js");
  return rows.map(([state, backedUp, recordedAt]) => mayLeave(
    { state, claim: { establishment: "e" }, receipt: { receipt: { sequence: 7, recorded_at: recordedAt } } },
    { establishment: "e", backedUp, serverTime: "2026-06-20T00:00:00.000Z" }));
}"""
WAITS = """async (headers) => {
  const { waitOf } = await import("/js/claim.js");
  return headers.map((header) => waitOf(header, Date.parse("2026-05-14T07:00:00Z")));
}"""


@pytest.fixture
def page(browser: Any, static_address: str) -> Any:
    """An empty page with a database of its own, where the modules can be fetched."""
    context = browser.new_context()
    opened = context.new_page()
    opened.goto(f"{static_address}/icons/favicon.svg")
    yield opened
    context.close()


def proof_row(first: int, second: int) -> dict[str, Any]:
    """Give a proof as the server answers it, with the roots that the two seals hold."""
    leaves = [hashlib.sha256(str(number).encode()).digest() for number in range(second)]
    proof = consistency_proof(first, second, lambda s, e: tree_root(leaves[s:e]))
    roots = {"from": tree_root(leaves[:first]).hex(), "to": tree_root(leaves).hex()}
    return {"first": first, "second": second, "proof": [value.hex() for value in proof], **roots}


def test_the_device_accepts_every_true_proof_and_no_changed_one(page: Any) -> None:
    true = [proof_row(first, second) for second in range(1, 34) for first in range(1, second + 1)]
    other = "ab" * 32
    changed = [{**row, "from": other} for row in true] + [{**row, "to": other} for row in true]
    changed += [{**row, "proof": row["proof"][:-1]} for row in true if row["proof"]]
    changed += [{**row, "proof": [*row["proof"], other]} for row in true]

    assert set(page.evaluate(PROVES, true)) == {True}
    assert set(page.evaluate(PROVES, changed)) == {False}


def test_a_database_of_the_version_before_keeps_its_records_in_their_order(page: Any) -> None:
    page.evaluate(OLD_DATABASE)

    found = page.evaluate(CARRIED_OVER)

    assert found == {"rows": ["a", "b", "c"], "counts": {"unsent": 2, "refused": 0}, "device": "here"}


def test_an_open_page_lets_a_newer_version_change_the_database(page: Any) -> None:
    assert page.evaluate(LETS_NEWER_IN) == 99


# Received, in a backup, and more than thirty days old by the server's clock: all three.
LEAVING = {
    "all three": (["received", 7, "2026-05-14T07:00:00.000Z"], True),
    "not backed up": (["received", 6, "2026-05-14T07:00:00.000Z"], False),
    "no backup known": (["received", 0, "2026-05-14T07:00:00.000Z"], False),
    "exactly thirty days": (["received", 7, "2026-05-21T00:00:00.000Z"], False),
    "refused": (["refused", 7, "2026-05-14T07:00:00.000Z"], False),
    "on its way": (["sending", 7, "2026-05-14T07:00:00.000Z"], False),
}


def test_a_record_leaves_only_received_backed_up_and_thirty_days_old(page: Any) -> None:
    rows = [row for row, _leaves in LEAVING.values()]

    assert page.evaluate(MAY_LEAVE, rows) == [leaves for _row, leaves in LEAVING.values()]


def test_a_server_is_given_the_time_it_asks_for(page: Any) -> None:
    # RFC 9110 section 10.2.3: seconds, or a date; without either a minute is ours to choose
    headers = ["120", "Thu, 14 May 2026 07:05:00 GMT", None, "soon", "Thu, 14 May 2026 06:00:00 GMT"]

    assert page.evaluate(WAITS, headers) == [120_000, 300_000, 60_000, 60_000, 0]
