// On the page of a what-if that was answered: keeps its table on the phone, for where there is no reception. It goes with
// the copy of the yard, since it names the yard's places.

import { asked, change } from "./db.js";

const MOST = 12;

async function keep(address) {
  const answer = await fetch(address, { redirect: "manual", priority: "low" });
  if (!answer.ok) return;
  const table = { ...(await answer.json()), keptAt: Date.now() };
  await change(["meta"], async ({ meta }) => {
    const kept = (await asked(meta.get("whatif"))) ?? [];
    const others = kept.filter((each) => ["wood", "place", "target", "start"].some((name) => each[name] !== table[name]));
    meta.put([table, ...others].slice(0, MOST), "whatif");
  });
}

const script = document.querySelector("script[data-keep]");
if (script) keep(script.dataset.keep).catch((reason) => console.info("The what-if is not kept:", reason.message));
