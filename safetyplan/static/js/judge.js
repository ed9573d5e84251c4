/**
 * Judges what was typed by the small table shipped with a due check, for the time without a server.
 * The server judges again on receipt and its judgement is the one recorded.
 *
 * Values are compared as decimal strings through scaled BigInt: 0.1 stays 0.1, nothing is rounded.
 * Exactly on a bound is within it; exactly at the deadline is in time.
 * Kept in step with safetyplan/calculation/limits/table.py by tests/vectors/judging.json.
 */

const PLAIN = /^([+-]?)(\d{1,10})(?:[.,](\d{1,9}))?$/;
const PLACES = 9;

// The worst member decides. A miss is a miss even when another member is left to the server.
const WORST_FIRST = ["outside_limit", "not_shown", "not_yet_due", "outside_target", "within"];

/** A decimal string as an integer in units of 10^-9, or null when it is not a plain decimal number. */
export function scaled(written) {
  const match = PLAIN.exec(String(written).trim().replace("\u2212", "-"));
  if (!match) return null;
  const magnitude = BigInt(match[2] + (match[3] ?? "").padEnd(PLACES, "0"));
  return match[1] === "-" ? -magnitude : magnitude;
}

function outside(value, atLeast, atMost) {
  const low = atLeast == null ? null : scaled(atLeast);
  const high = atMost == null ? null : scaled(atMost);
  return (low !== null && value < low) || (high !== null && value > high);
}

function boundsFor(table, unit) {
  if (!unit || unit === table.unit) return table;
  return table.also?.[unit] ?? null;
}

function judgeBound(table, part) {
  if (!part) return "not_shown";
  const bounds = boundsFor(table, part.unit);
  const value = scaled(part.raw);
  if (!bounds || value === null) return "on_receipt";
  if (outside(value, bounds.at_least, bounds.at_most)) return "outside_limit";
  if (outside(value, bounds.target_at_least, bounds.target_at_most)) return "outside_target";
  return "within";
}

function judgeAttribute(table, part) {
  if (!part) return "not_shown";
  return table.accepted.includes(part.raw) ? "within" : "outside_limit";
}

function passes(value, bound, direction) {
  if (bound == null) return true;
  return direction === "at_least" ? value >= scaled(bound) : value <= scaled(bound);
}

function judgeDeadline(table, part, observedAt) {
  const late = observedAt.getTime() > Date.parse(table.deadline);
  if (!part) return late ? "not_shown" : "not_yet_due";
  const bounds = boundsFor(table, part.unit);
  const value = scaled(part.raw);
  if (!bounds || value === null) return "on_receipt";
  if (observedAt.getTime() < Date.parse(table.opens_at)) return "not_yet_due";
  if (!passes(value, bounds.limit, table.direction)) return "outside_limit";
  if (late) return "not_shown"; // a later value does not heal the miss
  return passes(value, bounds.target, table.direction) ? "within" : "outside_target";
}

function judgeAll(table, parts, observedAt) {
  const states = table.members.map((member) => judge(member, parts, observedAt));
  if (states.includes("outside_limit")) return "outside_limit";
  if (states.includes("on_receipt")) return "on_receipt";
  return WORST_FIRST.find((state) => states.includes(state)) ?? "on_receipt";
}

const JUDGES = { bound: judgeBound, attribute: judgeAttribute, deadline: judgeDeadline };

/**
 * One of within, outside_target, outside_limit, not_yet_due, not_shown, on_receipt.
 * parts: [{name, raw, unit}]; a part that was not entered is left out. observedAt: Date.
 */
export function judge(table, parts, observedAt) {
  if (table?.judge === "all_of") return judgeAll(table, parts, observedAt);
  const one = JUDGES[table?.judge];
  if (!one) return "on_receipt";
  const part = parts.find((entered) => entered.name === table.part && entered.raw.trim() !== "");
  return one(table, part, observedAt);
}
