// What was recorded here and waits: kept in IndexedDB, sent in order as the forms' own posts, and removed only against
// the server's receipt. No DOM: it runs in a page and in the service worker alike.

import { all, asked, change, get, look } from "./db.js";

const CLIENT = "1"; // version of what is sent; the server takes each one for a stated time
const ANSWER_MS = 8000;
const UPLOAD_MS = 90000;
const ARRIVED_KEPT = 50;
const AWAY = new Set([0, 200, 408, 425, 429, 502, 503, 504]); // says nothing against the record: all of them wait
const NAME = "drystack-outbox";

const channel = "BroadcastChannel" in globalThis ? new BroadcastChannel(NAME) : null;
const listeners = new Set();
const live = new Set(); // keys whose page waits for the answer and shows what the server says
let running = null;
let wanted = false;

// Keeps records, all of them or none, and resolves when they are on the disk. Rejects where they can't be kept.
// Given: user, path, fields, title, about, words, page; perhaps key, files, after, behind, subject, seen.
export async function keep(...records) {
  const kept = records.map((record) => ({
    key: newKey(),
    files: [],
    after: null,
    subject: "",
    seen: "",
    takenAt: new Date().toISOString(),
    tries: 0,
    state: "waiting",
    errors: {},
    ...record,
  }));
  await change(["outbox", "meta"], async (stores) => {
    let order = (await asked(stores.meta.get("order"))) ?? (await lastOrder(stores.outbox));
    for (const record of kept) {
      const before = await asked(stores.outbox.get(record.key)); // kept again, it stays in its place
      stores.outbox.put(Object.assign(record, { order: before?.order ?? ++order }));
    }
    stores.meta.put(order, "order");
  });
  tell();
  return kept;
}

// crypto.randomUUID is missing on plain http, where a yard's own network may well run.
export function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const text = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return text.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}

// The counter is lost with the copy of the yard; what waits still tells it.
async function lastOrder(outbox) {
  const records = await asked(outbox.getAll());
  return Math.max(0, ...records.map((record) => record.order));
}

// One person's records, in the order they were made.
export async function waiting(user) {
  const records = await all("outbox");
  return records.filter((record) => record.user === user).sort((a, b) => a.order - b.order);
}

export async function arrived(user) {
  const notes = await all("arrived");
  return notes.filter((note) => note.user === user).sort((a, b) => b.arrivedAt.localeCompare(a.arrivedAt));
}

// Takes a record out for good, and what has no address without it (a photo of the stack that was never made).
export async function discard(key) {
  await change(["outbox"], async ({ outbox }) => {
    const records = await asked(outbox.getAll());
    const gone = new Set([key]);
    for (const record of records.sort((a, b) => a.order - b.order)) {
      if (gone.has(record.after) && !record.path) gone.add(record.key);
    }
    for (const each of gone) outbox.delete(each);
  });
  tell();
}

// What was refused, as it is now typed. A refusal left no receipt, so the key stays, and its place in the order.
export async function mend(key, fields, more = {}) {
  const mended = await altered(key, () => ({ ...more, fields, state: "waiting", errors: {} }));
  tell();
  return mended;
}

async function altered(key, alteration) {
  return change(["outbox"], async ({ outbox }) => {
    const record = await asked(outbox.get(key));
    if (!record) return null; // discarded meanwhile
    outbox.put(Object.assign(record, alteration(record)));
    return record;
  });
}

// Calls back after each change, in this page or another: with how the last sending ended, when that is what changed.
// Answers with the function that ends it.
export function whenChanged(callback) {
  listeners.add(callback);
  return () => listeners.delete(callback);
}

function tell(outcome = "") {
  channel?.postMessage(outcome);
  for (const callback of listeners) callback(outcome);
}

if (channel) {
  channel.onmessage = (message) => {
    for (const callback of listeners) callback(message.data);
  };
}

// Sends what can be sent. Resolves with how it ended: sent, offline, sign_in, failed. One tab at a time; what is
// asked for while a sending ends begins another one.
export function sendAll(liveKey = "") {
  if (liveKey) live.add(liveKey);
  wanted = true;
  running ??= sendWhileWanted();
  return running;
}

async function sendWhileWanted() {
  try {
    let outcome;
    do {
      wanted = false;
      outcome = await (navigator.locks ? navigator.locks.request(NAME, sendInOrder) : sendInOrder());
    } while (wanted);
    tell(outcome);
    return outcome;
  } finally {
    running = null;
  }
}

async function sendInOrder() {
  if (!(await look(["outbox"], (stores) => asked(stores.outbox.count())))) return "sent";
  const here = await probe();
  if (!here) return "offline";
  if (!here.id) return "sign_in";
  const failed = new Set();
  let isSending = true;
  while (isSending) {
    isSending = false;
    for (const key of sendable(await waiting(here.id), failed)) {
      const record = await get("outbox", key); // as it is now: what came before may have altered or taken it
      if (record?.state !== "waiting") continue;
      const outcome = await sendOne(record, here);
      if (outcome === "offline" || outcome === "sign_in") return outcome;
      if (outcome === "failed") failed.add(key);
      isSending = true;
      if (outcome !== "sent") break; // what may follow is another question now
    }
  }
  return failed.size ? "failed" : "sent";
}

