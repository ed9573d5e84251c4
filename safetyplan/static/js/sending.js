/**
 * Plain forms without the server: nothing is sent, the page stays with what was typed, and says so. The device
 * itself knows when it has no network; where it has one and the server is not there, the service worker finds
 * out when the form is sent, and tells ("form-not-sent").
 */

import { make } from "./dom.js";
import { word } from "./words.js";

let sent = null;

function tell(form) {
  form.querySelector("[data-not-sent]")?.remove();
  const said = make("p", { class: "notice bad", role: "alert", tabindex: "-1", "data-not-sent": true }, word("needs-server"));
  const last = form.querySelector("button[type=submit], button:not([type])");
  (last?.closest(".actions") ?? last ?? form.lastElementChild).before(said);
  said.scrollIntoView({ block: "nearest" });
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.method !== "post" || event.defaultPrevented) return;
  form.querySelector("[data-not-sent]")?.remove();
  sent = form;
  if (navigator.onLine) return;
  event.preventDefault();
  tell(form);
});

navigator.serviceWorker?.addEventListener("message", ({ data }) => {
  if (data === "form-not-sent" && sent) tell(sent);
});
