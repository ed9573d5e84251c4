/**
 * Photos as evidence: taken or chosen, made smaller on the device, kept with the record in the outbox. Drawn
 * anew on a canvas, a picture loses what the camera wrote into its file; the server writes it anew once more.
 */

import { button, make, replace } from "./dom.js";
import { word } from "./words.js";

const LONG_SIDE = 2000;
const QUALITY = 0.85;
const LARGEST = 60 * 1024 * 1024;
const MOST_PIXELS = 50_000_000;
const MOST = 12;
const HEIC = /^(heic|heix|heim|heis|hevc|hevx|mif1|msf1|avif|avis)/;

class NoPhoto extends Error {}

/** The form of a picture by its first bytes, for the cases that need words of their own. */
async function isHeic(file) {
  const head = new Uint8Array(await file.slice(4, 12).arrayBuffer());
  const text = String.fromCharCode(...head);
  return text.startsWith("ftyp") && HEIC.test(text.slice(4));
}

async function decoded(file) {
  try {
    return await createImageBitmap(file, { imageOrientation: "from-image" });
  } catch {
    throw new NoPhoto(word(await isHeic(file) ? "photo-heic" : "photo-unreadable"));
  }
}

/** A file as a JPEG of at most 2000 pixels; throws with words for the person. */
export async function reduced(file) {
  if (file.size === 0) throw new NoPhoto(word("photo-empty"));
  if (file.size > LARGEST) throw new NoPhoto(word("photo-large"));
  const picture = await decoded(file);
  if (picture.width * picture.height > MOST_PIXELS) throw new NoPhoto(word("photo-large"));
  const scale = Math.min(1, LONG_SIDE / Math.max(picture.width, picture.height));
  const canvas = make("canvas", { width: Math.max(1, Math.round(picture.width * scale)), height: Math.max(1, Math.round(picture.height * scale)) });
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
  if (!blob) throw new NoPhoto(word("photo-unreadable"));
  return blob;
}

/** A large button over a file input: the camera, or a picture that is there already. */
export function filePicker(label, chosen, { id, camera = true } = {}) {
  const input = make("input", { id, type: "file", accept: "image/*", capture: camera ? "environment" : null, class: "file-input",
    onchange: () => { const files = [...input.files]; input.value = ""; if (files.length > 0) chosen(files); } });
  return make("label", { class: "button file-picker" }, input, make("span", {}, label));
}

/**
 * The photos of one record. required: the plan does not take the record without one.
 * Returns {element, blobs(), lacking()}; lacking is a sentence while a required photo is missing.
 */
export function createPhotos({ required, changed = () => {} }) {
  const taken = [];
  const problem = make("p", { class: "error", id: "photo-error", role: "alert" });
  const list = make("ul", { class: "photo-list" });
  const picker = filePicker(word("photo-take"), add, { id: "photo" });

  function show() {
    replace(list, ...taken.map(({ address }, place) => make("li", {},
      make("img", { src: address, alt: word("photo-n", { n: place + 1 }), width: 72, height: 72 }),
      button("✕", { "aria-label": word("photo-drop", { n: place + 1 }), onclick: () => drop(place) }))));
    changed();
  }
  function drop(place) {
    URL.revokeObjectURL(taken[place].address);
    taken.splice(place, 1);
    show();
  }
  async function add(files) {
    problem.textContent = "";
    for (const file of files.slice(0, MOST - taken.length)) {
      try {
        const blob = await reduced(file);
        taken.push({ blob, address: URL.createObjectURL(blob) });
      } catch (error) {
        problem.textContent = error instanceof NoPhoto ? error.message : word("photo-unreadable");
      }
    }
    show();
  }
  const element = make("div", { class: "photo-field" }, picker, list, problem);
  return {
    element, focus: () => picker.querySelector("input").focus(), blobs: () => taken.map(({ blob }) => blob),
    lacking: () => (required && taken.length === 0 ? word("photo-required") : ""),
    say: (message) => { problem.textContent = message; },
  };
}
