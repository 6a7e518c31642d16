// Keeps a copy of the yard on the phone: fetched on the pages of someone who is signed in, by what changed since the last
// time. The copy is one person's: it goes when another signs in, or when nobody is signed in any more.

import { change, forgetCopy, look, asked } from "./db.js";
import { keepDrawings } from "./drawings.js";

const FRESH_MS = 30_000;
const SOON_MS = 1500; // after something was sent: the receipts of a round come close together
const KEPT_IN_META = ["species", "places", "offered", "mine", "rules", "tools", "barred"];

let timer = 0;

// Who the page was made for; null where no such page is open, as offline.
function reader() {
  const meta = document.querySelector('meta[name="drystack-user"]');
  return meta && { id: meta.content, name: meta.dataset.name };
}

async function refresh(soonest = FRESH_MS) {
  const user = reader();
  if (!user) return;
  const kept = await known();
  if (kept.user && kept.user.id !== user.id) await forgetCopy();
  const copy = kept.user?.id === user.id ? kept.copy : null;
  if (user.id && !(copy && isFresh(copy, soonest))) await bring(user, copy);
}

function known() {
  return look(["meta"], async ({ meta }) => {
    const [user, copy] = [asked(meta.get("user")), asked(meta.get("copy"))];
    return { user: await user, copy: await copy };
  });
}

function isFresh(copy, soonest) {
  const age = Date.now() - copy.fetchedAt;
  return age >= 0 && age < soonest; // below 0 the clock was put back meanwhile
}

async function bring(user, copy) {
  const address = `/copy/?since=${encodeURIComponent(copy?.cursor ?? "")}`;
  const answer = await fetch(address, { cache: "no-store", redirect: "manual", priority: "low" });
  if (answer.type === "opaqueredirect" || answer.status === 401) return forgetCopy(); // no longer signed in
  if (!answer.ok) return;
  const news = await answer.json();
  if (news.user.id !== user.id) return;
  const kept = head(news, copy);
  await write(news, kept);
  if (news.more) return bring(user, kept);
  await keepDrawings(user);
}

// All of an answer in one transaction, so that no page is ever drawn from half of it. The first copy of a large yard comes
// in several.
function write(news, kept) {
  return change(["stacks", "boards", "tags", "charges", "meta"], (stores) => {
    if (news.whole) for (const name of ["stacks", "boards", "tags", "charges"]) stores[name].clear();
    for (const code of news.blank) stores.tags.put({ code });
    for (const row of news.stacks) taken(stores, "stacks", row);
    if (news.boards) stores.boards.clear();
    for (const row of news.boards ?? []) taken(stores, "boards", row);
    for (const [code, to, since] of news.replaced ?? []) led(stores, { code, to, since });
    for (const [code, into] of news.joined ?? []) led(stores, { code, into });
    for (const code of news.gone) {
      stores.stacks.delete(code);
      stores.boards.delete(code);
      if (!news.joined?.some(([from]) => from === code)) stores.tags.delete(code);
    }
    if (news.charges) stores.charges.clear();
    for (const row of news.charges ?? []) stores.charges.put(row);
    stores.meta.put(news.user, "user");
    stores.meta.put(kept, "copy");
  });
}

// A tag that hangs on something is blank no longer.
function taken(stores, name, row) {
  stores[name].put(row);
  stores.tags.delete(row.code);
}

// A tag that leads on: its stack goes by another code now.
function led(stores, row) {
  stores.tags.put(row);
  stores.stacks.delete(row.code);
}

function head(news, before) {
  const parts = KEPT_IN_META.filter((name) => name in news).map((name) => [name, news[name]]);
  const { cursor, asOf } = news;
  return { ...(news.whole ? {} : before), ...Object.fromEntries(parts), cursor, asOf, fetchedAt: Date.now() };
}

function start(soonest) {
  const go = () => refresh(soonest).catch((reason) => console.info("The copy of the yard:", reason.message));
  if (navigator.locks) navigator.locks.request("drystack-copy", go); // one tab at a time; the next finds it fresh
  else go();
}

start(document.querySelector("#messages")?.childElementCount ? 0 : FRESH_MS); // something was just done here
window.addEventListener("pageshow", (event) => event.persisted && start());
window.addEventListener("online", () => start());
document.addEventListener("visibilitychange", () => document.hidden || start());
if ("BroadcastChannel" in window) {
  new BroadcastChannel("drystack-outbox").addEventListener("message", () => {
    clearTimeout(timer);
    timer = setTimeout(() => start(SOON_MS), SOON_MS);
  });
}
