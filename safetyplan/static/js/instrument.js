/**
 * The instrument of a check: the plan's, else the one this device used last for that check. One that is overdue
 * for its own check is marked, and where the plan says so, not taken.
 */

import { make } from "./dom.js";
import { read, write } from "./store.js";
import { word } from "./words.js";

const nameOf = ({ establishment, control }) => `instrument ${establishment}/${control}`;

/** Notes which instrument was used for a check on this device. */
export const noteUsed = (data, id) => (id ? write("device", { name: nameOf(data), id }) : Promise.resolve());

/**
 * data: the data block. Returns null where the check needs none, else {element, select, value(), problem()};
 * problem() is a sentence while an overdue instrument is chosen that the plan does not take.
 */
export function createInstrument(data) {
  if (!data.instruments?.length) return null;
  const option = ({ id, label }) => make("option", { value: id, selected: id === data.instrument }, label);
  const select = make("select", { id: "instrument", "aria-describedby": "instrument-note" }, ...data.instruments.map(option));
  const note = make("p", { id: "instrument-note", class: "instrument-note" });
  const element = make("div", { class: "small-field" }, make("label", { for: select.id }, word("instrument")), select, note);
  const chosen = () => data.instruments.find(({ id }) => id === select.value);
  const blocked = () => (chosen()?.overdue && data.overdue_instrument === "block" ? word("instrument-blocked") : "");

  function show() {
    note.textContent = chosen()?.overdue ? blocked() || word("instrument-overdue") : "";
    note.hidden = !note.textContent;
    element.classList.toggle("overdue", Boolean(note.textContent));
  }
  async function useLast() {
    const last = data.instrument ? null : await read("device", nameOf(data));
    if (last && data.instruments.some(({ id }) => id === last.id)) select.value = last.id;
    show();
  }
  select.addEventListener("change", show);
  show();
  useLast().catch(() => {});
  return { element, select, value: () => select.value || null, problem: blocked };
}
