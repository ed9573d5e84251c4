/** The list of what is on this device: records that wait, that want a person, and that are received. */

import * as credentials from "./credential.js";
import { button, make, replace } from "./dom.js";
import * as outbox from "./outbox.js";
import { read } from "./store.js";
import { localTime } from "./zone.js";
import { word } from "./words.js";

const GROUPS = [["refused", ["refused"]], ["unsent", outbox.UNSENT], ["received", ["received"]], ["replaced", ["replaced"]]];
const MOST = 200;

/** What was entered, in few words: the raw texts with their units as they were typed. */
function entered({ claim }) {
  const parts = claim.content.parts ?? claim.content.details ?? [];
  return parts.map(({ name, raw }) => (parts.length > 1 ? `${name}: ${raw}` : raw)).join("; ");
}

function stateLine(row) {
  if (row.state === "received") return make("p", { class: "device-state good" }, word("saved", { n: row.receipt.receipt.sequence }));
  if (row.state === "refused") return make("p", { class: "device-state bad" }, `${word("not-taken")} ${row.refusal}`);
  if (row.state === "replaced") return make("p", { class: "device-state calm" }, `${word("entered-again")} ${row.refusal}`);
  return make("p", { class: "device-state warn" }, word("kept"), row.refusal ? make("span", { class: "why" }, word(row.refusal)) : null);
}

/** Signs a record again whose key the server no longer knows, as the same person, who must be signed in. */
async function signAgain(row, shared) {
  const { establishment, person } = row.claim;
  await credentials.forget(establishment, person);
  const own = await credentials.enrol({
    url: shared.enrol_url, csrf: shared.csrf, establishment, person, deviceLabel: credentials.deviceLabel(),
  });
  await outbox.signAgain(row, own);
  await outbox.flush({ held: true });
}

function actions(row, bundle, say) {
  if (row.state !== "refused") return null;
  const act = (work) => () => work().catch((error) => say(error.message || word("no-answer")));
  const mine = bundle && row.claim.person === bundle.shared.person;
  if (row.part === "credential") {
    return mine ? button(word("sign-again"), { onclick: act(() => signAgain(row, bundle.shared)) }) : make("p", {}, word("sign-again-as"));
  }
  return button(word("try-again"), { onclick: act(() => outbox.tryAgain(row.uuid)) });
}

function item(row, bundle, say) {
  const { date, time } = localTime(new Date(row.claim.captured_at), bundle?.zone ?? "UTC");
  const who = bundle?.people.find(({ person }) => person === row.claim.person)?.name ?? word("somebody");
  return make("li", { class: `device-record state-${row.state}` },
    make("p", { class: "device-what" }, make("strong", {}, row.label || row.claim.kind), " ", make("bdi", {}, entered(row))),
    make("p", { class: "small" }, make("bdi", {}, who), ` · ${date} ${time}`), stateLine(row), actions(row, bundle, say));
}

function group(name, rows, bundle, say) {
  if (rows.length === 0) return null;
  const more = rows.length > MOST && make("p", { class: "small" }, word("and-more", { n: rows.length - MOST }));
  const list = make("ul", { class: "device-records" }, ...rows.slice(0, MOST).map((row) => item(row, bundle, say)));
  if (name === "received" || name === "replaced") {
    return make("details", { class: "device-group" }, make("summary", {}, word(`group-${name}`, { n: rows.length })), list, more);
  }
  return make("section", { class: "device-group" }, make("h2", {}, word(`group-${name}`, { n: rows.length })), list, more);
}

async function download() {
  const file = new Blob([await outbox.exported()], { type: "application/x-ndjson" });
  const link = make("a", { href: URL.createObjectURL(file), download: `unsent-records-${new Date().toISOString().slice(0, 10)}.ndjson` });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

async function storageLine(host) {
  const kept = await navigator.storage?.persisted?.() || await navigator.storage?.persist?.();
  const installed = globalThis.matchMedia("(display-mode: standalone)").matches;
  host.textContent = word(kept || installed ? "storage-kept" : "storage-may-go");
}

/** Fills the list and keeps it up to date. Returns the way to stop. */
export async function showDevice(host, establishment) {
  const message = make("p", { role: "status", class: "device-message" });
  const say = (text) => { message.textContent = text; };
  const lists = make("div", {});
  const storage = make("p", { class: "small" });
  const sendNow = button(word("send-now"), { class: "primary", onclick: async () => {
    say(word("sending-now"));
    await outbox.flush({ held: true }).catch(() => {});
    const { unsent } = await outbox.counts();
    say(unsent === 0 ? word("all-received") : word("still-unsent", { n: unsent }));
  } });
  const save = button(word("export"), { onclick: () => download().catch((error) => say(error.message)) });

  async function refresh() {
    const [rows, bundle] = await Promise.all([outbox.all(), read("bundles", establishment)]);
    const own = rows.filter(({ claim }) => claim.establishment === establishment);
    const groups = GROUPS.map(([name, states]) => group(name, own.filter(({ state }) => states.includes(state)), bundle, say));
    replace(lists, ...groups, own.length === 0 && make("p", {}, word("nothing-here")));
    save.hidden = !own.some(({ state }) => state !== "received");
  }
  replace(host, make("div", { class: "actions" }, sendNow, save), message, lists, storage);
  storageLine(storage).catch(() => {});
  await refresh();
  let soon = null;
  const stop = outbox.watch(() => { clearTimeout(soon); soon = setTimeout(() => refresh().catch(() => {}), 150); });
  return stop;
}
