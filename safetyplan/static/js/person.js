/**
 * Who is at work, in the head of every page, and the button by which somebody else takes the turn. A page of
 * plain forms that nobody has typed into is loaded anew for the next person; anywhere else what is typed
 * stays and only the name, the token and the author change (event "person-changed" on the document).
 */

import { keysAvailable } from "./credential.js";
import * as people from "./people.js";
import { createSwitcher } from "./switcher.js";

const block = document.getElementById("people-data");
let typed = false;

function showPerson({ printed, initials }) {
  for (const place of document.querySelectorAll("[data-person-name]")) place.textContent = printed;
  for (const place of document.querySelectorAll("[data-person-initials]")) place.textContent = initials;
}

/** The forms on the page are the next person's now: their tokens, and for whom what is typed would be kept. */
function renewTokens({ csrf, form_of: mark }) {
  for (const field of document.querySelectorAll("input[name=csrfmiddlewaretoken]")) field.value = csrf;
  for (const field of document.querySelectorAll("input[name=form_of]")) field.value = mark ?? "";
}

/** Whether the page may be loaded anew: nothing half typed is on it, and it does not record by itself. */
const mayReload = () => !typed && !document.body.classList.contains("capturing");

function changed(who) {
  showPerson(who);
  if (who.csrf) renewTokens(who);
  document.dispatchEvent(new CustomEvent("person-changed", { detail: who }));
  if (!who.pending && mayReload()) location.reload();
}

/**
 * Mounts the name and the button on a page. page: {establishment, person, printed, initials, session, by, csrf} and
 * the addresses enrol_url, challenge_url, turn_url, password_turn_url. Resolves with who is at work.
 */
export async function mountPerson(page) {
  const now = await people.begin(page);
  showPerson(now);
  const switcher = createSwitcher(page, changed);
  for (const opener of document.querySelectorAll("[data-person-switch]")) {
    opener.hidden = false;
    opener.addEventListener("click", () => switcher.open());
  }
  document.addEventListener("input", ({ isTrusted, target }) => { typed ||= isTrusted && !target.closest("dialog"); });
  if (now.pending) catchUp(page, now).catch(() => {});
  return now;
}

/** A turn taken without a network becomes the server's session as soon as the server answers. */
async function catchUp(page, now) {
  let told;
  try {
    told = await people.takeTurn(page, now.person);
  } catch (error) {
    if (error.part !== "credential") return;
    // The key was signed off meanwhile: whoever holds the session is at work again.
    await people.forgetPin(page.establishment, now.person);
    return showPerson(await people.setAtWork(page.establishment, page));
  }
  const who = { person: told.person, printed: told.name, initials: told.initials, session: told.session, csrf: told.csrf, form_of: told.form_of, by: "pin" };
  await people.setAtWork(page.establishment, who);
  Object.assign(page, who);
  changed(who);
}

if (block && keysAvailable()) mountPerson(JSON.parse(block.textContent)).catch(() => {});
