/**
 * The page kept on the device: shown in place of any page that cannot be fetched. It shows the due list of
 * the last bundle with its age and the lots with what comes next, and takes records by the same capture.
 */

import { startCapture } from "./capture.js";
import { keysAvailable } from "./credential.js";
import { showDevice } from "./device-list.js";
import { make, replace } from "./dom.js";
import { all, watch } from "./outbox.js";
import { atWork } from "./people.js";
import { mountPerson } from "./person.js";
import { read } from "./store.js";
import { localTime } from "./zone.js";
import { word } from "./words.js";

const TICK = 30_000;
const LINE = 20_000;
const page = document.getElementById("kept-page");
const { establishment, slug } = page.dataset;
const find = (id) => document.getElementById(id);
let mounted = null;

const minutes = (from, to) => Math.max(0, Math.round((to - from) / 60_000));

/** An age in words: minutes up to two hours, hours up to two days, then days. */
function age(from, now) {
  const passed = minutes(from, now);
  if (passed < 120) return word("age-minutes", { n: passed });
  return passed < 2880 ? word("age-hours", { n: Math.round(passed / 60) }) : word("age-days", { n: Math.round(passed / 1440) });
}

function shownTime(at, zone, now) {
  const { date, time } = localTime(new Date(at), zone);
  return date === localTime(now, zone).date ? time : `${date} ${time}`;
}

/* The due list ------------------------------------------------------------------------------------ */

/** Where a check stands by this device's clock: missed, overdue, due, later, or waiting for its event. */
function standing(check, now, happened) {
  const past = (at) => at !== null && Date.parse(at) < now;
  if (check.missed || past(check.closes_at)) return "missed";
  if (check.opens_at === null) return happened.has(`${check.lot} ${check.waits_for}`) ? "due" : "waiting";
  if (!past(check.opens_at)) return "later";
  return past(check.due_at) ? "overdue" : "due";
}

const MARK = { missed: "not_shown", overdue: "overdue", due: "due", later: "not_yet_due" };
const ORDER = ["missed", "overdue", "due", "later"];

function checkLine({ check, state, made }, zone, now) {
  const at = state === "later" ? check.due_at ?? check.closes_at : check.closes_at;
  const until = at && word(state === "later" ? "due-at" : "until", { time: shownTime(at, zone, now) });
  return make("li", {}, make("a", { class: `check check-${MARK[state]}`, href: check.url },
    make("span", { class: "check-name" }, make("strong", {}, check.name), " ", check.subject ? make("bdi", { class: "check-lot" }, check.subject) : null),
    make("span", { class: "check-state" }, made ? make("span", { class: "count count-unsent" }, word("made-here"))
      : make("span", { class: `state state-${MARK[state]}` }, make("span", {}, word(`standing-${state}`)))),
    make("span", { class: "check-limit" }, check.limit), make("span", { class: "check-time" }, until || "")));
}

/** What was recorded on this device since the bundle: slots, and events of lots. */
async function recordedHere() {
  const rows = (await all()).filter(({ state, claim }) => state !== "replaced" && state !== "refused" && claim.establishment === establishment);
  return {
    slots: new Set(rows.map(({ claim }) => claim.content.slot).filter(Boolean)),
    happened: new Set(rows.filter(({ claim }) => claim.content.event).map(({ claim }) => `${claim.content.lot} ${claim.content.event}`)),
  };
}

function lotLine(lot, happened) {
  const events = lot.events.filter(({ event }) => !happened.has(`${lot.lot} ${event}`));
  const links = events.map(({ name, url }, place) => make("li", {}, make("a", { href: url, class: place === 0 ? "button large" : "button" }, name)));
  return make("li", { class: "kept-lot" }, make("h3", {}, make("bdi", {}, `${lot.code} · ${lot.product}`)),
    links.length > 0 ? make("ul", { class: "kept-events" }, ...links) : make("p", {}, word("no-events")));
}

async function showDue(bundle) {
  const now = new Date();
  const { slots, happened } = await recordedHere();
  const lines = bundle.checks.map((check) => ({ check, state: standing(check, now, happened), made: slots.has(check.slot) }));
  const shown = lines.filter(({ state }) => ORDER.includes(state))
    .sort((a, b) => a.made - b.made || ORDER.indexOf(a.state) - ORDER.indexOf(b.state)
      || Date.parse(a.check.closes_at ?? 0) - Date.parse(b.check.closes_at ?? 0));
  find("kept-age").textContent = word("kept-age", { age: age(Date.parse(bundle.fetched_at), now) });
  replace(find("kept-checks"), ...shown.map((line) => checkLine(line, bundle.zone, now)));
  find("kept-no-checks").hidden = shown.length > 0;
  replace(find("kept-lots"), ...bundle.lots.map((lot) => lotLine(lot, happened)));
}

