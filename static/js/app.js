// Loaded on every page of someone who is signed in. Registering the worker only then keeps sign-in pages out of it.

import { watch } from "./update.js";

const ALWAYS_ASK = { updateViaCache: "none" };
// A module worker's script is asked for without cookies: the address says for which reader it is.
const reader = `?${document.documentElement.dataset.reader}`;

// Only a module worker can send by background sync, and only browsers with that sync gain by one.
async function register() {
  const workers = navigator.serviceWorker;
  if ("SyncManager" in window) {
    try {
      return await workers.register("/sw.js" + reader, { ...ALWAYS_ASK, type: "module" });
    } catch {
      // an older browser without module workers
    }
  }
  return workers.register("/sw-classic.js" + reader, ALWAYS_ASK);
}

if ("serviceWorker" in navigator) {
  register()
    .then(watch)
    .catch((reason) => console.warn("Works only online here:", reason.message));
}

// A menu behind <details> closes when one taps elsewhere or presses Escape, as menus do.
function closeMenus(except) {
  for (const menu of document.querySelectorAll("details.who[open]")) {
    if (!menu.contains(except)) menu.open = false;
  }
}

document.addEventListener("click", (event) => closeMenus(event.target));
document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape") return;
  const menu = document.activeElement?.closest("details.who[open]");
  closeMenus(null);
  menu?.querySelector("summary").focus();
});
