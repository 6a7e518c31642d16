// The outbox as pages know it: who is at the phone, what waits (in each page's header) and whether a person has to do
// something about it, what is said of it, and when it sends. Words: components/waiting.html.

import { get } from "./db.js";
import { sendAll, waiting, whenChanged } from "./outbox.js";

const FIRST_MS = 1000;
const LONGEST_MS = 300_000;
const NEXT = "drystack-said";

let ended = "";
let pause = FIRST_MS;
let timer = 0;

// As the page says that the server drew, or else who was last signed in here. "" for nobody.
export async function person() {
  const drawn = document.querySelector("[data-person]")?.dataset.person;
  return drawn || (await get("meta", "user").catch(() => null))?.id || "";
}

async function show() {
  const link = document.querySelector("[data-waiting-count]");
  const user = link && (await person());
  if (!user) return;
  const records = await waiting(user);
  const refused = records.filter((record) => record.state === "refused").length;
  const parts = [count("refused", refused), count("waiting", records.length - refused)];
  if (records.length > refused && ended === "sign_in") parts.push(words("sign_in"));
  const line = parts.filter(Boolean).join(" · ");
  if (link.textContent === line) return; // a status said twice is a nuisance
  link.hidden = !line;
  link.textContent = line;
  link.classList.toggle("warn", Boolean(refused) || parts.length > 2);
}

function count(name, number) {
  return number ? words(name).replace("%s", number) : "";
}

function words(name) {
  return document.querySelector(`template[data-outbox-words="${name}"]`)?.content.textContent.trim() ?? "";
}

// In the page's messages; one at a time, "" for none.
export function say(name) {
  const place = document.getElementById("messages");
  place?.querySelector("[data-outbox-said]")?.remove();
  if (!name || !place) return;
  const line = document.createElement("p");
  line.dataset.outboxSaid = name;
  line.className = name === "lost" || name === "unkept" ? "warning" : "success";
  line.textContent = words(name);
  place.append(line);
  if (line.className === "warning") line.scrollIntoView({ block: "center" });
}

// The same on the page that follows.
export function sayThere(name) {
  try {
    sessionStorage.setItem(NEXT, name);
  } catch {
    // not said, but kept all the same
  }
}

function sayWhatWasLeft() {
  try {
    const name = sessionStorage.getItem(NEXT);
    sessionStorage.removeItem(NEXT);
    if (name) say(name);
  } catch {
    // a browser that keeps nothing
  }
}

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

// On opening, on coming back to the screen, when the network comes back, and again after a while when it failed. The
// service worker's background sync is one more, where there is one.
whenChanged((outcome) => {
  ended = outcome || ended;
  later(outcome);
  show().catch(() => {}); // a browser that keeps nothing has nothing waiting
});
show().catch(() => {});
sayWhatWasLeft();
window.addEventListener("online", anew);
window.addEventListener("pageshow", anew);
document.addEventListener("visibilitychange", () => document.hidden || anew());
send();
