// Checking stacks in and out of a kiln: the charge as the copy has it, and over it what waits to be sent.

import { drawings } from "./drawings.js";
import { placesFor } from "./offline_form.js";
import { shownStack } from "./offline_stack.js";
import { ago, day, isoDay, time, withUnit, words } from "./offline_words.js";
import { charge, charges, found, ways } from "./offline_yard.js";
import { check, shown } from "./tagcode.js";

export async function chargeData(key, head, page) {
  const kept = await charge(key);
  if (!kept) return { page: "elsewhere" };
  const [open, { leads, stands }, { [kept.id]: drawing }] = await Promise.all([charges(), ways(), drawings()]);
  if (page === "drawing" && !drawing) return { page: "elsewhere" };
  const last = lastSaid(kept, head.outbox, leads);
  const items = await Promise.all(kept.stacks.map((item) => shownItem(item, last.get(item.code), kept, head)));
  const isOut = kept.state === "drying";
  const done = items.filter((item) => (isOut ? item.out : item.in));
  return {
    ...kept,
    kiln: kept.name,
    isRunning: isOut,
    codes: kept.stacks.map((item) => item.code),
    leads,
    notHere: (code) => notHere(code, open, stands),
    isLoaded: !isOut,
    isOpen: page === (isOut ? "unloading" : "loading"),
    drawing: drawing?.html,
    drawn: drawing && drawnSaid(drawing),
    places: placesFor(head),
    items,
    wood: [...new Set(items.map((item) => item.wood))].join(", "),
    left: items.filter((item) => !(isOut ? item.out : item.in)),
    done,
    doneCount: done.length,
    all: items.length,
    waitingCount: done.filter((item) => item.waits).length,
  };
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
  const is = { in: said === "in" || (item.in && said !== "back"), out: said === "out" || item.out };
  const row = stack ?? { code: item.code };
  return { ...shownStack(row, head), ...item, ...is, id, m3: withUnit(item.m3, 2, "m³"), by, waits: said && words("waits") };
}
