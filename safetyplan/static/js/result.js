/** What the person sees after Save: saved and judged, or plainly not saved. */

import { button, make, replace } from "./dom.js";
import { shown } from "./fields.js";
import { word } from "./words.js";

const RETURN_AFTER = 1500;
const GHOST_TAP = 500;
export const NEEDS_ACTION = new Set(["outside_limit", "not_shown", "instrument_not_valid"]);

/** Only addresses of this site are followed; anything else leads to the fallback. */
function ours(address, fallback) {
  if (!address) return fallback;
  const target = new URL(address, location.href);
  return target.origin === location.origin ? target.pathname + target.search + target.hash : fallback;
}

function badge(state) {
  return make("p", { class: `state state-${state} state-large` }, make("span", {}, word(`state-${state}`)));
}

function entered(entries) {
  const rows = entries.filter(({ raw }) => raw !== "");
  if (rows.length === 0) return null;
  return make("dl", { class: "entered-values" }, ...rows.map((entry) => (
    make("div", {}, make("dt", {}, entry.part.label), make("dd", {}, shown(entry)))
  )));
}

/** What was entered in one line: "3.8 °C". */
export const entriesText = (entries) => entries.filter(({ raw }) => raw !== "").map(shown).join(", ");

function limit(text, name = "limit") {
  return text ? make("p", { class: "result-limit" }, make("strong", {}, `${word(name)}: `), text) : null;
}

/** The check and its lot, from the head of the page; a page without such a head has its title. */
export function heading() {
  const head = document.querySelector(".capture-title");
  if (!head) return document.querySelector("main h1").textContent.trim();
  return Array.from(head.children, ({ textContent }) => textContent).join(" · ");
}

/** What the plan says to do when the limit is missed. */
function whatToDo(texts) {
  const actions = texts.actions ?? [];
  return make("div", { class: "what-to-do" },
    actions.length > 0 && make("h2", {}, word("what-to-do")),
    actions.length > 0 && make("ol", {}, ...actions.map(({ text }) => make("li", {}, text))),
    texts.measure_next && make("h2", {}, word("measure-next")),
    texts.measure_next && make("p", {}, texts.measure_next));
}

const shownAt = new WeakMap();

document.addEventListener("click", (event) => {
  const section = event.isTrusted && event.target.closest?.(".result");
  if (!section || performance.now() - (shownAt.get(section) ?? -GHOST_TAP) >= GHOST_TAP) return;
  event.preventDefault();
  event.stopPropagation();
}, true);

/** The way on: an address, or the next point of a series. */
function leadOn(next, label, { data, go }, attributes) {
  const onclick = (event) => { event.preventDefault(); go(next); };
  return make("a", { ...attributes, href: next, ...(data.point && { onclick }) }, data.point ? word("series-on") : label);
}

function present(section, kind, heading, ...children) {
  const title = make(kind === "not-saved" ? "h2" : "h1", { tabindex: "-1" }, heading);
  section.className = `result result-${kind}`;
  replace(section, title, ...children);
  section.hidden = false;
  // The second half of a double tap on Save must not land on a link that has just appeared.
  shownAt.set(section, performance.now());
  window.scrollTo(0, 0);
  title.focus();
  return title;
}

function actionsBar(...links) {
  return make("p", { class: "result-actions" }, ...links);
}

function showMissed(section, { answer, data, entries, state, saved, go }) {
  const next = ours(answer.next_url, data.due_url);
  const record = answer.deviation_url
    && make("a", { class: "button primary", href: ours(answer.deviation_url, next) }, word("record-action"));
  present(section, "missed", (state === "outside_limit" && data.texts.outside_heading) || word(`state-${state}`),
    make("p", { class: "small" }, heading()),
    make("p", { class: "saved-line" }, saved), badge(state), entered(entries), limit(answer.judgement.limit || data.texts.limit),
    answer.judgement.text && make("p", {}, answer.judgement.text), whatToDo(data.texts),
    actionsBar(record, leadOn(next, word("back-to-due"), { data, go }, { class: "button" })));
}

/** Shows a stored record; go(address) leads on. Returns the sentence for the live region. */
export function showSaved(section, { answer, data, entries, go }) {
  const state = answer.judgement?.state ?? null;
  const saved = word("saved", { n: answer.receipt.sequence });
  const next = ours(answer.next_url, ours(data.next_url, data.due_url));
  document.body.classList.add("result-shown");
  navigator.vibrate?.(NEEDS_ACTION.has(state) ? [120, 80, 120] : 60);
  if (NEEDS_ACTION.has(state)) {
    showMissed(section, { answer, data, entries, state, saved, go });
  } else {
    const goesOn = state !== "outside_target";
    present(section, goesOn ? "saved" : "notice", saved, goesOn ? make("p", { class: "tick", "aria-hidden": "true" }, "✓") : null,
      state && badge(state), entered(entries), !goesOn && limit(data.texts.target, "target"),
      answer.judgement?.text && make("p", {}, answer.judgement.text),
      actionsBar(leadOn(next, word("continue"), { data, go }, { class: "button primary" })));
    if (goesOn) setTimeout(() => go(next), RETURN_AFTER);
  }
  return state ? `${saved}. ${word(`state-${state}`)}.` : `${saved}.`;
}

/**
 * Shows a record that is saved on this device and not received yet, judged by the device where it can.
 * Returns the sentence for the live region.
 */
export function showKept(section, { message, entries, localState, data, go, signIn }) {
  const next = ours(data.next_url, data.due_url);
  const state = localState ?? (data.event ? null : "on_receipt");
  const missed = NEEDS_ACTION.has(localState);
  const goesOn = !missed && !signIn && localState !== "outside_target";
  const heldLink = signIn && make("a", { class: "button", href: location.pathname + location.search }, word("sign-in"));
  document.body.classList.add("result-shown");
  navigator.vibrate?.(missed ? [120, 80, 120] : 60);
  present(section, missed ? "missed kept" : "kept", missed ? word(`state-${localState}`) : word("kept"),
    missed && make("p", { class: "small" }, heading()), missed && make("p", { class: "kept-line" }, word("kept")),
    state && badge(state), entered(entries), (missed || !goesOn) && limit(data.texts?.limit),
    missed && make("p", {}, word("judged-again")), missed && whatToDo(data.texts), make("p", { class: "kept-why" }, message),
    actionsBar(heldLink, leadOn(next, word(missed ? "back-to-due" : "continue"), { data, go }, { class: "button primary" })));
  if (goesOn) setTimeout(() => { if (!section.hidden && section.classList.contains("result-kept")) go(next); }, RETURN_AFTER);
  return state ? `${word("kept")}. ${word(`state-${state}`)}.` : `${word("kept")}.`;
}

/** Shows that nothing was saved, what was typed, and (when the limit is missed) what to do anyway. */
export function showNotSaved(section, { message, entries, localState, data, again, signIn }) {
  const resend = button(word("send-again"), { class: "primary", onclick: again });
  present(section, "not-saved", word("not-saved"), make("p", {}, message), entered(entries),
    NEEDS_ACTION.has(localState) && badge(localState), NEEDS_ACTION.has(localState) && limit(data.texts.limit),
    NEEDS_ACTION.has(localState) && whatToDo(data.texts),
    actionsBar(signIn && make("a", { class: "button", href: location.pathname + location.search }, word("sign-in")), resend));
  return resend;
}
