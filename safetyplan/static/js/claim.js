/**
 * A claim is what a person on a device says was observed. It is written once, signed, and sent as
 * exactly those bytes until the server's own receipt for them is in hand (outbox.js keeps it meanwhile).
 * Sending the same claim again stores once: its UUID is the idempotency key.
 */

import { fromBase64, sha256Hex } from "./bytes.js";
import { canonicalBytes, instant } from "./canonical.js";
import { word } from "./words.js";

const PATIENCE = 20_000;

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

/** The claim with its exact bytes, their SHA-256 and the signature of the person's key on this device. */
export async function signed(claim, credential) {
  const bytes = canonicalBytes(claim);
  return { uuid: claim.uuid, claim, bytes, hash: await sha256Hex(bytes), signature: await credential.sign(bytes) };
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

async function receiptIsOurs(answer, envelope) {
  try {
    return answer.receipt.uuid === envelope.uuid && answer.receipt.claim_hash === envelope.hash
      && Number.isSafeInteger(answer.receipt.sequence) && await signatureHolds(answer, envelope.server.key);
  } catch {
    return false;
  }
}

const failed = (kind, message, more = {}) => ({ ok: false, kind, message, part: "", offers: [], ...more });

/** Milliseconds to wait as Retry-After says: seconds or a date; a minute when it says nothing that can be read. */
export function waitOf(header, now) {
  if (/^\d{1,6}$/.test(header ?? "")) return Number(header) * 1000;
  const until = Date.parse(header ?? "");
  return Number.isNaN(until) ? 60_000 : Math.max(0, until - now);
}

/**
 * What an answer that is no receipt means. Only words in our own form are the server's: a portal's page is not.
 *   refused  the record as it stands is not taken      hold  the person has to sign in or be let in
 *   wait     not now, in `wait` milliseconds           retry no answer of ours; `line` when the way is at fault
 */
function meaning(answer, told) {
  const { status } = answer;
  const error = typeof told?.error?.message === "string" ? told.error : null;
  const asked = { part: error?.part ?? "", offers: error?.offers ?? [], status };
  if (status === 401 || status === 403) return failed("hold", error?.message ?? word("sign-in-again"), { ...asked, line: !error });
  if (status === 429 || status === 503) {
    return failed("wait", error?.message ?? word("server-busy"), { wait: waitOf(answer.headers.get("Retry-After"), Date.now()) });
  }
  if (status === 413) return failed("refused", error?.message ?? word("too-large"), asked);
  if (error && status >= 400 && status < 500) return failed("refused", error.message, asked);
  return failed("retry", error?.message ?? word("no-answer"), { line: !error });
}

/** One POST to our server, never following a redirect: {answer, told} with told null when it is no JSON. */
export async function ask(url, headers, body) {
  const answer = await fetch(url, {
    method: "POST", headers: { "Accept": "application/json", "X-Sent-At": instant(new Date()), ...headers }, body,
    credentials: "same-origin", redirect: "error", signal: AbortSignal.timeout(PATIENCE),
  });
  const json = answer.headers.get("Content-Type")?.startsWith("application/json");
  return { answer, told: json ? await answer.json() : null };
}

/**
 * Sends a kept claim. Only our own signed receipt counts as success, never a status alone (a captive
 * portal answers 200). Returns {ok: true, receipt: the whole answer} or
 * {ok: false, kind: "refused" | "hold" | "wait" | "retry", message, part, offers, line, wait}.
 */
export async function send(envelope) {
  const headers = {
    "Content-Type": "application/json", "Idempotency-Key": `"${envelope.uuid}"`, "X-Claim-Signature": envelope.signature,
  };
  if (Number.isFinite(envelope.clock)) headers["X-Clock-Offset"] = String(envelope.clock);
  try {
    const { answer, told } = await ask(envelope.server.url, headers, envelope.bytes);
    if (answer.status !== 200 && answer.status !== 201) return meaning(answer, told);
    if (told && await receiptIsOurs(told, envelope)) return { ok: true, receipt: told };
    return failed("retry", word("no-receipt"), { line: true });
  } catch {
    return failed("retry", word("no-answer"), { line: true });
  }
}

/** Sends the bytes that a claim names. The answer must echo their SHA-256; otherwise as `send`. */
export async function sendFile(file, envelope) {
  const headers = {
    "Content-Type": file.type || "application/octet-stream", "X-Claim-File-SHA256": file.sha256,
    "X-Claim-Credential": file.credential, "X-Claim-Signature": file.signature,
  };
  try {
    const { answer, told } = await ask(`${envelope.server.url}files/`, headers, file.bytes);
    if (answer.status !== 200 && answer.status !== 201) return meaning(answer, told);
    if (told?.sha256 === file.sha256) return { ok: true };
    return failed("retry", word("no-receipt"), { line: true });
  } catch {
    return failed("retry", word("no-answer"), { line: true });
  }
}
