/** The parts of a check, one at a time: the active field, the keypad, and the list of what is entered. */

import { button, make, replace } from "./dom.js";
import { createControl, lacking, shown } from "./fields.js";
import { createKeypad } from "./keypad.js";
import { word } from "./words.js";

const codeOf = (unit) => (typeof unit === "string" ? unit : unit?.code ?? "");

function row(entry, current, open) {
  const choose = button("", { class: "entered-row", "aria-current": current ? "step" : null, onclick: open });
  choose.append(make("span", {}, entry.part.label), make("strong", {}, shown(entry) || word("to-enter")));
  return make("li", {}, choose);
}

/**
 * parts: from the data block; zone: of the establishment; scan: the addresses of scan.js, for a text that may be
 * a lot's code; finished(): called by Enter in the last field.
 * Returns {element, entries, show, filled, complain, firstLacking, restore, press, active}.
 */
export function createSteps({ parts, zone, scan, finished }) {
  const entries = parts.map((part) => ({ part, raw: "", unit: codeOf(part.unit), confirmed: false }));
  const several = entries.length > 1;
  let active = 0;

  const keypad = createKeypad((name) => controls[active].press(name));
  const position = make("p", { class: "step", hidden: !several });
  const previous = button(word("previous"), { onclick: () => show(active - 1) });
  const next = button(word("next"), { onclick: () => show(active + 1) });
  const list = make("ol", { class: "entered", "aria-label": word("entered") });
  const controls = entries.map((entry, index) => createControl(entry, index, { changed: refresh, moveOn, zone, scan, offered }));

  function refresh() {
    controls[active].refresh();
    position.textContent = word("step", { n: active + 1, count: entries.length });
    previous.disabled = active === 0;
    next.disabled = active === entries.length - 1;
    if (several) replace(list, ...entries.map((entry, index) => row(entry, index === active, () => show(index))));
  }
  function show(index, focus = true) {
    active = index;
    controls.forEach((control, place) => { control.element.hidden = place !== active; });
    keypad.setMode(controls[active].mode);
    refresh();
    if (focus) controls[active].focus();
  }
  function moveOn() {
    if (active < entries.length - 1) show(active + 1);
    else finished();
  }
  function offered(entry, { raw, unit, confirmed }) {
    Object.assign(entry, { raw, unit: unit || entry.unit, confirmed: Boolean(confirmed) });
    controls[active].say("");
    refresh();
    finished();
  }
  /** Says a message beside the part of that name, with the server's offers; false when there is none. */
  function complain(name, message, offers = []) {
    const index = entries.findIndex(({ part }) => part.name === name);
    if (index < 0) return false;
    show(index);
    controls[index].say(message, offers);
    return true;
  }
  /** The first part that cannot be sent yet: {name, message}, or null. */
  function firstLacking() {
    controls.forEach((control) => control.say(""));
    const wanting = entries.find((entry) => lacking(entry));
    return wanting ? { name: wanting.part.name, message: lacking(wanting) } : null;
  }
  /** What was entered, as the claim carries it: the text exactly as typed. */
  function filled() {
    return entries.filter(({ raw }) => raw.trim() !== "").map(({ part, raw, unit, confirmed }) => (
      { name: part.name, raw, unit: part.entry === "number" ? unit : "", confirmed }));
  }
  function restore(values) {
    for (const { name, raw, unit, confirmed } of values) {
      const entry = entries.find(({ part }) => part.name === name);
      if (entry) Object.assign(entry, { raw, unit: unit || entry.unit, confirmed });
    }
    controls.forEach((control) => control.refresh());
    if (several) refresh();
  }
  const element = make("div", { class: several ? "steps several" : "steps" },
    make("div", { class: "step-field" }, position, ...controls.map((control) => control.element)),
    make("div", { class: "step-keys" }, keypad.element, several && make("div", { class: "step-moves" }, previous, next)),
    several && list);
  if (entries.length > 0) show(0, false);
  else element.hidden = true;
  return {
    element, entries, show, filled, complain, firstLacking, restore,
    press: (name) => controls[active]?.press(name), focus: () => controls[active]?.focus(), moveOn,
    typed: () => controls[active]?.mode,
  };
}
