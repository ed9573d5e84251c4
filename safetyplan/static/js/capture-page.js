/** Mounts capture from the data block #capture-data of a page, for whoever is at work on this device. */

import { startCapture } from "./capture.js";
import { keysAvailable } from "./credential.js";
import { begin } from "./people.js";
import { startSeries } from "./series.js";

const data = JSON.parse(document.getElementById("capture-data").textContent);
const people = JSON.parse(document.getElementById("people-data")?.textContent ?? "null");
const worker = people && keysAvailable() ? await begin(people).catch(() => null) : null;
const start = data.series ? startSeries : startCapture;
const capture = start(worker ? { ...data, person: worker.person } : data);

document.addEventListener("person-changed", ({ detail }) => capture.changePerson(detail));
