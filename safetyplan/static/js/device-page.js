/** The page of what is on this device. */

import { showDevice } from "./device-list.js";
import { word } from "./words.js";

const host = document.getElementById("device-records");
showDevice(host, host.dataset.establishment).catch(() => { host.textContent = word("device-unreadable"); });
