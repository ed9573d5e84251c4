/**
 * One control per part of a check: a number with its unit, a time HH:MM, a date YYYY-MM-DD, a moment (a date
 * and a time), a choice, or a text.
 * Each control keeps exactly what was typed in its entry {part, raw, unit, confirmed}.
 */

import { watchBurst } from "./burst.js";
import { button, make, replace } from "./dom.js";
import { decimalMark } from "./keypad.js";
import { createScan } from "./scan.js";
import { suggestionButtons } from "./suggestions.js";
import { localTime } from "./zone.js";
import { word } from "./words.js";

const LONGEST = 40;
export const TIME = /^([01]\d|2[0-3]):[0-5]\d$/;
// Which days and times exist is for the server to say.
const FORMS = { time: TIME, date: /^\d{4}-\d{1,2}-\d{1,2}$/, moment: /^\d{4}-\d{1,2}-\d{1,2} +\d{1,2}:\d{2}$/ };
const ON_KEYPAD = ["number", "time", "date", "moment"];
const MARKS = { 4: "-", 7: "-", 10: " ", 13: ":" };
const SYMBOLS = { degC: "°C", degF: "°F", percent: "%", percent_ww: "% w/w", percent_lactic: "% lactic acid", dornic: "°D" };

const unitCode = (unit) => (typeof unit === "string" ? unit : unit?.code ?? "");

/** The sign shown for a unit, from the data block or the common ones. */
export function unitSymbol(part, code) {
  const known = [part.unit, ...(part.units ?? [])].find((unit) => unitCode(unit) === code);
  return known?.symbol ?? SYMBOLS[code] ?? code;
}

/** What was entered, as shown to a person: "4.2 °C", the option's label, or an empty text. */
export function shown({ part, raw, unit }) {
  if (raw === "") return "";
  if (part.entry === "choice") return part.options.find(({ code }) => code === raw)?.label ?? raw;
  const symbol = unitSymbol(part, unit);
  return part.entry === "number" && symbol ? `${raw} ${symbol}` : raw;
}

/** Why an entry cannot be sent yet, in words, or an empty text. The server judges everything else. */
export function lacking({ part, raw }) {
  if (raw.trim() === "") return part.required === false ? "" : word("enter-part", { part: part.label });
  const form = FORMS[part.entry];
  return form && !form.test(raw.trim()) ? word(`${part.entry}-format`) : "";
}

/** Up to four digits as a time: "0610" becomes "06:10". */
export function asTime(written) {
  const digits = written.replace(/\D/g, "").slice(0, 4);
  return digits.length > 2 ? `${digits.slice(0, 2)}:${digits.slice(2)}` : digits;
}

/** A date or moment after one key; the marks between its digits come by themselves. Pure. */
function afterDateKey(raw, name, entry) {
  if (name === "backspace") return raw.slice(0, /\d[-: ]\d$/.test(raw) ? -2 : -1);
  if (name === "sign") return /^\d{4}(-\d\d?)?$/.test(raw) ? `${raw}-` : raw;
  if (!/^\d$/.test(name) || raw.length >= (entry === "date" ? 10 : 16)) return raw;
  return raw + (/\d$/.test(raw) ? MARKS[raw.length] ?? "" : "") + name;
}

/** The text after one key of the keypad. Pure. */
export function afterKey(raw, name, entry) {
  if (entry === "date" || entry === "moment") return afterDateKey(raw, name, entry);
  if (name === "backspace") return raw.slice(0, entry === "time" && raw.at(-2) === ":" ? -2 : -1);
  if (name === "sign") return /^[-\u2212]/.test(raw) ? raw.slice(1) : `-${raw}`;
  if (name === "decimal") {
    if (/[.,]/.test(raw)) return raw;
    return (/\d$/.test(raw) ? raw : `${raw}0`) + decimalMark;
  }
  if (raw.length >= 12) return raw;
  return entry === "time" ? asTime(raw + name) : raw + name;
}

/** The present time as it is typed into a field. */
function present(entry, zone) {
  const { date, time } = localTime(new Date(), zone);
  return entry === "moment" ? `${date} ${time}` : time;
}

const describe = (id) => `limit-text ${id}-error`;

/** One button that shows the unit and changes it to the other one. */
function otherUnit(entry, codes, changed) {
  const symbol = (code) => unitSymbol(entry.part, code);
  const other = () => codes.find((code) => code !== entry.unit);
  const element = button("", {
    class: "unit-switch", onpointerdown: (event) => event.preventDefault(),
    onclick: () => { entry.unit = other(); entry.confirmed = false; refresh(); changed(); },
  });
  const mark = make("span", { class: "unit-mark", "aria-hidden": "true" }, "⇄");
  function refresh() {
    element.replaceChildren(make("span", {}, symbol(entry.unit)), mark);
    element.setAttribute("aria-label", word("unit-change", { unit: symbol(entry.unit), other: symbol(other()) }));
  }
  refresh();
  return { element, refresh };
}

