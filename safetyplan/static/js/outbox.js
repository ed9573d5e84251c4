/**
 * The outbox: every record made on this device, in the order in which it was made.
 *
 * States of a record:
 *   sending   kept here, not yet received          aside     so too, and after the others: it alone met a fault
 *   held      the server wants the person first    refused   not taken as it stands; `refusal` says why
 *   received  the server's signed receipt is here  replaced  refused, then entered again as another record
 *
 * One flusher at a time on this device, under a lock that tabs and the service worker share. A record
 * leaves "sending" only by the server's own answer, and nothing is taken out before it is received, the
 * server has said that its copy is backed up, and thirty days have passed by the server's clock.
 */

import { sha256Hex, toBase64Long } from "./bytes.js";
import { send, sendFile, signed } from "./claim.js";
import { answerOf, change, read, readAll, transact, write } from "./store.js";

const LOCK = "safetyplan-outbox";
const KEPT_FOR = 30 * 86_400_000;
const LONGEST_PAUSE = 86_400_000;
const PROBE = 8000;
export const UNSENT = ["sending", "aside", "held"];

const channel = globalThis.BroadcastChannel ? new BroadcastChannel("safetyplan-outbox") : null;
const watchers = new Set();

/** Calls back with the UUID of each record whose state changes, here or in another tab. Returns the way to stop. */
export function watch(callback) {
  watchers.add(callback);
  return () => watchers.delete(callback);
}

const tellHere = (uuid) => watchers.forEach((callback) => callback(uuid));
channel?.addEventListener("message", ({ data }) => tellHere(data));

function tell(uuid) {
  channel?.postMessage(uuid);
  tellHere(uuid);
}

/* Keeping ------------------------------------------------------------------------------------------ */

/** A row for bytes that a claim will name: signed by the same key, so that anybody's session may send it. */
export async function fileOf(blob, credential) {
  const bytes = await blob.arrayBuffer();
  return {
    sha256: await sha256Hex(bytes), type: blob.type, bytes, credential: credential.credential,
    signature: await credential.sign(bytes), state: "sending",
  };
}

/**
 * Signs the claim and keeps it with its files in one strict transaction, before anything is sent.
 * server: {url, key}; label: the check and lot for the list; files: rows of fileOf; replaces: the UUID of a
 * refused record that this one enters again. Resolves with the kept envelope only when it is on the disk.
 */
export async function keep(claim, credential, { page = "", label = "", server, files = [], replaces = null }) {
  const measured = await read("device", "clock");
  const envelope = {
    ...await signed(claim, credential), page, label, server, files: files.map(({ sha256 }) => sha256),
    clock: measured?.offset ?? null, state: "sending", receipt: null, refusal: "", tries: 0,
  };
  await transact(["device", "sending", "files"], "readwrite", (device, sending, blobs) => {
    files.forEach((file) => blobs.put(file));
    const last = device.get("number");
    last.onsuccess = () => {
      envelope.number = (last.result?.last ?? 0) + 1;
      device.put({ name: "number", last: envelope.number });
      sending.put(envelope);
    };
    if (!replaces) return;
    const old = sending.get(replaces);
    old.onsuccess = () => { if (old.result) sending.put({ ...old.result, state: "replaced", replaced_by: claim.uuid }); };
  });
  tell(envelope.uuid);
  return envelope;
}

/** Signs a record again with a new credential of the same person; the author and the times stay. */
export async function signAgain(envelope, credential) {
  const { claim } = envelope;
  if (credential.person !== claim.person || credential.establishment !== claim.establishment) throw new Error("another author");
  const again = { ...claim, device: credential.device, credential: credential.credential };
  await change("sending", envelope.uuid, { ...await signed(again, credential), state: "sending", refusal: "", earlier: envelope.bytes });
  tell(envelope.uuid);
}

/* Reading ------------------------------------------------------------------------------------------ */

/** The record of that UUID, or undefined. */
export const find = (uuid) => read("sending", uuid);

/** Every record on this device, the newest first. */
export async function all() {
  return (await readAll("sending")).sort((first, second) => second.number - first.number);
}

/** {unsent, refused}: how many records wait to be received, and how many a person must look at. */
export function counts() {
  return transact("sending", "readonly", (rows) => {
    const asked = [...UNSENT, "refused"].map((state) => rows.index("order").count(within(state)));
    return { get value() {
      const [sending, aside, held, refused] = asked.map(({ result }) => result);
      return { unsent: sending + aside + held, refused };
    } };
  });
}

const within = (state, after = 0) => IDBKeyRange.bound([state, after], [state, Infinity], after > 0);

const allOf = (state) => transact("sending", "readonly", (rows) => answerOf(rows.index("order").getAll(within(state))));

/** The first record of a state after a number, or undefined. */
const nextOf = (state, after) => transact("sending", "readonly", (rows) => answerOf(rows.index("order").get(within(state, after))));

/** The oldest record made on that page by that person that is not received yet, or null. */
export async function unsentOn({ establishment, person, page }) {
  const rows = (await all()).filter(({ state, claim, page: madeOn }) => (
    UNSENT.includes(state) && madeOn === page && claim.establishment === establishment && claim.person === person
  ));
  return rows.at(-1) ?? null;
}

/* Sending ------------------------------------------------------------------------------------------ */

/** Whether something answers as our server does: then a record that got no answer is itself at fault. */
async function lineIsGood({ server }) {
  try {
    const answer = await fetch(`${server.url}line/`, {
      headers: { "Accept": "application/json" }, credentials: "omit", redirect: "error", cache: "no-store", signal: AbortSignal.timeout(PROBE),
    });
    return (await answer.json()).here === "records";
  } catch {
    return false;
  }
}