// Keys in the order of sending: photos last; nothing before what it comes after or stands behind (earlier ones of the
// addresses that begin so), nor past an earlier figure of the same stack that was refused or has just failed.
export function sendable(records, failed) {
  const here = new Set(records.map((record) => record.key));
  const stuck = new Map();
  for (const { key, order, state, subject, files } of records) {
    const isStuck = state === "refused" || failed.has(key);
    if (isStuck && subject && !files.length) stuck.set(subject, Math.min(order, stuck.get(subject) ?? order));
  }
  const isBehind = ({ behind, order }) => behind && records.some((one) => one.order < order && one.path.startsWith(behind));
  const free = records.filter(
    (record) =>
      record.state === "waiting" &&
      !failed.has(record.key) &&
      !here.has(record.after) &&
      !isBehind(record) &&
      !(record.order > stuck.get(record.subject)),
  );
  const photos = free.filter((record) => record.files.length);
  return [...free.filter((record) => !record.files.length), ...photos].map((record) => record.key);
}

// Whether the yard itself answers, as whom, and the token for its forms. A café's sign-in page can't say this.
export async function probe() {
  const { told } = await answer("/probe", { cache: "no-store" }, ANSWER_MS);
  return told?.drystack === "here" ? told : null;
}

async function answer(path, options, limit) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), limit);
  try {
    const response = await fetch(path, { credentials: "same-origin", ...options, signal: stop.signal });
    return { status: response.status, told: await response.json().catch(() => null) };
  } catch {
    return { status: 0, told: null };
  } finally {
    clearTimeout(timer);
  }
}

async function sendOne(record, here) {
  let given = await post(record, here);
  if (given.status === 401 || given.status === 403) {
    const now = await probe();
    if (now?.id !== record.user) return now ? "sign_in" : "offline";
    given = await post(record, now); // the token had changed, as it does on signing in
  }
  live.delete(record.key);
  const { status, told } = given;
  if (status === 200 && told?.receipt === record.key) return arrive(record, told);
  if (status >= 400 && status < 500 && !AWAY.has(status) && told?.errors) return refuse(record, told.errors, status);
  await altered(record.key, ({ tries }) => ({ tries: tries + 1, lastTry: new Date().toISOString() }));
  return AWAY.has(status) ? "offline" : "failed";
}

function post(record, here) {
  const options = { method: "POST", headers: headers(record, here), body: body(record) };
  return answer(record.path, options, record.files.length ? UPLOAD_MS : ANSWER_MS);
}

function headers(record, here) {
  return {
    "Idempotency-Key": record.key,
    "X-CSRFToken": here.csrf,
    "X-Drystack-Outbox": live.has(record.key) ? "live" : "1",
    "X-Drystack-Client": CLIENT,
    "X-Drystack-User": record.user,
    "X-Drystack-Taken-At": record.takenAt,
    "X-Drystack-Sent-At": new Date().toISOString(),
    "X-Drystack-After": record.after ?? "",
    "X-Drystack-Seen": record.seen,
  };
}

function body(record) {
  const form = record.files.length ? new FormData() : new URLSearchParams();
  for (const [name, value] of record.fields) form.append(name, value);
  form.append("outbox_words", JSON.stringify(record.words ?? []));
  for (const { field, name, type, bytes } of record.files) form.append(field, new Blob([bytes], { type }), name);
  return form;
}

// The record goes and its receipt is noted in one transaction; what hangs on it learns its address.
async function arrive(record, told) {
  await change(["outbox", "arrived"], async ({ outbox, arrived: notes }) => {
    outbox.delete(record.key);
    notes.put(receipt(record, told));
    for (const child of await asked(outbox.getAll())) {
      if (child.after === record.key && !child.path) outbox.put({ ...child, path: photosOf(told.location, record) });
    }
    const old = (await asked(notes.getAll())).sort((a, b) => b.arrivedAt.localeCompare(a.arrivedAt));
    for (const note of old.slice(ARRIVED_KEPT)) notes.delete(note.key);
  });
  tell();
  return "sent";
}

function receipt({ key, user, title, about }, { said = [], location = "", sort_out: sortOut = false }) {
  return { key, user, title, about, said, location, arrivedAt: new Date().toISOString(), sortOut };
}

function photosOf(location, record) {
  const [stack] = /^\/(stacks|charges)\/[^/?#]+\//.exec(location ?? "") ?? [`/stacks/${record.subject || "-"}/`];
  return `${stack}photos/`;
}

async function refuse(record, errors, status) {
  await altered(record.key, ({ tries }) => ({
    state: "refused",
    status,
    errors,
    tries: tries + 1,
    lastTry: new Date().toISOString(),
  }));
  tell();
  return "refused";
}
