/**
 * Capture: shows one field at a time and turns Save into one signed claim. It is mounted from a page's
 * data block (capture-page.js) or from a copy of it kept on the device. The mount points are in
 * templates/records/checks/_capture.html.
 *
 * The data block:
 *   claims_url, enrol_url, next_url, due_url   addresses on this site
 *   establishment, person, csrf, zone          UUIDs, the token, the establishment's IANA time zone
 *   server_public_key                          base64 of the 32 bytes of the server's Ed25519 key
 *   slot, control, lot, plan_version           UUIDs; lot may be null
 *   round                                      slots of checks confirmed at once as seen and in order, or none
 *   event                                      name of a lot event, instead of slot and control, else null
 *   parts      [{name, label, entry: "number" | "choice" | "time" | "date" | "moment" | "text", unit, units, negative,
 *                options: [{code, label}], suggested: [{code, label}], required}]; unit and units: {code, symbol}, or a bare code
 *   table      the judging table (judge.js), or null
 *   texts      {limit, target, outside_heading, actions: [{code, text}], measure_next}
 *   instruments [{id, label, overdue}], instrument   the id chosen beforehand (else the last used here)
 *   overdue_instrument, photo                  "" | "warn" | "block", and "" | "asked" | "required", as the plan says
 *   scan_url, lot_find_url                     where a photo of a code is read, and a lot found by its code
 *   late_after_minutes                         a stated time older than this needs a reason
 *   supersedes, correction, observed_at        a correction: the record, true, and the time it states
 */

import { stayAwake } from "./awake.js";
import { instant } from "./canonical.js";
import { buildClaim } from "./claim.js";
import * as credentials from "./credential.js";
import { deliberate, once } from "./deliberate.js";
import { make } from "./dom.js";
import { createInstrument, noteUsed } from "./instrument.js";
import { judge } from "./judge.js";
import { listen } from "./keys.js";
import { createMoment } from "./moment.js";
import * as outbox from "./outbox.js";
import { createPhotos } from "./photo.js";
import { entriesText, heading, NEEDS_ACTION, showKept, showNotSaved, showSaved } from "./result.js";
import { createSteps } from "./steps.js";
import { createUndo, noteSaved } from "./undo.js";
import { word } from "./words.js";

const kindOf = ({ event, round }) => (event ? "lot_event" : round ? "round" : "reading");
const SOON = 2500;

function labelled(input, label) {
  return input && make("div", { class: "small-field" }, make("label", { for: input.id }, label), input);
}

/**
 * Mounts capture. data: the data block; host: the element with the mount points; go: leads to an address;
 * onward(row, state): of a series, goes on at once with a record that is saved here and needs no action.
 * Returns {stop(), typed(), changePerson()}: stop leaves the host to the next one, typed tells whether something
 * is half typed, changePerson({person, csrf}) makes somebody else the author of what is saved next.
 */
