// The copy of the yard as the pages drawn on the phone ask for it. Reads only; static/js/copy.js writes it.

import { all, asked, get, look } from "./db.js";
import { waiting } from "./outbox.js";

const NEW_STACK = "/stacks/new/";
const FEW = 4; // of what was typed: enough to know it again; the page of what waits shows all

// Whose copy it is, its small parts, and what this person has waiting; `copy` is missing where none was fetched.
export async function yardHead() {
  const [user, copy] = await look(["meta"], ({ meta }) =>
    Promise.all([asked(meta.get("user")), asked(meta.get("copy"))]),
  );
  const outbox = user ? await waiting(user.id) : [];
  const named = (rows) => new Map(rows ?? []);
  return { user, copy, outbox, species: named(copy?.species), places: named(copy?.places?.map((one) => [one.id, one])) };
}

// What a code is on this phone: {stack}, {board}, {blank}, {replaced}, or nothing where the copy does not know it.
export async function found(code, head, joined = false) {
  const [stack, board, tag] = await look(["stacks", "boards", "tags"], ({ stacks, boards, tags }) =>
    Promise.all([stacks, boards, tags].map((store) => asked(store.get(code)))),
  );
  if (stack) return { stack, joined };
  if (board) return { board };
  const fresh = newStack(code, head);
  if (fresh) return { stack: fresh };
  if (tag?.into) return found(tag.into, head, true);
  if (tag?.to) return { replaced: tag };
  return tag ? { blank: tag } : {};
}

// A stack that was made here and waits to be sent, as far as its form tells it.
function newStack(code, { outbox }) {
  const record = outbox.find(({ path, subject }) => subject === code && path.startsWith(NEW_STACK));
  if (!record) return null;
  const typed = Object.fromEntries(record.fields);
  const figure = (name) => Number(String(typed[name] ?? "").replace(",", ".")) || undefined;
  const sizes = { size: typedSize(typed, "thickness_mm"), entry: figure("kiln_entry_pct"), target: figure("target_pct") };
  const keys = { species: Number(typed.species), place: Number(typed.place) };
  return { code, ...keys, ...sizes, sawn: typed.cut_on, note: typed.note, isWaiting: true };
}

// A size with the unit in which this phone's form took it.
export function typedSize(typed, name) {
  return typed[name] && `${typed[name]}\u202f${typed.units ? "in" : "mm"}`;
}

// What waits for one stack, with what it says in words.
export function waitingFor(code, { outbox }) {
  return inWords(outbox.filter(({ subject }) => subject === code));
}

export function inWords(records) {
  return records.map((record) => ({ ...record, said: inShort(record.words ?? []) }));
}

function inShort(typed) {
  const values = typed.map(([, value]) => value);
  return values.slice(0, FEW).join(", ") + (values.length > FEW ? " …" : "");
}

const MOST_TURNS = 9; // from a tag to its stack; codes that lead in a circle end here

// leads(code) -> the code of the stack that any tag leads to: a board's own, a replaced one, one of a stack that was
// joined into another; stands: the codes of all stacks. Asked at once, since a form can't wait while it is sent.
export async function ways() {
  const [boards, tags, codes] = await look(["boards", "tags", "stacks"], (stores) =>
    Promise.all([asked(stores.boards.getAll()), asked(stores.tags.getAll()), asked(stores.stacks.getAllKeys())]),
  );
  const next = new Map([...tags.map(({ code, to, into }) => [code, to ?? into]), ...boards.map(({ code, stack }) => [code, stack])]);
  const leads = (code, turns = MOST_TURNS) => (turns && next.get(code) ? leads(next.get(code), turns - 1) : code);
  return { leads, stands: new Set(codes) };
}

export function stacks() {
  return all("stacks");
}

// Those planned or in the kiln; all are also those that were unloaded lately.
export async function charges() {
  return (await allCharges()).filter(({ state }) => state !== "done");
}

export function allCharges() {
  return all("charges");
}

export function charge(key) {
  return get("charges", Number(key));
}

export async function boardsOf(code) {
  return (await all("boards")).filter((board) => board.stack === code);
}
