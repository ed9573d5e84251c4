/**
 * RFC 8785 (JSON Canonicalization Scheme) for the values a claim may hold: objects with ASCII keys,
 * NFC text without surrogates, noncharacters or NUL, integers of magnitude below 2^53, booleans, null, arrays.
 *
 * In this subset the text is the same as Python's
 * json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False).
 * Anything else (a float, undefined, a Date, nesting deeper than 32) throws CanonicalError.
 */

const DEEPEST = 32;
const ASCII_KEY = /^[\x01-\x7f]*$/;
const NOT_A_CHARACTER = /[\0\p{Surrogate}\p{Noncharacter_Code_Point}]/u;

export class CanonicalError extends Error {
  constructor(path, reason) {
    super(`${path}: ${reason}`);
    this.name = "CanonicalError";
  }
}

function text(value, path) {
  if (NOT_A_CHARACTER.test(value)) throw new CanonicalError(path, "text holds a code that is no character");
  if (value.normalize("NFC") !== value) throw new CanonicalError(path, "text is not NFC");
  return JSON.stringify(value);
}

function list(value, path, depth) {
  // Array.from visits the holes of a sparse array too, and a hole is refused as undefined.
  return `[${Array.from(value, (item, index) => write(item, `${path}[${index}]`, depth)).join(",")}]`;
}

function object(value, path, depth) {
  const prototype = Object.getPrototypeOf(value);
  if (prototype !== Object.prototype && prototype !== null) throw new CanonicalError(path, "not a plain object");
  const members = Object.keys(value).sort().map((key) => {
    if (!ASCII_KEY.test(key)) throw new CanonicalError(path, "a key is not ASCII");
    return `${JSON.stringify(key)}:${write(value[key], `${path}.${key}`, depth)}`;
  });
  return `{${members.join(",")}}`;
}

function write(value, path, depth) {
  if (depth > DEEPEST) throw new CanonicalError(path, "nested too deeply");
  if (value === null || typeof value === "boolean") return String(value);
  if (typeof value === "string") return text(value, path);
  if (Number.isSafeInteger(value)) return String(value);
  if (Array.isArray(value)) return list(value, path, depth + 1);
  if (typeof value === "object") return object(value, path, depth + 1);
  throw new CanonicalError(path, `a ${typeof value} of this kind cannot be recorded`);
}

/** The canonical text of a value. */
export function canonical(value) {
  return write(value, "$", 0);
}

/** The canonical UTF-8 bytes of a value: what is hashed, signed and sent. */
export function canonicalBytes(value) {
  return new TextEncoder().encode(canonical(value));
}

/** A Date as RFC 3339 UTC with milliseconds, "2026-05-14T18:00:00.000Z". */
export function instant(date) {
  const written = date.toISOString();
  if (!/^\d{4}-/.test(written)) throw new CanonicalError("$", "the year has more than four digits");
  return written;
}
