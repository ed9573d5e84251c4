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
 *   event                                      name of a lot event, instead of slot and control, else null
 *   parts      [{name, label, entry: "number" | "choice" | "time" | "date" | "moment" | "text", unit, units, negative,
 *                options: [{code, label}], suggested: [{code, label}], required}]; unit and units: {code, symbol}, or a bare code
 *   table      the judging table (judge.js), or null
 *   texts      {limit, target, outside_heading, actions: [{code, text}], measure_next}
 *   instruments [{id, label}], instrument      the id chosen beforehand (else the first)
 *   late_after_minutes                         a stated time older than this needs a reason
 *   supersedes, correction, observed_at        a correction: the record, true, and the time it states
 */

import { instant } from "./canonical.js";
import { buildClaim } from "./claim.js";
import * as credentials from "./credential.js";
import { make } from "./dom.js";
import { judge } from "./judge.js";
import { listen } from "./keys.js";
import { createMoment } from "./moment.js";
import * as outbox from "./outbox.js";
import { heading, showKept, showNotSaved, showSaved } from "./result.js";
import { createSteps } from "./steps.js";
import { word } from "./words.js";

const SECOND_TAP = 500;
const SOON = 2500;

function labelled(input, label) {
  return input && make("div", { class: "small-field" }, make("label", { for: input.id }, label), input);
}

/** The choice of the instrument, or null where the check needs none. */
function instrumentChoice({ instruments, instrument }) {
  return instruments?.length > 0 ? make("select", { id: "instrument" },
    ...instruments.map(({ id, label }) => make("option", { value: id, selected: id === instrument }, label))) : null;
}

/**
 * Mounts capture. data: the data block; host: the element with the mount points; go: leads to an address.
 * Returns {stop(), typed()}: stop leaves the host to the next one, typed tells whether something is half typed.
 */
export function startCapture(data, { host = document.getElementById("capture"), go = (address) => location.assign(address) } = {}) {
  const find = (id) => host.querySelector(`#${id}`);
  const page = [data.slot, data.lot, data.event, data.control, data.supersedes].map((part) => part ?? "").join(" ");
  const server = { url: data.claims_url, key: data.server_public_key };
  const save = find("save");
  const saveLabel = save.textContent;
  let lastTap = -SECOND_TAP;
  let enrolling = null;
  let replaces = null;
  let unwatch = () => {};

  const steps = createSteps({ parts: data.parts ?? [], zone: data.zone, finished: () => save.focus() });
  const keyboard = listen({ steps, save });
  const moment = createMoment({
    zone: data.zone, lateAfter: data.late_after_minutes, label: word(data.event ? "happened" : "measured"),
    fixed: data.observed_at ? new Date(data.observed_at) : null,
  });
  const instrument = instrumentChoice(data);
  const reason = data.correction ? make("textarea", { id: "reason", rows: 2, maxlength: 500 }) : null;

  /* From the page to a claim ------------------------------------------------------------------------ */

  function content(observed) {
    const shared = {
      lot: data.lot ?? null, observed_at: instant(observed.observedAt), late_reason: observed.lateReason,
      supersedes: data.supersedes ?? null, reason: reason?.value.trim() ?? "",
    };
    if (data.event) return { ...shared, event: data.event, details: steps.filled() };
    return {
      ...shared, slot: data.slot, control: data.control, plan_version: data.plan_version,
      instrument: instrument?.value || null, parts: steps.filled(),
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
    if (!steps.complain(part, refusal, offers)) complain(refusal, part === "instrument" ? instrument : null);
    find("announce").textContent = `${word("not-saved")}. ${refusal}`;
  }

  function received({ receipt }) {
    state("saved");
    find("announce").textContent = showSaved(find("result"), { answer: receipt, data, entries: steps.entries, go });
  }

  /** Saved here and not received yet: it goes by itself, so the person may go on. */
  function kept(row, message) {
    const observedAt = new Date(row.claim.content.observed_at);
    state("kept");
    find("announce").textContent = showKept(find("result"), {
      message, entries: steps.entries, localState: localState(observedAt), data, go, signIn: row.state === "held",
    });
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
        kept(row, row.refusal);
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

  /** Ignores the second tap of a double tap. */
  function once(act) {
    return () => {
      if (performance.now() - lastTap < SECOND_TAP) return;
      lastTap = performance.now();
      act();
    };
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
      const claim = buildClaim({ kind: data.event ? "lot_event" : "reading", credential: own, content: content(observed), now });
      envelope = await outbox.keep(claim, own, { page, label: heading(), server, replaces });
    } catch (error) {
      const signIn = error.status === 401 || error.status === 403;
      notSaved(error.status ? error.message || word("not-enrolled") : word(error instanceof TypeError ? "no-credential" : "not-kept"),
        { again: once(record), signIn });
      return;
    }
    replaces = null;
    state("kept");
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
    const details = [labelled(instrument, word("instrument")), moment.element, labelled(reason, word("correction-reason"))];
    find("details").append(...details.filter(Boolean));
    find("capture-form").hidden = false;
    find("capture-form").addEventListener("submit", (event) => event.preventDefault());
    const tapped = once(record);
    save.addEventListener("click", (event) => { if (event.detail > 0 || !keyboard.inBurst()) tapped(); });
    state("entering");
    steps.focus();
    credential().catch(() => {});
    tellOfUnsent().catch(() => {});
  }

  start();
  const stop = () => { keyboard.stop(); unwatch(); };
  return { stop, typed: () => host.dataset.state === "entering" && steps.filled().length > 0 };
}
