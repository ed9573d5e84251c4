/**
 * A claim is what a person on a device says was observed. It is written once, kept on the device,
 * signed, and sent as exactly those bytes until the server's own receipt for them is in hand.
 * Sending the same claim again stores once: its UUID is the idempotency key.
 */

import { fromBase64, sha256Hex } from "./bytes.js";
import { canonicalBytes, instant } from "./canonical.js";
import { read, readAll, write } from "./store.js";
import { word } from "./words.js";

function normalised(value) {
  if (typeof value === "string") return value.normalize("NFC");
  if (Array.isArray(value)) return value.map(normalised);
  if (value && typeof value === "object") {
    return Object.fromEntries(Object.entries(value).map(([key, inner]) => [key, normalised(inner)]));
  }
  return value;
}

/** The claim object. kind: "reading" or "lot_event"; credential: from credential.js; now: Date. */
export function buildClaim({ kind, credential, content, now }) {
  return {
    v: 1,
    uuid: crypto.randomUUID(),
    kind,
    establishment: credential.establishment,
    person: credential.person,
    device: credential.device,
    credential: credential.credential,
    captured_at: instant(now),
    zone: Intl.DateTimeFormat().resolvedOptions().timeZone || "UTC",
    offset_minutes: Math.round(-now.getTimezoneOffset()),
    content: normalised(content),
  };
}

/** Signs the claim and keeps it in the browser before anything is sent. Returns the kept envelope. */
export async function keep(claim, credential, page) {
  const bytes = canonicalBytes(claim);
  const envelope = {
    uuid: claim.uuid, claim, bytes, page, state: "sending", receipt: null,
    hash: await sha256Hex(bytes), signature: await credential.sign(bytes),
  };
  await write("sending", envelope);
  return envelope;
}

/** The oldest claim of this person made on this page that has no receipt and was not refused, or null. */
export async function unsent({ establishment, person, page }) {
  const rows = (await readAll("sending")).filter(({ state, claim, page: madeOn }) => (
    state === "sending" && madeOn === page && claim.establishment === establishment && claim.person === person
  ));
  return rows.sort((first, second) => (first.claim.captured_at < second.claim.captured_at ? -1 : 1))[0] ?? null;
}

async function signatureHolds(answer, publicKey) {
  let key;
  try {
    key = await crypto.subtle.importKey("raw", fromBase64(publicKey), { name: "Ed25519" }, false, ["verify"]);
  } catch (error) {
    // Browsers without Ed25519 still compare UUID and hash; the receipt is kept and can be checked later.
    return error.name === "NotSupportedError";
  }
  const signature = fromBase64(answer.signature);
  return crypto.subtle.verify({ name: "Ed25519" }, key, signature, canonicalBytes(answer.receipt));
}

async function receiptIsOurs(answer, envelope, publicKey) {
  try {
    return answer.receipt.uuid === envelope.uuid && answer.receipt.claim_hash === envelope.hash
      && Number.isSafeInteger(answer.receipt.sequence) && await signatureHolds(answer, publicKey);
  } catch {
    return false;
  }
}

async function mark(envelope, change) {
  const kept = (await read("sending", envelope.uuid)) ?? envelope;
  await write("sending", { ...kept, ...change });
}

const failed = (kind, message, more = {}) => ({ ok: false, kind, message, part: "", offers: [], ...more });

/** What an answer that is no receipt means: the server's refusal, a wait for the person, or a retry. */
async function readRefusal(status, told, envelope) {
  const error = told?.error;
  if (status === 401 || status === 403) return failed("hold", error?.message ?? word("sign-in-again"));
  if (!error || status === 429 || status >= 500) return failed("retry", error?.message ?? word("no-answer"));
  await mark(envelope, { state: "refused", refusal: String(error.message) }).catch(() => {});
  return failed("refused", error.message, { part: error.part ?? "", offers: error.offers ?? [] });
}

async function post(envelope, { url, csrf }) {
  return fetch(url, {
    method: "POST",
    headers: {
      "Content-Type": "application/json", "Accept": "application/json", "X-CSRFToken": csrf,
      "Idempotency-Key": `"${envelope.uuid}"`, "X-Claim-Signature": envelope.signature,
    },
    body: envelope.bytes,
    credentials: "same-origin",
    redirect: "error",
    signal: AbortSignal.timeout(20_000),
  });
}

/**
 * Sends a kept claim. Only our own signed receipt counts as success, never a status alone (a captive
 * portal answers 200). Returns {ok: true, receipt: the whole answer} or
 * {ok: false, kind: "refused" | "hold" | "retry", message, part, offers}.
 */
export async function send(envelope, { url, csrf, serverPublicKey }) {
  let status;
  let told = null;
  try {
    const answer = await post(envelope, { url, csrf });
    status = answer.status;
    if (answer.headers.get("Content-Type")?.startsWith("application/json")) told = await answer.json();
  } catch {
    return failed("retry", word("no-answer"));
  }
  if (status !== 200 && status !== 201) return readRefusal(status, told, envelope);
  if (!told || !await receiptIsOurs(told, envelope, serverPublicKey)) return failed("retry", word("no-receipt"));
  // The server has it: a full disk on the device must not turn a stored record into "not saved".
  await mark(envelope, { state: "received", receipt: told }).catch(() => {});
  return { ok: true, receipt: told };
}
