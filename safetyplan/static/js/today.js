/** The page of today: taking back what was just saved, and scanning a lot. */

import "./scan-page.js";
import "./undo-page.js";
