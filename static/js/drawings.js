// Keeps the drawings of the loads in hand beside the copy of the yard, so that they can be looked at in the kiln: each
// as the server drew it, with the moment. They go with the copy.

import { all, asked, change, look } from "./db.js";

const DAY_MS = 86_400_000;
const AHEAD_MS = 7 * DAY_MS; // charges that are loaded later are not in hand yet

// By charge: {of, at, html}; `of` are the codes that it names, after its language.
export function drawings() {
  return look(["meta"], ({ meta }) => asked(meta.get("drawings"))).then((kept) => kept ?? {});
}

export async function keepDrawings(user) {
  const [charges, kept] = await Promise.all([all("charges"), drawings()]);
  const found = {};
  for (const charge of charges.filter(isInHand)) {
    const fit = await drawn(charge, kept[charge.id]);
    if (fit) found[charge.id] = fit;
  }
  await change(["meta"], async ({ meta }) => {
    const owner = await asked(meta.get("user"));
    if (owner?.id === user.id) meta.put(found, "drawings"); // else the copy was forgotten meanwhile
  });
}

function isInHand({ state, start }) {
  return state !== "done" && (state !== "planned" || new Date(start) - Date.now() < AHEAD_MS);
}

// The kept one where it still fits, else a new one, else none.
async function drawn({ id, stacks }, old) {
  const of = [document.documentElement.lang, ...stacks.map(({ code }) => code)].join();
  const fits = old?.of === of;
  if (fits && Date.now() - old.at < DAY_MS) return old;
  const options = { cache: "no-store", redirect: "manual", priority: "low" };
  const answer = await fetch(`/charges/${id}/drawing/?part=1`, options).catch(() => ({}));
  return answer.ok ? { of, at: Date.now(), html: await answer.text() } : fits && old;
}