/** The unit beside a number: a word, a button that changes to the other, or a button per unit where there are more. */
function unitSwitch(entry, id, changed) {
  const codes = (entry.part.units ?? []).map(unitCode);
  if (codes.length < 2) return { element: make("span", { class: "unit" }, unitSymbol(entry.part, entry.unit)), refresh() {} };
  if (codes.length === 2) return otherUnit(entry, codes, changed);
  const radios = codes.map((code) => make("input", {
    type: "radio", name: `${id}-unit`, value: code,
    onchange: () => { entry.unit = code; entry.confirmed = false; changed(); },
  }));
  const element = make("div", { class: "units", role: "radiogroup", "aria-label": word("unit") }, ...codes.map((code, index) => (
    make("label", { class: "pick" }, radios[index], make("span", {}, unitSymbol(entry.part, code))))));
  return { element, refresh: () => radios.forEach((radio) => { radio.checked = radio.value === entry.unit; }) };
}

/** The button that fills a text by the camera or a scanner. */
function scanButton(server, set) {
  const sheet = createScan({ server, found: (text) => { set(text); return ""; } });
  return button(word("scan"), { class: "scan-button", onclick: () => sheet.open() });
}

function typedControl(entry, id, { changed, moveOn, zone, scan }) {
  const { part } = entry;
  const onKeypad = ON_KEYPAD.includes(part.entry);
  const input = make("input", {
    id, type: "text", class: onKeypad ? "value" : "text", maxlength: part.entry === "text" ? 500 : LONGEST,
    inputmode: onKeypad ? "none" : "text", autocomplete: "off", spellcheck: "false", enterkeyhint: "next",
    "aria-describedby": describe(id), "aria-required": part.required === false ? null : "true",
    oninput: () => set(part.entry === "time" ? asTime(input.value) : input.value),
    onkeydown: (event) => { if (event.key === "Enter") { event.preventDefault(); moveOn(); } },
  });
  const units = part.entry === "number" ? unitSwitch(entry, id, changed) : null;
  const sign = part.negative && button("±", {
    class: "sign", "aria-label": word("sign"), onpointerdown: (event) => event.preventDefault(), onclick: () => press("sign"),
  });

  function set(raw) {
    entry.raw = raw;
    entry.confirmed = false;
    if (input.value !== raw) input.value = raw;
    changed();
  }
  function press(name) {
    set(name === "now" ? present(part.entry, zone) : afterKey(entry.raw, name, part.entry));
  }
  function refresh() {
    if (input.value !== entry.raw) input.value = entry.raw;
    units?.refresh();
  }
  watchBurst(input, (typed, text) => set(input.value.replace(typed, text)));
  const element = make("div", { class: "typed" }, make("label", { for: id }, part.label),
    make("div", { class: "value-row" }, sign || null, input, units?.element, part.entry === "text" && scan?.scan_url && scanButton(scan, set)),
    suggestionButtons(part.suggested, set));
  return { element, press, refresh, focus: () => input.focus(), field: input, mode: onKeypad ? part.entry : "none" };
}

function choiceControl(entry, id, { changed }) {
  const { part } = entry;
  const choose = (code) => () => { entry.raw = code; entry.confirmed = false; changed(); };
  const radios = part.options.map(({ code }) => make("input", { type: "radio", name: id, value: code, onchange: choose(code) }));
  const element = make("fieldset", { class: "choice", "aria-describedby": describe(id) }, make("legend", {}, part.label),
    ...part.options.map(({ label }, index) => make("label", { class: "pick" }, radios[index], make("span", {}, label))));
  const refresh = () => radios.forEach((radio) => { radio.checked = radio.value === entry.raw; });
  const focus = () => (radios.find((radio) => radio.checked) ?? radios[0]).focus();
  return { element, press: () => {}, refresh, focus, field: element, mode: "none" };
}

/** The control of an entry: {element, press(key), refresh(), focus(), mode, say(message, offers)}. */
export function createControl(entry, index, { changed, moveOn, zone, scan, offered }) {
  const id = `part-${index}`;
  const build = entry.part.entry === "choice" ? choiceControl : typedControl;
  const control = build(entry, id, { changed: () => { say(""); changed(); }, moveOn, zone, scan });
  const error = make("p", { id: `${id}-error`, class: "error" });
  const offers = make("div", { class: "offers" });
  const element = make("div", { class: "part", hidden: true }, control.element, error, offers);

  function say(message, choices = []) {
    error.textContent = message;
    control.field.toggleAttribute("data-wrong", Boolean(message));
    if (control.field.matches("input")) control.field.setAttribute("aria-invalid", String(Boolean(message)));
    replace(offers, ...choices.map((choice) => button(choice.label, { class: "offer", onclick: () => offered(entry, choice) })));
  }
  control.refresh();
  return { ...control, element, say };
}
