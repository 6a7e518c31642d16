// Today and the list of all stacks, drawn from the copy.

import { startOf } from "./offline_charge.js";
import { filled } from "./offline_fill.js";
import { dueNow, shownStack, stateNow, woodOf } from "./offline_stack.js";
import { day, isoToday, weekday, words } from "./offline_words.js";
import { allCharges, stacks } from "./offline_yard.js";
import { normalise } from "./tagcode.js";

const FEW = 5;
const MANY = 50;
const RANKS = { ready: 0, drying: 0, unknown: 1, late: 2, in_kiln: 3, dried: 4, never: 5 };

export async function todayData(_key, head) {
  const [rows, open] = await Promise.all([ranked(head), allCharges()]);
  const ready = rows.filter(({ state, row }) => state === "ready" && !row.for);
  const due = rows.filter(({ isDue }) => isDue);
  const first = (found) => found.slice(0, FEW).map(({ row }) => shownStack(row, head));
  return {
    today: weekday(),
    waiting: head.outbox.length,
    charges: open.map((one) => chargeAsks(one, head)),
    ready: first(ready),
    readyMore: ready.length > FEW && ready.length,
    due: first(due),
    dueMore: due.length > FEW && due.length,
    isQuiet: !ready.length && !due.length,
  };
}

function chargeAsks({ id, name, state: known, start, m3, stacks: items }, head) {
  const out = items.filter((item) => item.out).length;
  const state = known !== "done" && startOf({ id }, head) ? "drying" : known;
  const isLoading = state === "loading" || (state === "planned" && start <= isoToday());
  const isUnloading = state === "drying" && out > 0;
  const isRunning = state === "drying" && !out;
  const done = isUnloading ? out : items.filter((item) => item.in).length;
  const told = { state: words(`state_${state}`), day: day(start), all: items.length, volume: m3 };
  return { id, name, isLoading, isUnloading, isRunning, asks: isLoading || isUnloading || isRunning, done, ...told };
}

// The nearest ready first, in kilns by place, as the server lists them; those due a reading before them where that was
// asked for.
async function ranked(head, isDueFirst = false) {
  const today = isoToday();
  const rows = (await stacks()).map((row) => {
    const state = stateNow(row, head, today);
    const rank = RANKS[state] ?? 3;
    const by = rank ? rank === 3 && head.places.get(row.place)?.name : row.forecast.ready[1];
    return { row, state, isDue: dueNow(row, state, head, today), rank, by };
  });
  const due = (one) => (isDueFirst && !one.isDue ? 1 : 0);
  return rows.sort(
    (a, b) => due(a) - due(b) || a.rank - b.rank || compare(a.by, b.by) || compare(a.row.code, b.row.code),
  );
}

function compare(a, b) {
  return a < b ? -1 : Number(a > b);
}

export async function listData(_key, head) {
  const isDueFirst = new URLSearchParams(location.search).get("due") === "on";
  const rows = await ranked(head, isDueFirst);
  return { rows, count: rows.length, dueFirst: isDueFirst && "true", readyFirst: !isDueFirst && "true" };
}

// The search and the list below it; a screenful at a time, for a yard may have thousands.
export function startList(main, { rows }, head) {
  const list = main.querySelector("[data-stacks]");
  if (!list) return;
  const template = list.querySelector("template");
  const search = main.querySelector("[data-search]");
  const more = main.querySelector("[data-more]");
  let most = MANY;
  const show = () => {
    const hits = rows.filter(({ row }) => matches(row, search.value.trim(), head));
    const items = hits.slice(0, most).map(({ row }) => filled(template, shownStack(row, head)));
    list.replaceChildren(template, ...items);
    more.hidden = hits.length <= most;
    main.querySelector("[data-none]").hidden = hits.length > 0;
  };
  search.addEventListener("input", show);
  more.addEventListener("click", () => {
    most += MANY;
    show();
  });
  show();
}

function matches(row, text, head) {
  if (!text) return true;
  const code = normalise(text);
  const said = [woodOf(row, head), row.note, row.for].join(" ").toLowerCase();
  return said.includes(text.toLowerCase()) || (code && row.code.includes(code));
}
