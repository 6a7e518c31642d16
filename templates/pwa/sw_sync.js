// Background sync: the phone has reception again, and maybe no page of ours is open. `sendAll` is js/outbox.js's,
// imported above this by config/shell.py; only a module worker can, so the classic one lacks this part.

self.addEventListener("sync", (event) => {
  if (event.tag === "drystack-outbox") event.waitUntil(send());
});

// A rejection makes the browser try again later.
async function send() {
  const outcome = await sendAll();
  if (outcome === "offline" || outcome === "failed") throw new Error(`not sent: ${outcome}`);
}
