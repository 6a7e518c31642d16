// When to send: on opening, on coming back to the screen, when the network comes back, and again after a while when
// it failed. The service worker's background sync is one more, where there is one.

import { sendAll, whenChanged } from "./outbox.js";

const FIRST_MS = 1000;
const LONGEST_MS = 300_000;

let pause = FIRST_MS;
let timer = 0;

export async function send() {
  clearTimeout(timer);
  timer = 0;
  const outcome = await sendAll().catch(() => "failed");
  if (outcome === "sent" || outcome === "sign_in") pause = FIRST_MS;
}

// How a sending ended here or in another tab; "" tells of a change only.
function later(outcome) {
  if (timer || (outcome !== "offline" && outcome !== "failed")) return;
  timer = setTimeout(send, pause);
  pause = Math.min(2 * pause, LONGEST_MS);
}

function anew() {
  pause = FIRST_MS;
  send();
}

export function begin() {
  whenChanged(later);
  window.addEventListener("online", anew);
  window.addEventListener("pageshow", anew);
  document.addEventListener("visibilitychange", () => document.hidden || anew());
  send();
}