async function mark(envelope, changes) {
  await change("sending", envelope.uuid, changes);
  tell(envelope.uuid);
}

/** Notes how far the server's clock is ahead of this one, in milliseconds, from an answer of its own. */
export async function noteClock(serverTime, asked) {
  const at = Date.parse(serverTime);
  if (!Number.isNaN(at)) await write("device", { name: "clock", offset: Math.round(at - (asked + Date.now()) / 2) });
}

async function sendFiles(envelope) {
  for (const sha256 of envelope.files ?? []) {
    const file = await read("files", sha256);
    if (!file || file.state !== "sending") continue;
    const outcome = await sendFile(file, envelope);
    if (outcome.ok) await change("files", sha256, { state: "received" });
    else if (outcome.kind === "refused") await change("files", sha256, { state: "refused", refusal: outcome.message });
    else return outcome;
  }
  return null;
}

/** Sends one record with its files and notes what came of it. Returns "on", or "stop" when the way is at fault. */
async function sendOne(envelope) {
  const asked = Date.now();
  const outcome = await sendFiles(envelope) ?? await send(envelope);
  if (outcome.ok) {
    // The server has it: a full disk on the device must not turn a received record into an unsent one.
    await mark(envelope, { state: "received", receipt: outcome.receipt, refusal: "" }).catch(() => {});
    await noteClock(outcome.receipt.server_time, asked).catch(() => {});
    return "on";
  }
  const told = { refusal: outcome.message, part: outcome.part, offers: outcome.offers, status: outcome.status, tries: envelope.tries + 1 };
  if (outcome.kind === "wait") {
    await write("device", { name: "pause", until: Date.now() + outcome.wait });
    await mark(envelope, told);
    return "stop";
  }
  if (outcome.kind === "refused") await mark(envelope, { ...told, state: "refused" });
  if (outcome.kind === "hold") await mark(envelope, { ...told, state: outcome.line ? envelope.state : "held" });
  if (outcome.kind === "hold") return outcome.line ? "stop" : "on";
  if (outcome.kind !== "retry") return "on";
  const itself = !outcome.line || await lineIsGood(envelope);
  await mark(envelope, { ...told, state: itself ? "aside" : envelope.state });
  return itself ? "on" : "stop";
}

/** Sends what there was when it began and what came since, each record once; "aside" after the others. */
async function sendAll(heldToo) {
  const pause = await read("device", "pause");
  const wait = (pause?.until ?? 0) - Date.now();
  if (wait > 0 && wait < LONGEST_PAUSE) return; // a longer one is a clock set back since
  if (heldToo) for (const { uuid } of await allOf("held")) await change("sending", uuid, { state: "sending" });
  const asides = await allOf("aside");
  let last = 0;
  for (let next = await nextOf("sending", last); next; next = await nextOf("sending", last)) {
    last = next.number;
    if (await sendOne(next) === "stop") return;
  }
  for (const row of asides) if (await sendOne(row) === "stop") return;
}

let flushing = null;
let wanted = false;
let heldWanted = false;

/** Sends everything that waits. held: also what waits for a person, who has come or has asked for it. */
export function flush({ held = false } = {}) {
  wanted = true;
  heldWanted ||= held;
  flushing ??= navigator.locks.request(LOCK, async () => {
    while (wanted) {
      const heldToo = heldWanted;
      wanted = heldWanted = false;
      await sendAll(heldToo);
    }
  }).finally(() => {
    flushing = null;
    if (wanted) flush();
  });
  return flushing;
}

/** Puts a refused record back in the queue as it is; for a person who has seen to the reason. */
export async function tryAgain(uuid) {
  await change("sending", uuid, { state: "sending", refusal: "" });
  tell(uuid);
  return flush({ held: true });
}

/* Taking out and handing over ------------------------------------------------------------------------ */

/** Whether a record may leave this device: received, backed up by the server's word, thirty days old by its clock. */
export function mayLeave(row, { establishment, backedUp, serverTime }) {
  return row.state === "received" && row.claim.establishment === establishment
    && row.receipt.receipt.sequence <= backedUp
    && Date.parse(serverTime) - Date.parse(row.receipt.receipt.recorded_at) > KEPT_FOR;
}

/** Takes out what may leave, with its files. Returns how many. */
export async function tidy(said) {
  const leaving = (await readAll("sending")).filter((row) => mayLeave(row, said));
  const staying = new Set((await readAll("sending")).filter((row) => !mayLeave(row, said)).flatMap(({ files }) => files ?? []));
  await transact(["sending", "files"], "readwrite", (sending, files) => {
    for (const row of leaving) {
      sending.delete(row.uuid);
      for (const sha256 of row.files ?? []) if (!staying.has(sha256)) files.delete(sha256);
    }
  });
  return leaving.length;
}

async function fileLines(row) {
  const files = await Promise.all((row.files ?? []).map((sha256) => read("files", sha256)));
  return files.filter(Boolean).map(({ sha256, credential, signature, bytes }) => (
    { file: toBase64Long(bytes), sha256, credential, signature }));
}

/**
 * The records without a receipt as the lines of a file, the oldest first: {"claim", "signature", "state", "why"},
 * each after the files it names: {"file", "sha256", "credential", "signature"}.
 */
export async function exported() {
  const rows = (await all()).filter(({ state }) => state !== "received").reverse();
  const lines = [];
  for (const row of rows) {
    const { signature, state, refusal } = row;
    lines.push(...await fileLines(row), { claim: new TextDecoder().decode(row.bytes), signature, state, why: refusal });
  }
  return lines.map((line) => JSON.stringify(line)).join("\n");
}
