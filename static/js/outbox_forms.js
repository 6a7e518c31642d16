// Forms marked data-outbox are kept on the phone before anything is sent: a form that was tapped is never lost to a
// poor connection. Forms drawn later are heard too. Without this file they post as ordinary forms.
//
//   data-outbox-title, -about, data-subject, data-seen   see {% outbox %} in yard/templatetags/receipts.py
//   data-outbox-button="keep"   only a submit by the button of that name
//   data-page, data-then        where it can be mended; where to go when it is kept but not sent
//   data-after, data-behind     the key of what it follows; how the addresses begin of what has to be sent before it

import { get } from "./db.js";
import { recordsOf } from "./form_record.js";
import { discard, keep, mend, newKey, probe, sendAll, whenChanged } from "./outbox.js";
import { refill, showErrors } from "./outbox_mend.js";
import { say, sayThere } from "./outbox_words.js";
import { person } from "./person.js";

const ANSWER_MS = 8000;
const UPLOAD_MS = 30000;
const KEPT = "drystack-outbox"; // also the tag of background sync
const SHOWN = "drystack-refused"; // the record that the server's next page shows with its errors

let busy = new WeakSet();
const fresh = new WeakSet(); // kept and empty again: a late second tap finds nothing to keep
const keys = new WeakMap();

document.addEventListener("submit", (event) => {
  const { target: form, submitter, defaultPrevented } = event;
  const { outbox, outboxButton } = form.dataset;
  if (defaultPrevented || outbox === undefined || (outboxButton && submitter?.name !== outboxButton)) return;
  event.preventDefault();
  if (!busy.has(form) && !fresh.has(form)) take(form, submitter); // a second tap is the same form
});

document.addEventListener("input", ({ target }) => fresh.delete(target.form));

// A page that comes back as it was left has its forms free again.
window.addEventListener("pageshow", () => {
  busy = new WeakSet();
  for (const form of document.querySelectorAll("form[data-outbox][aria-busy]")) form.removeAttribute("aria-busy");
});

async function take(form, submitter) {
  busy.add(form);
  form.setAttribute("aria-busy", "true");
  try {
    const record = await kept(form, submitter);
    if (record) await send(form, submitter, record);
    else await sendUnkept(form, submitter);
  } finally {
    busy.delete(form);
    form.removeAttribute("aria-busy");
  }
}

// The record on the disk; null where this phone can't keep it (no room, a private window).
async function kept(form, submitter) {
  try {
    const user = await person();
    if (!user) return null;
    const mending = form.dataset.mending;
    const [record, ...photos] = await recordsOf(form, submitter, user, mending || undefined);
    if (mending && (await mend(mending, record.fields, { words: record.words, seen: record.seen, ...filesOf(record) }))) {
      if (photos.length) await keep(...photos);
      return record;
    }
    const again = { ...record, key: keyFor(form, record) };
    await keep(again, ...photos.map((photo) => ({ ...photo, after: again.key })));
    navigator.storage?.persist?.().catch(() => {}); // what came of it is told on the page of what waits
    return again;
  } catch {
    return null;
  }
}

// Mended without choosing the photo again, the one that was kept stays.
function filesOf({ files = [] }) {
  return files.length ? { files } : {};
}

// Sent again unaltered after going back, it is the same thing done once; altered, it is another.
function keyFor(form, { path, fields, files = [] }) {
  const content = JSON.stringify([path, fields, files.map(({ name, bytes }) => [name, bytes.byteLength])]);
  if (keys.get(form)?.content !== content) keys.set(form, { content, key: newKey() });
  return keys.get(form).key;
}

async function send(form, submitter, { key, files = [], subject }) {
  say("sending");
  const then = form.dataset.then || (subject ? `/stacks/${subject}/` : "/waiting/");
  const ended = await outcome(key, files.length ? UPLOAD_MS : ANSWER_MS);
  if (ended.note) window.location.assign(ended.note.location || then);
  else if (ended.refused) await refused(form, submitter, ended.refused);
  else stays(form, then);
}

// {note} when it has arrived, {refused} when it was not accepted, {} when neither is known in time.
function outcome(key, limit) {
  return new Promise((resolve) => {
    const look = async () => {
      const [note, record] = await Promise.all([get("arrived", key), get("outbox", key)]);
      if (note && !record) end({ note });
      else if (record?.state === "refused") end({ refused: record });
    };
    const unheard = whenChanged(() => look().catch(() => {}));
    const timer = setTimeout(() => end({}), limit);
    const end = (result) => {
      unheard();
      clearTimeout(timer);
      resolve(result);
    };
    const sent = navigator.onLine === false ? Promise.resolve() : sendAll(key);
    sent.then(look).catch(() => {}).then(() => end({}));
  });
}

// The server's own page says best what is wrong with a form of its own; else it is shown here. Until that page is
// there the record stays, refused: the connection may go just then.
async function refused(form, submitter, { key, errors, status }) {
  const isOurs = form.elements.namedItem("csrfmiddlewaretoken") && !form.dataset.mending;
  if (status !== 422) {
    window.location.assign("/waiting/");
  } else if (isOurs && !("offline" in document.documentElement.dataset)) {
    sessionStorage.setItem(SHOWN, key);
    ordinarily(form, submitter);
  } else {
    form.dataset.mending = key;
    say("");
    showErrors(form, errors);
  }
}

async function forgetShown() {
  const key = sessionStorage.getItem(SHOWN);
  if (!key || !document.querySelector(".error, .form-errors")) return;
  sessionStorage.removeItem(SHOWN);
  await discard(key);
}

function stays(form, then) {
  syncLater().catch(() => {});
  if (navigator.serviceWorker?.controller) {
    sayThere("later");
    window.location.assign(then);
  } else {
    say("later"); // without a worker no page opens without reception
    form.reset();
    fresh.add(form);
  }
}

async function syncLater() {
  const registration = await navigator.serviceWorker?.getRegistration();
  await registration?.sync?.register(KEPT);
}

async function sendUnkept(form, submitter) {
  say("unkept");
  const here = await probe();
  if (here?.id && here.id === (await person())) ordinarily(form, submitter, here.csrf);
  else say("lost");
}

// What form.submit() leaves out: the button, and on a page drawn by the phone the token and the key.
function ordinarily(form, submitter, csrf) {
  if (submitter?.name) put(form, submitter.name, submitter.value);
  if (csrf && !form.elements.namedItem("csrfmiddlewaretoken")) put(form, "csrfmiddlewaretoken", csrf);
  if (!form.elements.namedItem("key")) put(form, "key", newKey());
  HTMLFormElement.prototype.submit.call(form);
}

function put(form, name, value) {
  form.append(Object.assign(document.createElement("input"), { type: "hidden", name, value }));
}

refill(person);
forgetShown().catch(() => {});
