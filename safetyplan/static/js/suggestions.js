/** Buttons that fill a text with a lot or a thing in use, so that its code need not be typed. */

import { button, make } from "./dom.js";

/** suggested: [{code, label}]; chosen(code) is called by a tap. Null where nothing is suggested. */
export function suggestionButtons(suggested, chosen) {
  if (!suggested?.length) return null;
  return make("div", { class: "suggestions" }, ...suggested.map(({ code, label }) => (
    button(label, { class: "suggestion", onpointerdown: (event) => event.preventDefault(), onclick: () => chosen(code) }))));
}
