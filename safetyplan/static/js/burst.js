/**
 * Scanners type like a very fast person and end with Enter or Tab. One that is set for another keyboard types
 * the signs over the digits instead of the digits: what it pressed is then read from the keys themselves, as a
 * keyboard of the United States has them (most scanners leave the works that way; common practice, no source).
 */

const GAP = 50;
const LEAST = 4;
const MARKS = { Minus: "-", Period: ".", Slash: "/", Space: " ", Equal: "=", Semicolon: ";", NumpadSubtract: "-", NumpadDecimal: "." };
const SHIFTED = { Minus: "_", Equal: "+", Semicolon: ":", Digit3: "#" };

/** The sign that a keyboard of the United States would write, or "". */
function byKey({ code, shiftKey }) {
  const [, digit] = /^(?:Digit|Numpad)(\d)$/.exec(code) ?? [];
  if (shiftKey && SHIFTED[code]) return SHIFTED[code];
  if (digit && !shiftKey) return digit;
  const [, letter] = /^Key([A-Z])$/.exec(code) ?? [];
  if (letter) return shiftKey ? letter : letter.toLowerCase();
  return MARKS[code] ?? "";
}

/** Whether a key of the digits wrote something else without Shift: the two keyboards differ. */
const isShifted = ({ code, key, shiftKey }) => /^Digit\d$/.test(code) && !shiftKey && key.length === 1 && !/\d/.test(key);

/** The text a scanner meant by these keys, or null when nobody scanned or what was typed is right. Pure. */
export function meant(keys) {
  if (keys.length < LEAST || !keys.some(isShifted)) return null;
  const gaps = keys.slice(1).map(({ at }, place) => at - keys[place].at);
  return gaps.every((gap) => gap <= GAP) ? keys.map(byKey).join("") : null;
}

/** Watches a field: fix(typed, text) is called when a burst ended and another text was meant than was typed. */
export function watchBurst(input, fix) {
  let keys = [];
  input.addEventListener("keydown", (event) => {
    const at = performance.now();
    if (event.key === "Enter" || event.key === "Tab") {
      const text = meant(keys);
      if (text !== null) fix(keys.map(({ key }) => key).join(""), text);
      keys = [];
    } else if (event.key.length === 1 && !event.ctrlKey && !event.metaKey) {
      if (keys.length > 0 && at - keys.at(-1).at > GAP) keys = [];
      keys.push({ key: event.key, code: event.code, shiftKey: event.shiftKey, at });
    }
  });
}
