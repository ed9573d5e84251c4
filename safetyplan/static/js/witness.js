/**
 * The device as a witness. It keeps the last record seal it saw of an establishment and asks of each newer
 * one for the proof that it continues the kept one (RFC 6962 section 2.1.2, checked as RFC 9162 section
 * 2.1.4.2 says). Where there is none, it sounds an alarm that stands until a person has seen it.
 */

import { fromBase64, toHex } from "./bytes.js";
import { change, read, write } from "./store.js";

const same = (first, second) => first.length === second.length && first.every((byte, place) => byte === second[place]);
const fromHex = (digits) => Uint8Array.from(digits.match(/../g) ?? [], (pair) => parseInt(pair, 16));

async function node(left, right) {
  const bytes = new Uint8Array(1 + left.length + right.length);
  bytes.set([1]);
  bytes.set(left, 1);
  bytes.set(right, 1 + left.length);
  return new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
}

/** Whether the proof shows that the tree of size `first` and root `from` begins the one of size `second` and root `to`. */
export async function proves({ first, second, from, to, proof }) {
  if (first === second) return proof.length === 0 && same(from, to);
  if (first < 1 || first > second || proof.length === 0) return false;
  const path = (first & (first - 1)) === 0 ? [from, ...proof] : [...proof];
  let [at, last] = [first - 1, second - 1];
  while (at % 2 === 1) [at, last] = [Math.floor(at / 2), Math.floor(last / 2)];
  let [older, newer] = [path[0], path[0]];
  for (const hash of path.slice(1)) {
    if (last === 0) return false;
    if (at % 2 === 1 || at === last) {
      older = await node(hash, older);
      newer = await node(hash, newer);
      while (at % 2 === 0 && at !== 0) [at, last] = [Math.floor(at / 2), Math.floor(last / 2)];
    } else {
      newer = await node(newer, hash);
    }
    [at, last] = [Math.floor(at / 2), Math.floor(last / 2)];
  }
  return last === 0 && same(older, from) && same(newer, to);
}

/** Origin, size and root of a seal's note when its signature is the key's; null otherwise. */
export async function readNote(note, publicKey) {
  const [text, signature] = note.split("\n\n");
  const lines = text.split("\n");
  const signed = /^— (\S+) (\S+)\n$/.exec(signature ?? "");
  if (!signed || lines.length < 3) return null;
  try {
    const key = await crypto.subtle.importKey("raw", fromBase64(publicKey), { name: "Ed25519" }, false, ["verify"]);
    const bytes = new TextEncoder().encode(`${text}\n`);
    if (!await crypto.subtle.verify({ name: "Ed25519" }, key, fromBase64(signed[2]).slice(4), bytes)) return null;
  } catch (error) {
    if (error.name !== "NotSupportedError") return null; // without Ed25519 the roots are still compared
  }
  return { origin: lines[0], size: Number(lines[1]), root: toHex(fromBase64(lines[2])) };
}

async function proofFrom(url, first, second) {
  const answer = await fetch(`${url}?first=${first}&second=${second}`, {
    headers: { "Accept": "application/json" }, credentials: "same-origin", redirect: "error",
  });
  const told = await answer.json();
  if (answer.status === 422 || answer.status === 400) return null; // our server, and it has no such sizes
  if (!answer.ok || !Array.isArray(told.proof)) throw new TypeError("no answer of ours");
  return told.proof.map(fromHex);
}

/** What is wrong with a newer seal beside the kept one, or an empty text. Throws when the server gave no answer. */
async function disagreement(kept, offered, proofUrl) {
  if (kept.origin !== offered.origin) return "origin";
  if (offered.size < kept.size) return "cut-back";
  if (offered.size === kept.size) return offered.root === kept.root ? "" : "fork";
  const proof = await proofFrom(proofUrl, kept.size, offered.size);
  const given = { first: kept.size, second: offered.size, from: fromHex(kept.root), to: fromHex(offered.root), proof };
  return proof && await proves(given) ? "" : "fork";
}

/**
 * Compares the newest seal a server shows with the kept one, and keeps the newer. While an alarm stands, the
 * kept seal stays. Returns the row kept: {establishment, size, root, note, alarm: null | {what, offered, ...}}.
 */
export async function look({ establishment, seal, publicKey, proofUrl, now }) {
  const kept = await read("witness", establishment);
  if (!seal) return kept ?? null;
  const offered = await readNote(seal.note, kept?.publicKey ?? publicKey);
  const what = offered === null ? "signature" : kept && await disagreement(kept, offered, proofUrl);
  if (what && kept) {
    if (kept.alarm && kept.alarm.offered === seal.note) return kept;
    return change("witness", establishment, { alarm: { what, offered: seal.note, at: now, told: false, seen: null } });
  }
  if (what) return null;
  const row = { establishment, publicKey: kept?.publicKey ?? publicKey, ...offered, note: seal.note, alarm: kept?.alarm ?? null };
  await write("witness", row);
  return row;
}

/** Notes that a person has seen the alarm; the kept seal stays, and with it the evidence. */
export async function acknowledge(establishment, now) {
  const kept = await read("witness", establishment);
  return change("witness", establishment, { alarm: { ...kept.alarm, seen: now, toldSeen: false } });
}

/** Tells the server of an alarm, and of its being seen, once each. */
export async function report(row, { url, csrf }) {
  const { alarm } = row;
  const news = !alarm.told ? alarm.what : alarm.seen && !alarm.toldSeen ? `${alarm.what}, seen by a person` : null;
  if (!news) return;
  const answer = await fetch(url, {
    method: "POST", headers: { "Content-Type": "application/json", "Accept": "application/json", "X-CSRFToken": csrf },
    body: JSON.stringify({ what: news, kept: row.note, offered: alarm.offered }), credentials: "same-origin", redirect: "error",
  });
  if (!answer.ok) return;
  await change("witness", row.establishment, { alarm: { ...alarm, told: true, toldSeen: Boolean(alarm.seen) } });
}
