/**
 * The page of a make: timers, and events that are recorded by one tap. A tap makes the same signed claim as
 * the capture page, with the present moment; undoing it makes another one that voids the first.
 */

import { instant } from "./canonical.js";
import { buildClaim } from "./claim.js";
import * as credentials from "./credential.js";
import { button, replace } from "./dom.js";
import * as outbox from "./outbox.js";
import { startTimers } from "./timers.js";
import { word } from "./words.js";
import { localTime } from "./zone.js";

const SECOND_TAP = 500;
const SHOW_FOR = 12_000;

const host = document.getElementById("make");
const said = document.getElementById("make-said");
const block = document.getElementById("make-data");
const data = block ? JSON.parse(block.textContent) : null;
let lastTap = -SECOND_TAP;
let reloading = 0;

startTimers(host, host.dataset.now);

/* Recording ----------------------------------------------------------------------------------------- */

async function credential() {
  const { establishment, person } = data;
  return await credentials.current(establishment, person) ?? credentials.enrol({
    url: data.enrol_url, csrf: data.csrf, establishment, person, deviceLabel: credentials.deviceLabel(),
  });
}

async function keep(kind, content, now, label) {
  const own = await credential();
  const server = { url: data.claims_url, key: data.server_public_key };
  return outbox.keep(buildClaim({ kind, credential: own, content, now }), own, { page: `make ${data.lot}`, label, server });
}

function tell(text, { wrong = false, undo = null } = {}) {
  said.classList.toggle("wrong", wrong);
  replace(said, document.createTextNode(text), undo && button(word("undo"), { onclick: once(undo) }));
  said.hidden = false;
}

/** Shows what became of a kept record: refused with the server's words, else received with its number. */
function follow(uuid, { received, refused }) {
  const stop = outbox.watch(async (changed) => {
    const row = changed === uuid ? await outbox.find(uuid) : null;
    if (row?.state !== "received" && row?.state !== "refused") return;
    stop();
    if (row.state === "received") received(row);
    else refused(row);
  });
  outbox.flush().catch(() => {});
}

/** The page shows the record once the server has it; until then the person may still undo. */
function showSoon(wait) {
  clearTimeout(reloading);
  reloading = setTimeout(() => location.reload(), wait);
}

async function record(code, name) {
  const now = new Date();
  const shown = { name, time: localTime(now, data.zone).time };
  const content = { lot: data.lot, event: code, observed_at: instant(now), late_reason: "", supersedes: null, reason: "", details: [] };
  let envelope;
  try {
    envelope = await keep("lot_event", content, now, `${name} · ${data.lot_code}`);
  } catch (error) {
    tell(word("made-refused", { name, why: error.message || word(error instanceof TypeError ? "no-credential" : "not-kept") }), { wrong: true });
    return;
  }
  navigator.vibrate?.(60);
  const undo = () => takeBack(envelope.uuid, name);
  tell(word("made-kept", shown), { undo });
  follow(envelope.uuid, {
    received: ({ receipt }) => {
      tell(word("made-received", { ...shown, n: receipt.receipt.sequence }), { undo });
      showSoon(SHOW_FOR);
    },
    refused: ({ refusal }) => tell(word("made-refused", { name, why: refusal }), { wrong: true }),
  });
}

async function takeBack(event, name) {
  clearTimeout(reloading);
  const now = new Date();
  const content = { event, reason: word("undo-reason"), observed_at: instant(now) };
  try {
    const { uuid } = await keep("lot_event_void", content, now, `${word("undo")}: ${name} · ${data.lot_code}`);
    tell(word("made-undone", { name }));
    follow(uuid, {
      received: () => showSoon(1500),
      refused: ({ refusal }) => tell(word("made-refused", { name, why: refusal }), { wrong: true }),
    });
  } catch {
    tell(word("made-refused", { name, why: word("not-kept") }), { wrong: true });
  }
}

/* Taps ---------------------------------------------------------------------------------------------- */

/** Ignores the second tap of a double tap. */
function once(act) {
  return (event) => {
    event.preventDefault();
    if (performance.now() - lastTap < SECOND_TAP) return;
    lastTap = performance.now();
    act();
  };
}

if (data && credentials.keysAvailable()) {
  for (const tap of host.querySelectorAll("[data-tap]")) {
    tap.setAttribute("role", "button");
    tap.addEventListener("click", once(() => record(tap.dataset.tap, tap.dataset.name)));
    tap.addEventListener("keydown", (event) => { if (event.key === " ") tap.click(); });
  }
  credential().catch(() => {});
  outbox.flush().catch(() => {});
}
