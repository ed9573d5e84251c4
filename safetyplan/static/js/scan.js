/**
 * Reading the bar code or QR code of a lot: by the camera where the browser can read codes itself, else from a
 * photo that the server reads, or by a scanner that types. Nothing is ever saved by it: it fills one field or
 * leads to one lot.
 */

import { watchBurst } from "./burst.js";
import { button, make, replace } from "./dom.js";
import { filePicker, reduced } from "./photo.js";
import { word } from "./words.js";

const LOOK_EVERY = 200;
const PATIENCE = 20_000;

async function detector() {
  if (!globalThis.BarcodeDetector) return null;
  const formats = await BarcodeDetector.getSupportedFormats().catch(() => []);
  return formats.length > 0 ? new BarcodeDetector({ formats }) : null;
}

/** The codes in a photo: read here where that is possible, else by the server. Throws with words. */
export async function codesIn(file, { scan_url: url, csrf }) {
  const own = await detector();
  if (own) {
    const seen = await own.detect(await createImageBitmap(file)).catch(() => []);
    if (seen.length > 0) return seen.map(({ rawValue }) => rawValue);
  }
  const answer = await fetch(url, {
    method: "POST", body: await reduced(file), credentials: "same-origin", redirect: "error", signal: AbortSignal.timeout(PATIENCE),
    headers: { "Content-Type": "application/octet-stream", "Accept": "application/json", "X-CSRFToken": csrf },
  }).catch(() => { throw new Error(word("scan-no-answer")); });
  const told = await answer.json().catch(() => null);
  if (!answer.ok || !told) throw new Error(told?.error?.message ?? word("scan-no-answer"));
  return told.codes;
}

/** The lot's code in a text: the last part of nothing else; an address of a lot stays as it is for the server. */
export const plain = (text) => text.replace(/[^\x20-\x7e\u00a0-\uffff]/g, "").trim();

/** The live picture of the camera; seen(text) is called once with what it reads. Returns {element, stop()}, or null. */
async function live(seen) {
  const own = await detector();
  if (!own || !navigator.mediaDevices?.getUserMedia) return null;
  let stream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
  } catch {
    return null;
  }
  const element = make("video", { class: "scan-video", playsinline: true, muted: true });
  element.srcObject = stream;
  element.play().catch(() => {});
  const timer = setInterval(async () => {
    const [code] = await own.detect(element).catch(() => []);
    if (code) seen(code.rawValue);
  }, LOOK_EVERY);
  return { element, stop: () => { clearInterval(timer); stream.getTracks().forEach((track) => track.stop()); } };
}

/**
 * The sheet on which a code is scanned. server: {scan_url, csrf}; found(text): gives a message to show when the
 * text leads nowhere, else nothing. Returns {open()}.
 */
export function createScan({ server, found }) {
  let camera = null;
  const problem = make("p", { class: "error", role: "alert" });
  const view = make("div", { class: "scan-view" });
  const input = make("input", { id: "scan-code", autocomplete: "off", autocapitalize: "characters", spellcheck: "false", maxlength: 300 });
  const form = make("form", { onsubmit: (event) => { event.preventDefault(); take(input.value); } },
    make("label", { for: input.id }, word("scan-type")), input, make("button", { class: "wide primary" }, word("scan-find")));
  const picker = filePicker(word("scan-photo"), ([file]) => read(file), { id: "scan-photo" });
  const sheet = make("dialog", { class: "switcher scan", "aria-labelledby": "scan-title", onclose: stop },
    make("h2", { id: "scan-title", tabindex: "-1" }, word("scan-title")), view, picker, form, problem,
    button(word("close"), { class: "switcher-close", onclick: () => sheet.close() }));

  function stop() {
    camera?.stop();
    camera = null;
    replace(view);
  }
  async function take(text) {
    const code = plain(text);
    if (!code) return;
    stop();
    input.value = code;
    const message = await found(code);
    if (!message) sheet.close();
    else problem.textContent = message;
  }
  async function read(file) {
    problem.textContent = word("scan-reading");
    try {
      const [first] = await codesIn(file, server);
      problem.textContent = "";
      await take(first);
    } catch (error) {
      problem.textContent = error.message;
    }
  }
  sheet.addEventListener("keydown", (event) => event.stopPropagation());
  watchBurst(input, (typed, meantText) => { input.value = input.value.replace(typed, meantText); });
  async function open() {
    if (!sheet.isConnected) document.body.append(sheet);
    problem.textContent = "";
    input.value = "";
    sheet.showModal();
    input.focus();
    camera = await live(take);
    if (!sheet.open) stop();
    else if (camera) replace(view, camera.element);
  }
  return { open };
}

/** Where a scanned text leads: {url, code}, or an Error with words. */
export async function lotOf(text, { lot_find_url: url }) {
  const answer = await fetch(`${url}?form=json&code=${encodeURIComponent(text)}`, {
    headers: { "Accept": "application/json" }, credentials: "same-origin", redirect: "error", signal: AbortSignal.timeout(PATIENCE),
  }).catch(() => { throw new Error(word("scan-no-answer")); });
  const told = await answer.json().catch(() => null);
  if (!answer.ok || !told) throw new Error(told?.error?.message ?? word("scan-no-answer"));
  return told;
}
