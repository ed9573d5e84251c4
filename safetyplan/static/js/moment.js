/** When it was measured: now, unless the person states an earlier time; late needs a reason. */

import { button, make } from "./dom.js";
import { asTime, TIME } from "./fields.js";
import { instantsOf, localTime } from "./zone.js";
import { word } from "./words.js";

const MINUTE = 60_000;
const AHEAD = 2 * MINUTE;

function longForm(date, zone) {
  return new Intl.DateTimeFormat(document.documentElement.lang || "en", {
    timeZone: zone, dateStyle: "medium", timeStyle: "short", hourCycle: "h23",
  }).format(date);
}

/** The stated instant, or why there is none: {at} | {problem, twice}. Pure. */
export function stated({ date, time, second }, zone, now) {
  const found = TIME.test(time) ? instantsOf(date, time, zone) : null;
  if (!found) return { problem: word("moment-missing") };
  if (found.length === 0) return { problem: word("moment-skipped") };
  if (found.length === 2 && second === null) return { problem: word("moment-twice"), twice: true };
  const at = found.length === 2 && second ? found[1] : found[0];
  if (at - now > AHEAD) return { problem: word("moment-ahead") };
  return { at, twice: found.length === 2 };
}

function textField(id, label, attributes, tag = "input") {
  const input = make(tag, { id, ...attributes });
  return { input, element: make("div", { class: "small-field" }, make("label", { for: id }, label), input) };
}

/**
 * zone: of the establishment; lateAfter: minutes; fixed: the Date of the corrected record, or null.
 * Returns {element, read(now), show(date)}; read gives {observedAt, lateReason} or {problem, focus}.
 */
export function createMoment({ zone, lateAfter, fixed, label }) {
  let mode = fixed ? "fixed" : "now";
  let second = null;
  const date = textField("moment-date", word("date"), { type: "date" });
  const time = textField("moment-time", word("time"), {
    type: "text", inputmode: "numeric", maxlength: 5, placeholder: "00:00", autocomplete: "off",
  });
  const reason = textField("moment-reason", word("late-reason"), { maxlength: 500, rows: 2 }, "textarea");
  const problem = make("p", { class: "error", id: "moment-error" });
  const twice = make("div", { class: "units", role: "radiogroup", "aria-label": word("moment-twice") },
    ...[[false, "first"], [true, "second"]].map(([value, name]) => make("label", { class: "pick" },
      make("input", { type: "radio", name: "moment-twice", onchange: () => { second = value; refresh(); } }),
      make("span", {}, word(`moment-${name}`)))));
  const back = button(word(fixed ? "moment-as-recorded" : "moment-now"), {
    class: "quiet", onclick: () => choose(fixed ? "fixed" : "now"),
  });
  const panel = make("div", { class: "moment-panel", id: "moment-panel", hidden: true },
    date.element, time.element, twice, problem, reason.element, back);
  const opener = button("", {
    class: "quiet moment-open", "aria-expanded": "false", "aria-controls": "moment-panel", onclick: () => choose("stated"),
  });

  const answer = (now) => {
    if (mode === "now") return { at: now };
    return mode === "fixed" ? { at: fixed } : stated({ date: date.input.value, time: time.input.value, second }, zone, now);
  };
  const isLate = (at, now) => !fixed && mode === "stated" && at && now - at > lateAfter * MINUTE;

  function choose(next) {
    const opening = next === "stated" && mode !== "stated";
    mode = next;
    if (opening && !date.input.value) show(fixed ?? new Date(), false);
    refresh();
    if (opening) time.input.focus(); else opener.focus();
  }
  function show(at, chosen = true) {
    const local = localTime(at, zone);
    date.input.value = local.date;
    time.input.value = local.time;
    if (chosen) mode = "stated";
    refresh();
  }
  function refresh() {
    const now = new Date();
    const found = answer(now);
    const open = mode === "stated";
    panel.hidden = !open;
    opener.setAttribute("aria-expanded", String(open));
    const chosen = found.at ? longForm(found.at, zone) : "…";
    opener.replaceChildren(make("span", { class: "small" }, label), mode === "now" ? word("now") : chosen);
    problem.textContent = found.problem ?? "";
    twice.hidden = !found.twice;
    reason.element.hidden = !isLate(found.at, now);
  }
  function read(now) {
    const found = answer(now);
    if (!found.at) return { problem: found.problem, focus: time.input };
    const late = isLate(found.at, now);
    const lateReason = late ? reason.input.value.trim() : "";
    if (late && lateReason.length < 3) return { problem: word("late-needs-reason"), focus: reason.input };
    return { observedAt: found.at, lateReason };
  }
  for (const input of [date.input, time.input]) {
    input.setAttribute("aria-describedby", "moment-error");
    input.addEventListener("input", () => {
      if (input === time.input) input.value = asTime(input.value);
      second = null;
      refresh();
    });
  }
  const element = make("div", { class: "moment" }, opener, panel);
  refresh();
  return { element, read, show };
}
