/** Mounts capture from the data block #capture-data of a page. */

import { startCapture } from "./capture.js";

startCapture(JSON.parse(document.getElementById("capture-data").textContent));
