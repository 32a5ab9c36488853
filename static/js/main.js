// Every page works without these; each makes one thing quicker.
import { focusByKey, listenForScanner } from "./code-field.js";
import { echoWeights } from "./weight-echo.js";
import { sendOnce } from "./once.js";
import { offerPrinting } from "./print.js";
import { foldAway } from "./fold.js";
import { reckonAsTyped } from "./reckon.js";

focusByKey();
listenForScanner();
echoWeights();
sendOnce();
offerPrinting();
foldAway();
reckonAsTyped();
