// Reminders on this device: asked for by a tap alone. Where the browser has no push, the page's words stand as they are.

const form = document.querySelector("[data-push]");
const { serviceWorker } = navigator;

if (form && serviceWorker && "PushManager" in window) {
  form.hidden = false;
  document.querySelector("[data-no-push]").hidden = true;
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    ask().catch(() => (form.querySelector("[role=alert]").textContent = form.dataset.refused));
  });
}

// Anew each time, since a subscription made for a former key of the yard would be in the way.
async function ask() {
  const { pushManager } = await serviceWorker.ready;
  await (await pushManager.getSubscription())?.unsubscribe();
  const made = await pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: form.dataset.push });
  form.elements.subscription.value = JSON.stringify(made);
  form.submit();
}
