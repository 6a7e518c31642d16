// Checking stacks in and out of a kiln: the charge as the copy has it, and over it what waits to be sent.

import { placesFor } from "./offline_form.js";
import { shownStack } from "./offline_stack.js";
import { withUnit, words } from "./offline_words.js";
import { charge, found } from "./offline_yard.js";

export async function chargeData(key, head, page) {
  const kept = await charge(key);
  if (!kept) return { page: "elsewhere" };
  const last = lastSaid(kept, head.outbox);
  const items = await Promise.all(kept.stacks.map((item) => shownItem(item, last.get(item.code), kept, head)));
  const isOut = kept.state === "drying";
  const done = items.filter((item) => (isOut ? item.out : item.in));
  return {
    ...kept,
    kiln: kept.name,
    isRunning: isOut,
    codes: kept.stacks.map((item) => item.code),
    isOpen: page === (isOut ? "unloading" : "loading"),
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

// What this phone has last said of each stack and not sent yet: in, back or out.
function lastSaid({ id }, outbox) {
  const ways = { [`/charges/${id}/loading/`]: "in", [`/charges/${id}/loading/back/`]: "back", [`/charges/${id}/unloading/`]: "out" };
  const said = outbox.filter(({ path }) => ways[path]).map(({ path, subject }) => [subject, ways[path]]);
  return new Map(said);
}

async function shownItem(item, said, { id }, head) {
  const { stack } = await found(item.code, head);
  const is = { in: said === "in" || (item.in && said !== "back"), out: said === "out" || item.out };
  const row = stack ?? { code: item.code };
  return { ...shownStack(row, head), ...item, ...is, id, m3: withUnit(item.m3, 2, "m³"), waits: said && words("waits") };
}
