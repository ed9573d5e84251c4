/** Bytes as base64 and hexadecimal text, and SHA-256. */

export function toBase64(bytes) {
  return btoa(String.fromCharCode(...new Uint8Array(bytes)));
}

/** The same for many bytes: a call takes only so many arguments. */
export function toBase64Long(bytes) {
  const whole = new Uint8Array(bytes);
  let text = "";
  for (let at = 0; at < whole.length; at += 8192) text += String.fromCharCode(...whole.subarray(at, at + 8192));
  return btoa(text);
}

export function fromBase64(written) {
  return Uint8Array.from(atob(written), (character) => character.charCodeAt(0));
}

export function toHex(bytes) {
  return Array.from(new Uint8Array(bytes), (byte) => byte.toString(16).padStart(2, "0")).join("");
}

export async function sha256Hex(bytes) {
  return toHex(await crypto.subtle.digest("SHA-256", bytes));
}
