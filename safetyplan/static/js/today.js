/** The page of today: taking back what was just saved, and scanning a lot. */

import { keysAvailable } from "./credential.js";
import "./scan-page.js";
import { createUndo } from "./undo.js";

const host = document.getElementById("undo-host");

if (host && keysAvailable()) createUndo(host, () => location.reload()).show();
