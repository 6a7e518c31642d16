// A newer service worker waits until a page lets it take over; this is when. Never while something is half typed, in
// this tab or another, nor while the outbox sends. Else by itself as soon as nobody looks: when a page has just been
// loaded, or is put away. One who looks on is told, and may take it at once. Words: components/update.html.

const HALF_TYPED = "drystack-half-typed"; // a lock that each page with a half typed form holds, so that others see it
const OUTBOX = "drystack-outbox"; // the lock under which the outbox sends

const line = document.querySelector("[data-update]");
const drawnOffline = "offline" in document.documentElement.dataset;
let registration;
let controlled;
let before; // the worker that waited before this page was loaded: the page is as new as that
let asked = false;
let wished = false;
let holding = false;
let letGo = async () => {}; // of the lock, where this page holds it

export function watch(found) {
  registration = found;
  before = registration.waiting;
  controlled = Boolean(navigator.serviceWorker.controller);
  registration.addEventListener("updatefound", () => {
    registration.installing?.addEventListener("statechange", () => consider());
  });
  navigator.serviceWorker.addEventListener("controllerchange", takenOver);
  for (const type of ["input", "change", "reset", "htmx:afterSettle"]) {
    document.addEventListener(type, () => setTimeout(noteTyping)); // after a reset has emptied the fields
  }
  document.addEventListener("visibilitychange", seenOrPutAway);
  window.addEventListener("pagehide", () => letGo());
  window.addEventListener("pageshow", noteTyping);
  line?.addEventListener("click", (event) => event.target.closest("[data-take]") && wish());
  noteTyping();
}

function seenOrPutAway() {
  if (document.hidden) consider();
  else registration.update().catch(() => {}); // no reception: asked again the next time
}

async function noteTyping() {
  if (!halfTyped()) await letGo();
  else hold();
  consider();
}

function hold() {
  if (holding || !navigator.locks) return;
  holding = true;
  let done;
  const typing = new Promise((resolve) => (done = resolve));
  const held = navigator.locks.request(HALF_TYPED, { mode: "shared" }, () => typing);
  letGo = () => {
    holding = false;
    done();
    return held; // only then do the others, and this page, see it free
  };
}

async function consider() {
  const { active, waiting } = registration;
  if (!waiting || !active) return; // the first one of all waits for nobody
  const typed = halfTyped() || (await isHeld(HALF_TYPED));
  if (typed || !unseen()) say(typed ? "later" : "ready");
  else takeWhenSent();
}

function unseen() {
  return (document.hidden || registration.waiting === before) && !cameraIsOn();
}

function wish() {
  wished = true;
  takeWhenSent();
}

// A browser that is asked while the older worker still fetches for the page lets it rest for half a minute first.
async function takeWhenSent() {
  if (asked) return;
  asked = true;
  if (document.readyState !== "complete") await new Promise((done) => window.addEventListener("load", done));
  await new Promise((done) => setTimeout(done, 1000));
  const take = () => !halfTyped() && (wished || unseen()) && registration.waiting?.postMessage("take over");
  if (navigator.locks) await navigator.locks.request(OUTBOX, take);
  else take();
  asked = false;
}

function takenOver() {
  const first = !controlled;
  controlled = true;
  if (first) return;
  if (navigator.serviceWorker.controller === before && !drawnOffline) line?.replaceChildren();
  else if (halfTyped()) say("later");
  else loadAgain();
}

// The answer to a form is asked for as a page: to load it again would send the form again.
function loadAgain() {
  if (document.referrer === window.location.href) window.location.replace(window.location.href);
  else window.location.reload();
}

async function isHeld(name) {
  const locks = await navigator.locks?.query();
  return Boolean(locks?.held.some((lock) => lock.name === name));
}

function cameraIsOn() {
  return [...document.querySelectorAll("video")].some((video) => video.srcObject);
}

// What was refused stands in its form as if it were the page's own; its errors tell.
function halfTyped() {
  const forms = [...document.querySelectorAll("form[method=post]")];
  return forms.some((form) => form.querySelector(".invalid, .form-errors:not([hidden])") || [...form.elements].some(differs));
}

function differs(field) {
  if (field.type === "checkbox" || field.type === "radio") return field.checked !== field.defaultChecked;
  if (field.type === "file") return field.files.length > 0;
  if (field.options) return otherChoice(field);
  return "defaultValue" in field && field.type !== "hidden" && field.value !== field.defaultValue;
}

function otherChoice({ multiple, options, selectedIndex }) {
  const all = [...options];
  if (multiple) return all.some((option) => option.selected !== option.defaultSelected);
  const first = all.findIndex((option) => !option.disabled);
  const own = all.findLastIndex((option) => option.defaultSelected);
  return selectedIndex !== (own < 0 ? first : own);
}

function say(word) {
  if (!line || line.dataset.said === word) return;
  line.dataset.said = word;
  line.replaceChildren(document.querySelector(`template[data-update-words="${word}"]`).content.cloneNode(true));
}
