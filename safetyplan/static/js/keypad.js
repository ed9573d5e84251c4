/** Our own three-column keypad: 0-9, one decimal key (or "now" for times and moments) and backspace. */

import { button, make } from "./dom.js";
import { word } from "./words.js";

/** The decimal mark of the page's language; the server accepts both. */
export const decimalMark = new Intl.NumberFormat(document.documentElement.lang || "en")
  .formatToParts(1.5).find(({ type }) => type === "decimal").value === "," ? "," : ".";

function key(name, label, spoken, press) {
  return button(label, {
    class: "key", "data-key": name, "aria-label": spoken,
    // The field keeps the focus, so a hardware keyboard and a screen reader stay where they are.
    onpointerdown: (event) => event.preventDefault(),
    onclick: () => press(name),
  });
}

/** press(name) is called with "0".."9", "decimal", "now" or "backspace". Returns {element, setMode}. */
export function createKeypad(press) {
  const digit = (name) => key(name, name, null, press);
  const decimal = key("decimal", decimalMark, word("decimal"), press);
  const now = key("now", word("now"), null, press);
  const backspace = key("backspace", "⌫", word("backspace"), press);
  const element = make("div", { class: "keypad", role: "group", "aria-label": word("keypad") },
    ..."123456789".split("").map(digit), decimal, now, digit("0"), backspace);

  /** mode: "number", "time", "moment", "date" (digits alone) or "none". */
  function setMode(mode) {
    element.hidden = mode === "none";
    decimal.hidden = mode !== "number";
    now.hidden = mode !== "time" && mode !== "moment";
  }
  return { element, setMode };
}
