/**
 * The credential of one person on one device: an ECDSA P-256 key pair whose private key cannot leave
 * the browser. It travels with each claim as a signature, so the author of a record never depends on
 * whose session sends it.
 */

import { toBase64 } from "./bytes.js";
import { read, remove, write, writeOnce } from "./store.js";

const KEY = { name: "ECDSA", namedCurve: "P-256" };
const SIGNATURE = { name: "ECDSA", hash: "SHA-256" };

const keyOf = (establishment, person) => `${establishment}/${person}`;

/** True where the browser offers its keys: on https or on the machine itself. */
export function keysAvailable() {
  return globalThis.isSecureContext && Boolean(globalThis.crypto?.subtle) && Boolean(globalThis.indexedDB);
}

/** The UUID of this browser, made once and kept. */
export async function device() {
  return (await writeOnce("device", { name: "this", uuid: crypto.randomUUID() })).uuid;
}

/**
 * The credential kept for this person here, or null:
 * {credential, device, person, establishment, sign(bytes) -> base64 of the 64 bytes r || s}.
 */
export async function current(establishment, person) {
  const row = await read("credentials", keyOf(establishment, person));
  if (!row) return null;
  const sign = async (bytes) => toBase64(await crypto.subtle.sign(SIGNATURE, row.privateKey, bytes));
  return { credential: row.credential, device: row.device, person, establishment, sign };
}

/**
 * Makes a key pair, tells the server its public half and keeps the credential the server answers.
 * Throws with the server's words, or with a TypeError when the server was not reached.
 */
export async function enrol({ url, csrf, establishment, person, deviceLabel }) {
  const pair = await crypto.subtle.generateKey(KEY, false, ["sign", "verify"]);
  const point = await crypto.subtle.exportKey("raw", pair.publicKey);
  const thisDevice = await device();
  const answer = await fetch(url, {
    method: "POST",
    headers: { "Content-Type": "application/json", "Accept": "application/json", "X-CSRFToken": csrf },
    body: JSON.stringify({ device: thisDevice, device_label: deviceLabel, public_key: toBase64(point) }),
    credentials: "same-origin",
    redirect: "error",
  });
  const told = await answer.json().catch(() => ({}));
  if (!answer.ok || !told.credential) {
    throw Object.assign(new Error(told.error?.message ?? ""), { status: answer.status });
  }
  await write("credentials", {
    key: keyOf(establishment, person), credential: told.credential, device: thisDevice, privateKey: pair.privateKey,
  });
  return current(establishment, person);
}

/** Drops a credential the server no longer knows, so that the next save enrols again. */
export function forget(establishment, person) {
  return remove("credentials", keyOf(establishment, person));
}

/** A short name for this device, for the list of devices: the browser and the system, nothing more. */
export function deviceLabel() {
  const agent = navigator.userAgent;
  const browser = ["Firefox", "Edg", "OPR", "Chrome", "Safari"].find((name) => agent.includes(`${name}/`)) ?? "Browser";
  const system = ["Android", "iPhone", "iPad", "Windows", "Mac OS", "Linux"].find((name) => agent.includes(name)) ?? "device";
  return `${browser === "Edg" ? "Edge" : browser}, ${system}`;
}
