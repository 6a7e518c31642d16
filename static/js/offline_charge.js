// A charge as the copy has it, and over it what waits to be sent: loading, the start, the run, its closing, unloading.

import { drawings } from "./drawings.js";
import { placesFor } from "./offline_form.js";
import { shownStack } from "./offline_stack.js";
import { ago, day, daysBetween, isoDay, isoToday, time, words } from "./offline_words.js";
import { allCharges, charge, charges, found, inWords, typedSize, ways } from "./offline_yard.js";
import { check, shown } from "./tagcode.js";

// `code` names one of its stacks, where the page is about that.
export async function chargeData(key, head, page, code) {
  const kept = await charge(key);
  if (!kept) return { page: "elsewhere" };
  const [open, { leads, stands }, { [kept.id]: drawing }] = await Promise.all([charges(), ways(), drawings()]);
  if (page === "drawing" && !drawing) return { page: "elsewhere" };
  const last = lastSaid(kept, head.outbox, leads);
  const all = await Promise.all(kept.stacks.map((item) => shownItem(item, last.get(item.code), kept, head)));
  const start = startOf(kept, head);
  const isDone = kept.state === "done";
  const isOut = kept.state === "drying" || (Boolean(start) && !isDone);
  const items = isOut ? all.filter((item) => item.in) : all; // what is not in when it starts stays outside
  const done = items.filter((item) => (isOut ? item.out : item.in));
  const told = {
    ...kept,
    kiln: kept.name,
    state: words(`state_${isOut ? "drying" : kept.state}`),
    isRunning: isOut,
    hasRun: isOut || isDone,
    startWaits: start && words("start_waits", { day: day(isoDay(new Date(start.takenAt))), time: time(new Date(start.takenAt)) }),
    after: start?.key,
    nth: isOut && daysBetween(isoDay(new Date(start?.takenAt ?? kept.began)), isoToday()) + 1,
    codes: kept.stacks.map((item) => item.code),
    leads,
    notHere: (text) => notHere(text, open, stands),
    isLoaded: !isOut && !isDone,
    isOpen: page === (isOut ? "unloading" : "loading") && !isDone,
    drawing: drawing?.html,
    drawn: drawing && drawnSaid(drawing),
    looks: looksAt(kept, items, head),
    waiting: inWords(head.outbox.filter((record) => isOf(kept, record))),
    places: placesFor(head),
    items,
    wood: [...new Set(items.map((item) => item.wood))].join(", "),
    left: items.filter((item) => !(isOut ? item.out : item.in)),
    done,
    doneCount: done.length,
    all: items.length,
    waitingCount: done.filter((item) => item.waits).length,
  };
  if (!code) return told;
  const one = items.find((item) => item.code === leads(check(code)));
  return one ? { ...told, ...one, about: `${one.wood} ${one.shown}` } : { page: "elsewhere" };
}

export function startOf({ id }, { outbox }) {
  return outbox.find(({ path }) => path === `/charges/${id}/start/`);
}

// The second look at one stress test, by its number or by the key of the form that told it.
export async function testData(key, head, page) {
  const action = `/charges/${key}/`;
  for (const { id } of await allCharges()) {
    const told = await chargeData(id, head, page);
    const looks = told.looks.filter((look) => look.action === action);
    if (looks.length) return { ...told, looks };
  }
  return { page: "elsewhere" };
}

// Prongs that are to be looked at again: those the yard knows, and those whose cutting still waits here.
function looksAt({ id, tests }, items, { outbox }) {
  const known = tests.map((one) => ({ ...one, action: `/charges/stress-tests/${one.test}/` }));
  const cut = outbox.filter(({ path, fields }) => path.startsWith(`/charges/${id}/stress/?`) && !valueOf(fields, "rested_mm"));
  const fresh = cut.filter(({ fields }) => valueOf(fields, "kind") === "prong").map(({ key, takenAt, fields }) => ({
    after: key,
    action: `/charges/${id}/stress/${key}/`,
    code: valueOf(fields, "stack"),
    on: isoDay(new Date(takenAt)),
    prong: typedSize(Object.fromEntries(fields), "prong_mm"),
    fresh: typedSize(Object.fromEntries(fields), "fresh_mm"),
  }));
  return [...known, ...fresh].map((one, look) => ({
    ...one,
    look,
    on: day(one.on),
    wood: items.find(({ code }) => code === one.code)?.wood,
    shown: shown(one.code),
    isSeen: outbox.some(({ path, state }) => path === one.action && state === "waiting"),
  }));
}

function valueOf(fields, wanted) {
  return fields.find(([name]) => name === wanted)?.[1] ?? "";
}

function isOf({ id, tests }, { path }) {
  return path.startsWith(`/charges/${id}/`) || tests.some(({ test }) => path === `/charges/stress-tests/${test}/`);
}

function drawnSaid({ at }) {
  return words("drawn", { day: day(isoDay(new Date(at))), time: time(at), age: ago(at) });
}

// What this phone has last said of each stack and not sent yet, and by which tag: in, back or out.
function lastSaid({ id }, outbox, leads) {
  const said = { [`/charges/${id}/loading/`]: "in", [`/charges/${id}/loading/back/`]: "back", [`/charges/${id}/unloading/`]: "out" };
  const mine = outbox.filter(({ path }) => said[path]);
  return new Map(mine.map(({ path, subject, fields }) => [leads(subject), { said: said[path], tag: tagOf(fields) }]));
}

function tagOf(fields) {
  const [, code = ""] = fields.findLast(([name, value]) => name === "code" && value) ?? [];
  return check(code);
}

// Whose a stack is that is none of this charge's.
function notHere(code, open, stands) {
  const other = open.find(({ stacks }) => stacks.some((each) => each.code === code));
  if (other) return words("of_charge", { shown: shown(code), kiln: other.name, day: day(other.start) });
  return words(stands.has(code) ? "not_in_charge" : "not_in_copy", { shown: shown(code) });
}

async function shownItem(item, { said, tag } = {}, { id }, head) {
  const { stack } = await found(item.code, head);
  const by = tag && tag !== item.code && words("by_tag", { tag: shown(tag) });
  const isOut = said === "out" || item.out;
  const is = { in: said === "in" || isOut || (item.in && said !== "back"), out: isOut };
  const row = stack ?? { code: item.code };
  const waits = (page) => head.outbox.some(({ path }) => path === `/charges/${id}/${page}/${item.code}/`);
  const ends = { isMeasured: waits("closing"), isGraded: waits("degrade") };
  return { ...shownStack(row, head), ...item, ...is, ...ends, id, by, waits: said && words("waits") };
}
