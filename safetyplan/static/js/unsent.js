/**
 * Puts what was typed back into its form, after the person had been signed out when it was sent. The block
 * #unsent-data holds {action, fields: [[name, value], ...], files: [[name, file name], ...]}.
 *
 * A form whose hidden fields say something else by now is another form (a line of the list has moved, the
 * draft has changed): nothing is put into it, and what was typed stays to be read.
 */

import { make } from "./dom.js";

const OF_THE_PAGE = ["csrfmiddlewaretoken", "form_of", "seen"];
const OF_THE_ENTRY = (name) => name === "uuid" || /_(fold|sure)$/.test(name);

const byName = (fields) => Map.groupBy ? Map.groupBy(fields, ([name]) => name) : fields.reduce(
  (found, row) => found.set(row[0], [...(found.get(row[0]) ?? []), row]), new Map());
const valuesOf = (fields) => new Map([...byName(fields)].map(([name, rows]) => [name, rows.map(([, value]) => value)]));

const controlsOf = (form) => [...form.elements].filter(({ name, type }) => name && type !== "submit" && type !== "button");

/** How many of the fields that were sent a form has; -1 where a hidden one says something else. */
function likeness(form, values) {
  const controls = controlsOf(form);
  const other = controls.some(({ type, name, value }) => type === "hidden" && values.has(name)
    && !OF_THE_PAGE.includes(name) && !OF_THE_ENTRY(name) && !values.get(name).includes(value));
  return other ? -1 : controls.filter(({ name }) => values.has(name)).length;
}

function formFor(action, values) {
  const path = new URL(action, location.href).pathname;
  const here = [...document.forms].filter((form) => form.method === "post"
    && new URL(form.getAttribute("action") || location.href, location.href).pathname === path);
  const liked = here.map((form) => [form, likeness(form, values)]).sort(([, first], [, second]) => second - first);
  return liked[0]?.[1] > 0 ? liked[0][0] : null;
}

/** Puts values into one control; tells whether they are in it now. */
function put(control, values) {
  if (control.type === "checkbox" || control.type === "radio") {
    control.checked = values.includes(control.value);
    return true;
  }
  if (control.multiple) {
    for (const option of control.options) option.selected = values.includes(option.value);
    return true;
  }
  control.value = values[0];
  return control.value.replace(/\r\n/g, "\n") === values[0].replace(/\r\n/g, "\n");
}

/** Opens what a control is folded away in. */
function unfold(control) {
  for (let fold = control.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
}

function fill(form, values) {
  const left = new Set(values.keys());
  for (const control of controlsOf(form)) {
    if (control.type === "file" || control.type === "password" || OF_THE_PAGE.includes(control.name)) continue;
    const sent = values.get(control.name);
    const ticked = control.type === "checkbox" || control.type === "radio";
    if (!sent && !ticked) continue;
    if (put(control, sent ?? [])) left.delete(control.name);
    if ("defaultValue" in control && control.value !== control.defaultValue) unfold(control);
    control.dispatchEvent(new Event("input", { bubbles: true }));
    control.dispatchEvent(new Event("change", { bubbles: true }));
  }
  for (const name of OF_THE_PAGE) left.delete(name);
  return [...left].filter((name) => values.get(name).some((text) => text.trim()));
}

function askForFiles(form, files) {
  const words = document.getElementById("unsent-file").textContent;
  for (const [name, file] of files) {
    const control = form.elements[name];
    control?.after?.(make("p", { class: "error", role: "alert" }, words.replace("{name}", file)));
  }
}

function start() {
  const { action, fields, files } = JSON.parse(document.getElementById("unsent-data").textContent);
  const said = document.getElementById("unsent");
  const show = (name) => {
    for (const line of said.querySelectorAll("[data-unsent]")) {
      if (line.dataset.unsent !== "files") line.hidden = line.dataset.unsent !== name;
    }
  };
  const values = valuesOf(fields);
  const form = formFor(action, values);
  if (!form) return show("left");
  const left = fill(form, values);
  askForFiles(form, files);
  show(left.length > 0 ? "left" : "filled");
  said.querySelector("details").open = left.length > 0;
}

start();
