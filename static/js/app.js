// Loaded on every page of someone who is signed in. Registering the worker only then keeps sign-in pages out of it.

if ("serviceWorker" in navigator) {
  navigator.serviceWorker.register("/sw.js", { updateViaCache: "none" }).catch((reason) => {
    console.warn("The app can't work without a connection here:", reason.message);
  });
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
