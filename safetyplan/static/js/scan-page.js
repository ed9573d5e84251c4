/**
 * Scanning on a page: [data-scan-open] leads to the lot that was scanned; each input[data-scan] gets a button that
 * fills it. The block #scan-data holds {lot_find_url, scan_url, csrf}.
 */

import { watchBurst } from "./burst.js";
import { button } from "./dom.js";
import { createScan, lotOf } from "./scan.js";
import { word } from "./words.js";

const server = JSON.parse(document.getElementById("scan-data").textContent);
document.addEventListener("person-changed", ({ detail }) => { if (detail.csrf) server.csrf = detail.csrf; });

async function goToLot(text) {
  try {
    const { url } = await lotOf(text, server);
    location.assign(new URL(url, location.href).pathname);
    return "";
  } catch (error) {
    return error.message;
  }
}

for (const opener of document.querySelectorAll("[data-scan-open]")) {
  const scan = createScan({ server, found: goToLot });
  opener.hidden = false;
  opener.addEventListener("click", () => scan.open());
}

for (const input of document.querySelectorAll("input[data-scan]")) {
  const scan = createScan({ server, found: (text) => { input.value = text; input.focus(); return ""; } });
  input.after(button(word("scan"), { class: "scan-button", onclick: () => scan.open() }));
  watchBurst(input, (typed, text) => { input.value = input.value.replace(typed, text); });
  // A scanner ends with Enter: it fills this field and sends nothing.
  input.addEventListener("keydown", (event) => { if (event.key === "Enter") event.preventDefault(); });
}