/* Capture ----------------------------------------------------------------------------------------- */

/** The block that an address of this site names, with its heading, or null. */
function blockAt(path, bundle) {
  const address = decodeURIComponent(path);
  const check = bundle.checks.find(({ url }) => decodeURIComponent(url) === address);
  if (check) return { data: check.data, name: check.name, subject: check.subject };
  for (const lot of bundle.lots) {
    const event = lot.events.find(({ url }) => decodeURIComponent(url) === address);
    if (event) return { data: event.data, name: event.name, subject: `${lot.code} · ${lot.product}` };
  }
  return null;
}

function limits({ limit, target }) {
  const line = (name, text) => text && make("div", {}, make("dt", {}, word(name)), make("dd", {}, text));
  return [line("limit", limit), line("target", target)].filter(Boolean);
}

/** Who is at work here: whoever took the last turn on this device, else who fetched the bundle. */
async function worker(bundle) {
  const asked = bundle.people.find(({ person }) => person === bundle.person);
  const last = await atWork(establishment);
  const { enrol_url, csrf } = bundle.shared;
  const addresses = { enrol_url, csrf, challenge_url: `/${slug}/devices/challenge/`, turn_url: `/${slug}/devices/turn/` };
  return mountPerson({
    ...addresses, password_turn_url: `/${slug}/devices/password-turn/`, establishment, person: last?.person ?? bundle.person,
    printed: last?.printed ?? asked?.name ?? "", initials: last?.initials ?? asked?.initials ?? "", session: last?.session ?? "", by: "",
  });
}

function showCapture({ data, name, subject }, bundle, now) {
  const who = make("span", { "data-person-name": true }, now?.printed ?? "");
  replace(find("kept-capture"), find("capture-template").content.cloneNode(true));
  replace(find("capture-title"), make("strong", {}, name), make("span", { class: "subject" }, subject ? `${subject} · ` : "", who));
  replace(find("limit-text"), ...limits(data.texts ?? {}));
  find("capture-heading").textContent = name;
  document.body.classList.add("capturing");
  mounted = startCapture({ ...bundle.shared, ...data, person: now?.person ?? bundle.person }, { host: find("capture") });
  document.addEventListener("person-changed", ({ detail }) => mounted.changePerson(detail));
}

/* Which of them ------------------------------------------------------------------------------------ */

function only(name) {
  for (const part of ["due", "capture", "device", "nothing"]) find(`kept-${part}`).hidden = part !== name;
  find("kept-header").hidden = name !== "capture";
  document.querySelector(".site-header:not(#kept-header)").hidden = name === "capture";
}

/** Says that the server answers again; going there is for the person, who may have something half typed. */
async function watchLine() {
  const answer = await fetch(page.dataset.line, { cache: "no-store", credentials: "omit", redirect: "error", signal: AbortSignal.timeout(8000) });
  find("kept-online").hidden = (await answer.json()).here !== "records";
}

async function start() {
  const bundle = await read("bundles", establishment);
  const path = location.pathname;
  if (path.endsWith("/device/")) {
    only("device");
    await showDevice(find("device-records"), establishment);
    return;
  }
  if (!bundle) {
    only("nothing");
    return;
  }
  const now = keysAvailable() ? await worker(bundle) : null;
  const block = blockAt(path, bundle);
  if (block) {
    only("capture");
    showCapture(block, bundle, now);
    return;
  }
  only("due");
  find("kept-needs-server").hidden = path === `/${slug}/today/` || path === `/${slug}/offline/`;
  await showDue(bundle);
  watch(() => showDue(bundle).catch(() => {}));
  setInterval(() => showDue(bundle).catch(() => {}), TICK);
}

globalThis.addEventListener("beforeunload", (event) => { if (mounted?.typed()) event.preventDefault(); });
start().catch(() => { only("nothing"); find("kept-unreadable").hidden = false; });
setInterval(() => watchLine().catch(() => { find("kept-online").hidden = true; }), LINE);
watchLine().catch(() => {});
