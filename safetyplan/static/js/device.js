/**
 * On every page of an establishment: sends what waits, says how much that is, keeps the bundle and the last
 * seal up to date, and registers the service worker. The facts of the page are in #device-bar.
 */

import * as credentials from "./credential.js";
import { button, make, replace } from "./dom.js";
import * as outbox from "./outbox.js";
import { read, write } from "./store.js";
import { acknowledge, look, report } from "./witness.js";
import { word } from "./words.js";

const EVERY = 30_000;
const BUNDLE_AGE = 10 * 60_000;
const bar = document.getElementById("device-bar");
const facts = bar?.dataset ?? {};

/* What is said ------------------------------------------------------------------------------------ */

/** How much is not received and how much wants a person, as a link to the list. */
async function showCounts() {
  const { unsent, refused } = await outbox.counts();
  const parts = [
    unsent > 0 && make("span", { class: "count count-unsent" }, word("unsent", { n: unsent })),
    refused > 0 && make("span", { class: "count count-refused" }, word("attention", { n: refused })),
  ].filter(Boolean);
  bar.hidden = parts.length === 0;
  replace(bar, parts.length > 0 && make("a", { href: facts.device }, ...parts));
}

function showAlarm(row) {
  const place = document.getElementById("seal-alarm");
  if (!row?.alarm || row.alarm.seen) {
    place.hidden = true;
    return;
  }
  const seen = button(word("seal-alarm-seen"), { onclick: async () => {
    const now = await acknowledge(facts.establishment, new Date().toISOString());
    showAlarm(now);
    await tellAlarm(now);
  } });
  replace(place, make("h2", {}, word("seal-alarm")), make("p", {}, word(`seal-alarm-${row.alarm.what}`)), make("p", {}, word("seal-alarm-do")), seen);
  place.hidden = false;
}

async function tellAlarm(row) {
  const bundle = await read("bundles", facts.establishment);
  if (row?.alarm && bundle) await report(row, { url: facts.alarm, csrf: bundle.shared.csrf });
}

/* What is fetched --------------------------------------------------------------------------------- */

/** Makes the key of the person at work while the server can be reached: without it nothing is recorded offline. */
async function enrolled({ shared }) {
  const { establishment, person } = shared;
  await (await credentials.current(establishment, person) ?? credentials.enrol({
    url: shared.enrol_url, csrf: shared.csrf, establishment, person, deviceLabel: credentials.deviceLabel(),
  }));
}

/** Fetches the bundle and keeps it; also looks at the seal in it and takes out what may leave the device. */
export async function refresh() {
  const asked = Date.now();
  const answer = await fetch(facts.bundle, {
    headers: { "Accept": "application/json" }, credentials: "same-origin", redirect: "error", signal: AbortSignal.timeout(20_000),
  });
  if (!answer.ok) return null;
  const bundle = await answer.json();
  if (bundle.v !== 1 || bundle.establishment !== facts.establishment) return null;
  await write("bundles", { ...bundle, fetched_at: new Date().toISOString() });
  await outbox.noteClock(bundle.made_at, asked);
  await outbox.tidy({ establishment: bundle.establishment, backedUp: bundle.backed_up, serverTime: bundle.made_at });
  const row = await look({
    establishment: bundle.establishment, seal: bundle.seal, publicKey: bundle.shared.server_public_key,
    proofUrl: facts.proof, now: new Date().toISOString(),
  });
  showAlarm(row);
  await tellAlarm(row);
  await enrolled(bundle);
  return bundle;
}

async function refreshWhenOld() {
  if (facts.mayRecord !== "yes" || document.visibilityState !== "visible") return;
  const kept = await read("bundles", facts.establishment);
  const age = Date.now() - Date.parse(kept?.fetched_at ?? 0);
  if (facts.section === "today" || !(age >= 0 && age < BUNDLE_AGE)) await refresh();
}

/* The worker -------------------------------------------------------------------------------------- */

/** A version that waits is offered where nothing is half typed, and used only when nothing waits to be sent. */
function offerUpdate(registration) {
  if (!registration.waiting || !navigator.serviceWorker.controller || document.body.matches(".capturing")) return;
  const use = button(word("update-use"), { onclick: async () => {
    if ((await outbox.counts()).unsent > 0) {
      replace(place, make("p", {}, word("update-unsent")));
      return;
    }
    navigator.serviceWorker.addEventListener("controllerchange", () => location.reload(), { once: true });
    registration.waiting?.postMessage("use-now");
  } });
  const place = document.getElementById("update-offer");
  replace(place, make("p", {}, word("update")), use);
  place.hidden = false;
}

async function registerWorker() {
  if (!navigator.serviceWorker || facts.mayRecord !== "yes") return;
  const scope = facts.worker.replace(/[^/]+$/, "");
  let registration;
  try {
    registration = await navigator.serviceWorker.register(facts.worker, { scope, type: "module", updateViaCache: "none" });
  } catch {
    registration = await navigator.serviceWorker.register(`${facts.worker}?plain`, { scope, updateViaCache: "none" });
  }
  offerUpdate(registration);
  registration.addEventListener("updatefound", () => {
    registration.installing?.addEventListener("statechange", () => offerUpdate(registration));
  });
}

let asked = false;

/** Asks the browser, once while something waits, to wake the worker when the network is back, where it can. */
async function askToBeWoken() {
  const { unsent } = await outbox.counts();
  if (unsent > 0 && !asked) {
    const registration = await navigator.serviceWorker?.getRegistration();
    await registration?.sync?.register("outbox");
  }
  asked = unsent > 0;
}

/* When -------------------------------------------------------------------------------------------- */

const quietly = (work) => () => work().catch(() => {});
const send = quietly(() => outbox.flush());
const count = quietly(async () => { await showCounts(); await askToBeWoken(); });

function start() {
  if (!bar || !credentials.keysAvailable()) return;
  outbox.watch(count);
  count();
  quietly(async () => showAlarm(await read("witness", facts.establishment)))();
  quietly(() => outbox.flush({ held: true }))();
  globalThis.addEventListener("online", send);
  document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") send(); });
  setInterval(() => { if (document.visibilityState === "visible") send(); }, EVERY);
  quietly(registerWorker)();
  if (facts.kept !== "yes") quietly(refreshWhenOld)();
}

start();
