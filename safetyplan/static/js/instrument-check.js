/**
 * The form of a check of an instrument: the page's own keypad stands below the number being typed.
 * Without this script the same form works with the keyboard of the device.
 */

import { button } from "./dom.js";
import { afterKey } from "./fields.js";
import { createKeypad } from "./keypad.js";
import { word } from "./words.js";

const BURST = 500;
const form = document.getElementById("instrument-check");
const fields = [...form.querySelectorAll("input[data-keypad]")];
const save = form.querySelector("button.save");
const keypad = createKeypad((name) => press(name));
const sign = button("±", {
  class: "sign", "aria-label": word("sign"), onpointerdown: (event) => event.preventDefault(), onclick: () => press("sign"),
});
let field = null;
let lastKey = -BURST;

function press(name) {
  if (!field) return;
  field.value = afterKey(field.value, name, "number");
  field.focus();
}

function serve(input) {
  field = input;
  const place = input.closest(".with-unit") ?? input.closest(".field");
  sign.hidden = input.dataset.keypad !== "negative";
  place.after(sign, keypad.element);
}

/** The pH on the label is only asked for a buffer outside the list. */
function askLabel(choice) {
  const stated = form.elements[choice.name.replace(/_name$/, "_stated")];
  if (stated) stated.closest(".field").hidden = choice.value !== "stated_buffer" && stated.value === "";
}

for (const choice of form.querySelectorAll("select[name$=_name]")) {
  choice.addEventListener("change", () => askLabel(choice));
  askLabel(choice);
}

keypad.setMode("number");
for (const input of fields) {
  input.inputMode = "none";
  input.addEventListener("focus", () => serve(input));
  input.addEventListener("keydown", (event) => {
    lastKey = performance.now();
    if (event.key !== "Enter") return;
    // A scanner or a keyboard ends a number with Enter: on to the next field, never a Save.
    event.preventDefault();
    const next = fields.slice(fields.indexOf(input) + 1).find((other) => other.offsetParent && !other.closest("details:not([open])"));
    (next ?? save).focus();
  });
}
// A number may have been tapped before this script was there.
if (fields.includes(document.activeElement)) serve(document.activeElement);
form.addEventListener("submit", (event) => {
  if (performance.now() - lastKey < BURST) { event.preventDefault(); return; }
  if (form.dataset.sent) event.preventDefault();
  form.dataset.sent = "yes";
});
// A page that the browser kept is a form to be sent anew.
window.addEventListener("pageshow", () => { delete form.dataset.sent; });
