/**
 * A series of readings: the same check at several points, one after the other. Each is saved by its own tap, as
 * a record of its own with its own time; what misses the limit is shown at once, then the series goes on.
 *
 * The data block is that of capture.js with: series [{slot, point, table, state}] in the order in which it is
 * gone round; state: the result of a point that is recorded already, else null.
 */

import { startCapture } from "./capture.js";
import { button, make, replace } from "./dom.js";
import * as outbox from "./outbox.js";
import { word } from "./words.js";

const settledState = (row) => row?.receipt?.judgement?.state ?? (row?.state === "refused" ? "refused" : null);

/** Mounts a series; the parameters are those of startCapture. Returns the same handle. */
export function startSeries(given, { host = document.getElementById("capture"), go = (address) => location.assign(address) } = {}) {
  const data = { ...given };
  const blank = host.cloneNode(true);
  const points = data.series.map((point) => ({ ...point, uuid: null }));
  const list = make("ol", { class: "entered series-list", "aria-label": word("series-points") });
  let place = null;
  let capture = null;
  let shown = host;

  const toDo = () => points.findIndex(({ state, uuid }) => state === null && uuid === null);

  function row(point, index) {
    const state = point.state ?? (point.uuid ? "on_receipt" : null);
    const badge = state ? make("span", { class: `state state-${state}` }, make("span", {}, word(`state-${state}`))) : make("strong", {}, word("to-enter"));
    const open = button("", { class: "entered-row", "aria-current": index === place ? "step" : null, disabled: state !== null && state !== "refused", onclick: () => show(index) });
    open.append(make("span", {}, point.point), badge);
    return make("li", {}, open);
  }
  const refresh = () => replace(list, ...points.map(row));

  /** The next point, or back to what is due when there is none. */
  function onward(envelope = null, judged = null) {
    if (envelope) Object.assign(points[place], { uuid: envelope.uuid, state: judged });
    const next = toDo();
    if (next < 0) finish();
    else show(next);
  }
  function finish() {
    capture?.stop();
    go(data.due_url);
  }
  function show(index) {
    capture?.stop();
    place = index;
    document.body.classList.remove("result-shown");
    const fresh = blank.cloneNode(true);
    shown.replaceWith(fresh);
    shown = fresh;
    const { slot, point, table } = points[index];
    const head = make("p", { class: "series-head" }, make("span", { class: "step" }, word("step", { n: index + 1, count: points.length })), make("strong", {}, point));
    fresh.querySelector("#limit-text").before(head);
    capture = startCapture({ ...data, slot, table, point, next_url: data.due_url }, { host: fresh, go: () => onward(), onward });
    fresh.querySelector("#capture-form").after(list);
    refresh();
  }
  async function note(uuid) {
    const point = points.find((one) => one.uuid === uuid) ?? null;
    const kept = await outbox.find(uuid);
    if (point) point.state = settledState(kept) ?? point.state;
    else if (kept?.claim.content.slot === points[place].slot) Object.assign(points[place], { uuid, state: settledState(kept) });
    refresh();
  }
  const unwatch = outbox.watch((uuid) => note(uuid).catch(() => {}));

  if (toDo() < 0) place = 0;
  else show(toDo());
  refresh();
  return {
    stop: () => { capture?.stop(); unwatch(); },
    typed: () => Boolean(capture?.typed()),
    changePerson: (who) => { Object.assign(data, { person: who.person, csrf: who.csrf ?? data.csrf }); capture?.changePerson(who); },
  };
}
