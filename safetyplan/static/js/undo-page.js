/** A page to which recording leads, with #undo-host: taking back what was just saved. */

import { keysAvailable } from "./credential.js";
import { createUndo } from "./undo.js";

const host = document.getElementById("undo-host");

if (host && keysAvailable()) createUndo(host, () => location.reload()).show();
