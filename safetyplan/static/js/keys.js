/**
 * The hardware keyboard and the scanner. Keys typed while no field has the focus go to the active
 * part. Save never follows from a burst of keys: a scanner ends its digits with Enter.
 */

const BURST = 500;
const NAMES = { ".": "decimal", ",": "decimal", "-": "sign", Backspace: "backspace" };

function keyName(event) {
  if (/^\d$/.test(event.key)) return event.key;
  return NAMES[event.key] ?? null;
}

/** steps: from steps.js; save: the Save button. Returns {inBurst(), stop()}: inBurst is true just after a key. */
export function listen({ steps, save }) {
  let lastKey = -BURST;

  function onKey(event) {
    const activates = event.key === "Enter" || event.key === " ";
    if (event.target === save && activates) {
      // A key held down since the last field must not become a Save.
      if (event.repeat) event.preventDefault();
      return;
    }
    lastKey = performance.now();
    if (event.ctrlKey || event.metaKey || event.altKey || event.target.closest("input, select, textarea")) return;
    const name = keyName(event);
    if (name && steps.typed() !== "none") {
      event.preventDefault();
      steps.focus();
      steps.press(name);
    } else if (event.key === "Enter" && event.target === document.body) {
      steps.moveOn();
    }
  }
  document.addEventListener("keydown", onKey);
  return {
    inBurst: () => performance.now() - lastKey < BURST,
    stop: () => document.removeEventListener("keydown", onKey),
  };
}
