/**
 * Who is at work on this device. Each person who gave their password here may choose a PIN: six digits that
 * belong to the person and this device. Tile and PIN then make that person the author of the next records,
 * with or without a network; where the server answers, the session becomes theirs too, by a number of the
 * server that the person's key signs (devices.py).
 *
 * The PIN never leaves the page. Kept of it is PBKDF2-SHA-256 over its keyed hash, with a key that this
 * browser does not give out, so a copy of the database tells nobody the PIN. Five wrong tries, counted before
 * each is checked, take the PIN away: then the password is asked for. (600,000 rounds: OWASP's figure for
 * PBKDF2-HMAC-SHA-256, from memory. Five tries: reliability demand of this project.)
 *
 * Rows in the store "device":
 *   pin-key                       {key}                     the key of the keyed hash
 *   pin <establishment>/<person>  {person, establishment, printed, initials, salt, kept, wrong}
 *   at-work <establishment>       {person, printed, initials, session, pending}
 */

import { toBase64 } from "./bytes.js";
import { canonicalBytes } from "./canonical.js";
import * as credentials from "./credential.js";
import { read, readAll, remove, write, writeOnce } from "./store.js";

const ROUNDS = 600_000;
export const MOST_WRONG = 5;
export const PIN_LENGTH = 6;
const PATIENCE = 6000;

const nameOf = (establishment, person) => `pin ${establishment}/${person}`;
const workName = (establishment) => `at-work ${establishment}`;
const encoded = (text) => new TextEncoder().encode(text);

/* The PIN ----------------------------------------------------------------------------------------- */

async function deviceKey() {
  const fresh = await crypto.subtle.generateKey({ name: "HMAC", hash: "SHA-256" }, false, ["sign"]);
  return (await writeOnce("device", { name: "pin-key", key: fresh })).key;
}

async function stretched(pin, { establishment, person, salt }) {
  const keyed = await crypto.subtle.sign("HMAC", await deviceKey(), encoded(`${establishment}/${person}/${pin}`));
  const material = await crypto.subtle.importKey("raw", keyed, "PBKDF2", false, ["deriveBits"]);
  const how = { name: "PBKDF2", hash: "SHA-256", salt, iterations: ROUNDS };
  return toBase64(await crypto.subtle.deriveBits(how, material, 256));
}

/** Whether six digits are as easily guessed as 000000, 123456 or 121212. */
export function easilyGuessed(pin) {
  const steps = [...pin].slice(1).map((digit, place) => (10 + Number(digit) - Number(pin[place])) % 10);
  const repeats = [1, 2, 3].some((length) => pin === pin.slice(0, length).repeat(PIN_LENGTH / length));
  return repeats || new Set(steps).size === 1;
}

/** Keeps a PIN for a person who has just given their password here. who: {establishment, person, printed, initials}. */
export async function choosePin(who, pin) {
  const row = { ...who, name: nameOf(who.establishment, who.person), salt: crypto.getRandomValues(new Uint8Array(16)), wrong: 0 };
  await write("device", { ...row, kept: await stretched(pin, row) });
}

/** One try: {ok: true}, {left: tries left}, or {gone: true} when the PIN is taken away or was never chosen. */
export function tryPin(establishment, person, pin) {
  const name = nameOf(establishment, person);
  return navigator.locks.request(name, async () => {
    const row = await read("device", name);
    if (!row) return { gone: true };
    // Counted on the disk before it is checked, so that closing the page gives no further tries.
    await write("device", { ...row, wrong: row.wrong + 1 });
    if (row.wrong < MOST_WRONG && await stretched(pin, row) === row.kept) {
      await write("device", { ...row, wrong: 0 });
      return { ok: true };
    }
    if (row.wrong + 1 >= MOST_WRONG) {
      await remove("device", name);
      return { gone: true };
    }
    return { left: MOST_WRONG - row.wrong - 1 };
  });
}

export const forgetPin = (establishment, person) => remove("device", nameOf(establishment, person));

/** Who has a PIN here, by name: [{person, printed, initials}]. */
export async function withPin(establishment) {
  const rows = (await readAll("device")).filter(({ name, establishment: of }) => name.startsWith("pin ") && of === establishment);
  return rows.sort((first, second) => first.printed.localeCompare(second.printed));
}

/* Who is at work ---------------------------------------------------------------------------------- */

/** The person at work here, as last known: {person, printed, initials, session, pending}, or null. */
export const atWork = async (establishment) => (await read("device", workName(establishment))) ?? null;

/** The credential of the person at work, or null: what signs the next record. */
export async function credentialAtWork(establishment) {
  const found = await atWork(establishment);
  return found && credentials.current(establishment, found.person);
}

/** Notes who is at work. pending: the server does not know it yet. */
export async function setAtWork(establishment, { person, printed, initials, session, pending = false }) {
  const row = { name: workName(establishment), person, printed, initials, session, pending };
  await write("device", row);
  return row;
}

/**
 * Who is at work when a page opens. page: the block #people-data {establishment, person, printed, initials,
 * session}. Somebody who signed in since the last look is; else whoever took the last turn here.
 */
export async function begin(page) {
  const found = await atWork(page.establishment);
  if (found && found.session === page.session && (found.pending || found.person === page.person)) return found;
  return setAtWork(page.establishment, page);
}

/* The server's session ---------------------------------------------------------------------------- */

/** One POST of JSON to our own server: the answer, or an Error with `status` (none when it was not reached). */
export async function post(url, csrf, body) {
  const answer = await fetch(url, {
    method: "POST", body: JSON.stringify(body), credentials: "same-origin", redirect: "error", signal: AbortSignal.timeout(PATIENCE),
    headers: { "Content-Type": "application/json", "Accept": "application/json", "X-CSRFToken": csrf },
  });
  const told = await answer.json().catch(() => null);
  if (answer.ok && told) return told;
  const ours = told?.error;
  throw Object.assign(new Error(ours?.message ?? ""), ours ? { status: answer.status, part: ours.part } : {});
}

/** Makes the server's session that of the person at work: {person, name, initials, session, csrf}. */
export async function takeTurn({ establishment, challenge_url: challengeUrl, turn_url: turnUrl, csrf }, person) {
  const own = await credentials.current(establishment, person);
  if (!own) throw Object.assign(new Error("no key of this person here"), { status: 403, part: "credential" });
  const { nonce } = await post(challengeUrl, csrf, {});
  const text = { v: 1, purpose: "take_turn", establishment, person, device: own.device, nonce };
  const signature = await own.sign(canonicalBytes(text));
  return post(turnUrl, csrf, { nonce, credential: own.credential, signature });
}
