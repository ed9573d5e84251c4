/**
 * Taking back what was just saved: within ten seconds, by a record that voids it. The first one stays
 * readable, the check, the event or the round counts as not made, and a deviation it opened stays open. With or
 * without a network: the voiding record waits in the outbox behind the one it voids.
 */

import { instant } from "./canonical.js";
import { buildClaim } from "./claim.js";
import * as credentials from "./credential.js";
import { once } from "./deliberate.js";
import { button, make } from "./dom.js";
import * as outbox from "./outbox.js";
import { word } from "./words.js";

const FOR = 10_000;
const PLACE = "safetyplan-just-saved";
// the kind of the voiding record, and its name for what it voids
const VOIDED_BY = {
  reading: ["reading_void", "reading"], lot_event: ["lot_event_void", "event"], round: ["round_void", "round"],
};

/** Notes a record that was just saved, for the page that comes next as well. */
export function noteSaved({ uuid, kind, label }) {
  if (!VOIDED_BY[kind]) return;
  sessionStorage.setItem(PLACE, JSON.stringify({ uuid, kind, label, at: Date.now() }));
}

function justSaved() {
  const noted = JSON.parse(sessionStorage.getItem(PLACE) ?? "null");
  return noted && Math.abs(Date.now() - noted.at) < FOR ? noted : null;
}

/** Voids a record by the person who made it; it must be kept on this device still. */
async function undo({ uuid, kind }) {
  sessionStorage.removeItem(PLACE);
  const made = await outbox.find(uuid);
  const own = made && await credentials.current(made.claim.establishment, made.claim.person);
  if (!own) throw new Error("not kept on this device");
  const now = new Date();
  const [voided, named] = VOIDED_BY[kind];
  const content = { [named]: uuid, observed_at: instant(now), reason: word("undo-reason") };
  const claim = buildClaim({ kind: voided, credential: own, content, now });
  await outbox.keep(claim, own, { label: word("undo-label", { what: made.label }), server: made.server });
  outbox.flush().catch(() => {});
}

/** Waits for what became of the voiding record for a moment, so that the page that follows knows of it. */
const settled = () => Promise.race([outbox.flush(), new Promise((resolve) => setTimeout(resolve, 3000))]).catch(() => {});

/**
 * The line with the button "Undo", shown while there is something to take back. host: where it stands;
 * undone(): called when the voiding record is kept. Returns {show()}.
 */
export function createUndo(host, undone) {
  const left = make("span", { class: "undo-left" });
  const what = make("span", { class: "undo-what" });
  const act = button(word("undo"), { class: "undo-button" });
  const line = make("div", { class: "undo", role: "status", hidden: true }, what, act);
  let ends = null;
  act.append(" ", left);

  function hide() {
    clearInterval(ends);
    line.hidden = true;
  }
  function tick(noted) {
    const remaining = Math.ceil((FOR - (Date.now() - noted.at)) / 1000);
    left.textContent = word("undo-seconds", { n: remaining });
    if (remaining <= 0) hide();
  }
  function show() {
    const noted = justSaved();
    clearInterval(ends);
    line.hidden = !noted;
    if (!noted) return;
    what.textContent = noted.label;
    act.onclick = once(async () => {
      hide();
      try {
        await undo(noted);
        await settled();
        undone();
      } catch {
        what.textContent = word("undo-failed");
        act.hidden = true;
        line.hidden = false;
      }
    });
    tick(noted);
    ends = setInterval(() => tick(noted), 250);
  }
  host.prepend(line);
  return { show };
}
