// The page of what waits: templates/pwa/_waiting.html, filled from the phone's own store. All words stand there.

import { arrived, discard, mend, sendable, waiting, whenChanged } from "./outbox.js";
import { send } from "./outbox_triggers.js";
import { person } from "./person.js";

const ENDINGS = ["sign_in", "offline", "failed"];
const root = document.querySelector("[data-waiting-list]");
const drawn = new Map();
let ended = "";

async function show() {
  const user = await person();
  const [records, notes] = user ? await Promise.all([waiting(user), arrived(user)]) : [[], []];
  const free = new Set(sendable(records, new Set()));
  list("waiting", records.map((record) => node(record, free, records)));
  list("arrived", notes.map((note) => arrival(note)));
  when("empty", !records.length);
  when("arrived", notes.length);
  for (const ending of ENDINGS) when(ending, records.length && ended === ending);
  root.querySelector("[data-send]").hidden = !free.size;
}

function when(name, holds) {
  root.querySelector(`[data-when="${name}"]`).hidden = !holds;
}

// Left alone where nothing changed: a question that is open stays open.
function list(name, nodes) {
  const place = root.querySelector(`[data-list="${name}"]`);
  place.hidden = !nodes.length;
  const isSame = nodes.length === place.children.length && nodes.every((each, index) => each === place.children[index]);
  if (!isSame) place.replaceChildren(...nodes);
}

function once(key, content, make) {
  const known = drawn.get(key);
  if (known?.content === content) return known.node;
  const made = make();
  drawn.set(key, { content, node: made });
  return made;
}

function node(record, free, records) {
  const { key, state, tries, errors, after } = record;
  const isFree = free.has(key);
  const waitsFor = !isFree && records.some((other) => other.key === after);
  const content = JSON.stringify([state, tries, errors, isFree, waitsFor, record.fields]);
  return once(key, content, () => item(record, state === "waiting" && !isFree && !waitsFor, waitsFor));
}

function item(record, isHeld, waitsFor) {
  const { key, page, title, about, state, words: typed, files, errors, takenAt, tries } = record;
  const made = copy("waiting", { title, about, taken: time(takenAt), last: tries > 1 ? word("tried", tries) : "" });
  mark(made, state, state === "refused" ? "warn" : "plain");
  const pairs = typed.length ? typed : files.map((file) => ["", file.name]);
  made.querySelector("[data-words]").append(...pairs.flatMap(([label, value]) => [element("dt", label), element("dd", value)]));
  const wrong = made.querySelector("[data-errors]");
  wrong.append(...Object.values(errors).flat().map((text) => element("li", text)));
  wrong.hidden = !wrong.children.length;
  made.querySelector("[data-held]").hidden = !isHeld;
  made.querySelector("[data-after]").hidden = !waitsFor;
  const link = made.querySelector("[data-mend]");
  link.hidden = state !== "refused" || files.length > 0;
  const again = made.querySelector("[data-again]"); // a photo can't be altered, but what it belongs to may be settled now
  again.hidden = state !== "refused" || !files.length;
  again.addEventListener("click", () => mend(key, record.fields).then(send));
  link.href = `${page}#mend=${key}`;
  made.querySelector("[data-discard]").addEventListener("click", () => discard(key).then(send));
  return made;
}

function arrival(note) {
  const { key, title, about, said, location, arrivedAt, sortOut } = note;
  return once(`arrived ${key}`, arrivedAt, () => {
    const made = copy("arrived", { title, about, said: said.join(" "), taken: time(arrivedAt) });
    mark(made, sortOut ? "sort_out" : "arrived", sortOut ? "warn" : "ready");
    made.querySelector("[data-open]").href = location || "/";
    return made;
  });
}

function copy(name, texts) {
  const made = root.querySelector(`template[data-item="${name}"]`).content.firstElementChild.cloneNode(true);
  for (const [part, text] of Object.entries(texts)) {
    const place = made.querySelector(`[data-${part}]`);
    place.textContent = text ?? "";
    if (!text) place.remove();
  }
  return made;
}

function mark(made, state, tone) {
  const badge = made.querySelector("[data-state]");
  badge.textContent = word(state);
  badge.classList.add(tone);
}

function word(name, number = "") {
  return root.querySelector(`template[data-words="${name}"]`).content.textContent.replace("%s", number);
}

function element(name, text) {
  return Object.assign(document.createElement(name), { textContent: text });
}

function time(iso) {
  return new Date(iso).toLocaleString(document.documentElement.lang, { dateStyle: "medium", timeStyle: "short", hourCycle: "h23" });
}

async function tellStorage() {
  const kept = await navigator.storage?.persisted?.().catch(() => undefined);
  when(kept ? "stored" : kept === false ? "spared" : "unsaid", true);
}

function refresh() {
  show().catch(() => {
    when("empty", false);
    when("unreadable", true);
  });
}

if (root) {
  whenChanged((outcome) => {
    ended = outcome || ended;
    refresh();
  });
  root.querySelector("[data-send]").addEventListener("click", send);
  refresh();
  tellStorage();
}
