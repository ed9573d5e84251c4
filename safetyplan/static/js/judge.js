/**
 * Judges what was typed by the small table shipped with a due check, for the time without a server.
 * The server judges again on receipt and its judgement is the one recorded.
 *
 * Values are compared as decimal strings through scaled BigInt: 0.1 stays 0.1, nothing is rounded.
 * Exactly on a bound is within it; exactly at the deadline is in time.
 * Kept in step with safetyplan/calculation/limits/table.py by tests/vectors/judging.json.
 */

const PLAIN = /^([+-]?)(\d{1,9})(?:[.,](\d{1,9}))?$/;
// What Python's strip takes away: a blank to one side must be a blank to the other.
const BLANK = "[\\t-\\r\\x1c-\\x20\\x85\\xa0\\u1680\\u2000-\\u200a\\u2028\\u2029\\u202f\\u205f\\u3000]+";
const BLANKS = new RegExp(`^${BLANK}|${BLANK}$`, "g");
const PLACES = 9;

const MILDEST_FIRST = ["within", "outside_target", "not_yet_due", "not_shown", "outside_limit"];

const stripped = (raw) => String(raw).replace(BLANKS, "");

/** A decimal string as an integer in units of 10^-9, or null when it is not a plain decimal number. */
export function scaled(written) {
  const match = PLAIN.exec(stripped(written).replaceAll("\u2212", "-"));
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

function within(value, bounds) {
  if (outside(value, bounds.at_least, bounds.at_most)) return "outside_limit";
  return outside(value, bounds.target_at_least, bounds.target_at_most) ? "outside_target" : "within";
}

function judgeBound(table, part) {
  if (!part) return "not_shown";
  const bounds = boundsFor(table, part.unit);
  const value = scaled(part.raw);
  return !bounds || value === null ? "on_receipt" : within(value, bounds);
}

/** Two values in the unit of the table; any other unit is left to the server. */
function judgeDifference(table, parts) {
  const both = [table.first, table.second].map((name) => entered(name, parts));
  if (both.includes(undefined)) return "not_shown";
  const [first, second] = both.map(({ raw }) => scaled(raw));
  const fits = both.every(({ unit }) => !unit || unit === table.unit);
  return first === null || second === null || !fits ? "on_receipt" : within(first - second, table);
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

/** The worst member decides. A miss is a miss even when another member is left to the server. */
function judgeAll(states) {
  if (states.includes("outside_limit")) return "outside_limit";
  if (states.includes("on_receipt")) return "on_receipt";
  return MILDEST_FIRST.findLast((state) => states.includes(state)) ?? "on_receipt";
}

/** The mildest member decides. One within is enough even when another member is left to the server. */
function judgeAny(states) {
  if (states.includes("within")) return "within";
  if (states.includes("on_receipt")) return "on_receipt";
  return MILDEST_FIRST.find((state) => states.includes(state)) ?? "on_receipt";
}

function entered(name, parts) {
  return parts.find((part) => part.name === name && stripped(part.raw) !== "");
}

const SEVERAL = { all_of: judgeAll, any_of: judgeAny };
const JUDGES = { bound: judgeBound, attribute: judgeAttribute, deadline: judgeDeadline };

/**
 * One of within, outside_target, outside_limit, not_yet_due, not_shown, on_receipt.
 * parts: [{name, raw, unit}]; a part that was not entered is left out. observedAt: Date.
 */
export function judge(table, parts, observedAt) {
  const several = SEVERAL[table?.judge];
  if (several) return several(table.members.map((member) => judge(member, parts, observedAt)));
  if (table?.judge === "difference") return judgeDifference(table, parts);
  const one = JUDGES[table?.judge];
  return one ? one(table, entered(table.part, parts), observedAt) : "on_receipt";
}
