// What-ifs that were asked with reception: the page of an answer keeps its table on the phone, and the offline page draws
// it. It goes with the copy of the yard, since it names the yard's places.

import { asked, change, get } from "./db.js";
import { ago } from "./offline_words.js";

const MOST = 12;

async function keep(address) {
  const table = await (await fetch(address, { redirect: "error", priority: "low" })).json();
  await change(["meta"], async ({ meta }) => {
    const others = ((await asked(meta.get("whatif"))) ?? []).filter(({ key }) => key !== table.key);
    meta.put([{ ...table, keptAt: Date.now() }, ...others].slice(0, MOST), "whatif");
  });
}

export async function whatIfData() {
  const kept = (await get("meta", "whatif").catch(() => null)) ?? [];
  return { kept: kept.map(tableData), none: !kept.length };
}

function tableData({ sizes, asked: first, keptAt, ...table }) {
  const here = sizes.find(({ query }) => location.search === `?${query}`) ?? sizes[first];
  const all = sizes.map((each) => ({ ...each, here: each === here && "true" }));
  return { ...table, ...here, sizes: all, age: ago(keptAt) };
}

const address = document.querySelector("script[data-keep]")?.dataset.keep;
if (address) keep(address).catch((reason) => console.info("The what-if is not kept:", reason.message));