export function startCapture(given, {
  host = document.getElementById("capture"), go = (address) => location.assign(address), onward = null,
} = {}) {
  const data = { ...given };
  const find = (id) => host.querySelector(`#${id}`);
  const page = [data.slot, data.lot, data.event, data.control, data.supersedes, data.round?.join()].map((part) => part ?? "").join(" ");
  const server = { url: data.claims_url, key: data.server_public_key };
  const save = find("save");
  const saveLabel = save.textContent;
  let enrolling = null;
  let replaces = null;
  let unwatch = () => {};
  const stops = [];

  const steps = createSteps({ parts: data.parts ?? [], zone: data.zone, scan: data, finished: () => save.focus() });
  const keyboard = listen({ steps, save });
  const moment = createMoment({
    zone: data.zone, lateAfter: data.late_after_minutes, label: word(data.event ? "happened" : "measured"),
    fixed: data.observed_at ? new Date(data.observed_at) : null,
  });
  const instrument = createInstrument(data);
  const photos = data.photo ? createPhotos({ required: data.photo === "required" && !data.correction }) : null;
  const undo = createUndo(host, () => go(data.due_url));
  const reason = data.correction ? make("textarea", { id: "reason", rows: 2, maxlength: 500 }) : null;

  /* From the page to a claim ------------------------------------------------------------------------ */

  function content(observed, files) {
    const shared = {
      ...(files.length > 0 && { photos: files.map(({ sha256 }) => sha256) }),
      lot: data.lot ?? null, observed_at: instant(observed.observedAt), late_reason: observed.lateReason,
      supersedes: data.supersedes ?? null, reason: reason?.value.trim() ?? "",
    };
    if (data.event) return { ...shared, event: data.event, details: steps.filled() };
    if (data.round) return { slots: data.round, observed_at: shared.observed_at, late_reason: shared.late_reason };
    return {
      ...shared, slot: data.slot, control: data.control, plan_version: data.plan_version,
      instrument: instrument?.value() ?? null, parts: steps.filled(),
    };
  }

  /** What still has to be entered is said beside its field. Returns the observed moment, or null. */
  function checked(now) {
    find("message").textContent = "";
    const lacking = steps.firstLacking();
    if (lacking) {
      steps.complain(lacking.name, lacking.message);
      return null;
    }
    const observed = moment.read(now);
    if (observed.problem) return complain(observed.problem, observed.focus);
    if (reason && reason.value.trim().length < 3) return complain(word("correction-needs-reason"), reason);
    if (instrument?.problem()) return complain(instrument.problem(), instrument.select);
    if (photos?.lacking()) return complain(photos.lacking(), photos);
    return observed;
  }

  function complain(message, focus) {
    find("message").textContent = message;
    focus?.focus();
    return null;
  }

  /** The credential of this person on this device; enrolled in the background, tried again on Save. */
  function credential() {
    const { establishment, person } = data;
    enrolling ??= credentials.current(establishment, person).then((kept) => kept ?? credentials.enrol({
      url: data.enrol_url, csrf: data.csrf, establishment, person, deviceLabel: credentials.deviceLabel(),
    }));
    enrolling.catch(() => { enrolling = null; });
    return enrolling;
  }

  /* Keeping and sending ----------------------------------------------------------------------------- */

  function state(name) {
    host.dataset.state = name;
    save.disabled = name === "keeping" || name === "kept";
    save.textContent = { keeping: word("keeping"), kept: word("kept") }[name] ?? saveLabel;
    find("entry").disabled = name !== "entering";
  }

  const localState = (observedAt) => (data.table ? judge(data.table, steps.filled(), observedAt) : null);

  function notSaved(message, { again, signIn = false }) {
    state("entering");
    showNotSaved(find("result"), { message, entries: steps.entries, localState: localState(new Date()), data, again, signIn });
    find("announce").textContent = `${word("not-saved")}. ${message}`;
  }

  async function refused({ uuid, refusal, part, offers }) {
    replaces = uuid;
    state("entering");
    find("result").hidden = true;
    if (part === "credential") {
      await credentials.forget(data.establishment, data.person);
      enrolling = null;
    }
    if (!steps.complain(part, refusal, offers)) complain(refusal, part === "instrument" ? instrument?.select : null);
    find("announce").textContent = `${word("not-saved")}. ${refusal}`;
  }

  function received({ receipt }) {
    state("saved");
    find("announce").textContent = showSaved(find("result"), { answer: receipt, data, entries: steps.entries, go });
    undo.show();
  }

  /** Saved here and not received yet: it goes by itself, so the person may go on. */
  function kept(row, message) {
    const observedAt = new Date(row.claim.content.observed_at);
    state("kept");
    find("announce").textContent = showKept(find("result"), {
      message, entries: steps.entries, localState: localState(observedAt), data, go, signIn: row.state === "held",
    });
    undo.show();
  }

  /** Shows what became of a kept record as soon as it is known; in the meantime that it is saved here. */
  async function deliver({ uuid }) {
    const show = async (changed = uuid) => {
      const row = changed === uuid ? await outbox.find(uuid) : null;
      if (row?.state === "received" || row?.state === "refused") {
        unwatch();
        clearTimeout(soon);
        await (row.state === "received" ? received(row) : refused(row));
      } else if (row?.tries > 0) {
        clearTimeout(soon);
        kept(row, word(row.refusal));
      }
    };
    const waits = async () => kept(await outbox.find(uuid), word("kept-goes"));
    const soon = setTimeout(waits, SOON);
    unwatch();
    unwatch = outbox.watch((changed) => show(changed).catch(() => {}));
    find("announce").textContent = word("kept");
    await outbox.flush().catch(() => {});
    if (host.dataset.state === "kept" && find("result").hidden) {
      clearTimeout(soon);
      await waits();
    }
  }

  async function record() {
    const now = new Date();
    find("result").hidden = true;
    const observed = checked(now);
    if (!observed) return;
    state("keeping");
    let envelope;
    try {
      const own = await credential();
      const files = await Promise.all((photos?.blobs() ?? []).map((blob) => outbox.fileOf(blob, own)));
      const claim = buildClaim({ kind: kindOf(data), credential: own, content: content(observed, files), now });
      envelope = await outbox.keep(claim, own, { page, label: heading(), server, files, replaces });
    } catch (error) {
      const signIn = error.status === 401 || error.status === 403;
      notSaved(error.status ? error.message || word("not-enrolled") : word(error instanceof TypeError ? "no-credential" : "not-kept"),
        { again: once(record), signIn });
      return;
    }
    replaces = null;
    state("kept");
    noteUsed(data, instrument?.value()).catch(() => {});
    if (!data.correction) noteSaved({ ...envelope.claim, label: [heading(), entriesText(steps.entries)].filter(Boolean).join(": ") });
    const judged = localState(observed.observedAt);
    if (onward && !NEEDS_ACTION.has(judged) && judged !== "on_receipt") {
      navigator.vibrate?.(60);
      outbox.flush().catch(() => {});
      onward(envelope, judged);
      return;
    }
    await deliver(envelope);
  }

  /* Start ------------------------------------------------------------------------------------------- */

  /** A record made here before that is still on its way: said, so that it is not made twice. */
  async function tellOfUnsent() {
    const row = await outbox.unsentOn({ establishment: data.establishment, person: data.person, page });
    if (!row || host.dataset.state !== "entering" || steps.filled().length > 0) return;
    find("message").textContent = word("kept-unsent");
    await outbox.flush();
    if ((await outbox.find(row.uuid))?.state === "received") find("message").textContent = word("kept-received");
  }

  function start() {
    find("fallback").hidden = true;
    if (!credentials.keysAvailable()) {
      find("insecure").hidden = false;
      return;
    }
    find("fields").append(steps.element);
    find("evidence").append(...[photos?.element, labelled(reason, word("correction-reason"))].filter(Boolean));
    const details = [moment.element, instrument?.element];
    find("details").append(...details.filter(Boolean));
    find("capture-form").hidden = false;
    find("capture-form").addEventListener("submit", (event) => event.preventDefault());
    stops.push(deliberate(save, record, () => !keyboard.inBurst()), stayAwake());
    state("entering");
    steps.focus();
    credential().catch(() => {});
    tellOfUnsent().catch(() => {});
  }

  start();
  const stop = () => { keyboard.stop(); unwatch(); stops.forEach((one) => one()); };
  function changePerson({ person, csrf }) {
    Object.assign(data, { person, csrf: csrf ?? data.csrf });
    enrolling = null;
    credential().catch(() => {});
  }
  const typed = () => host.dataset.state === "entering" && (steps.filled().length > 0 || photos?.blobs().length > 0);
  return { stop, typed, changePerson };
}
