// The what-ifs that were asked with reception, drawn from the tables that the phone kept of them.

import { get } from "./db.js";
import { ago, plain, words } from "./offline_words.js";

export async function whatIfData() {
  const kept = (await get("meta", "whatif").catch(() => null)) ?? [];
  const asked = new URLSearchParams(location.search);
  return { kept: kept.map((table) => tableData(table, asked)), none: !kept.length };
}

function tableData({ wood, woodName, place, placeName, target, start, reachable, times, keptAt }, asked) {
  const isAsked = asked.get("wood") === wood && Number(asked.get("place")) === place;
  const wanted = (isAsked && Number(asked.get("thickness"))) || 27;
  const distance = ([mm]) => Math.abs(mm - wanted);
  const nearest = times.reduce((best, each) => (distance(each) < distance(best) ? each : best));
  const query = new URLSearchParams({ wood, place, month: asked.get("month") ?? "1", target });
  if (start != null) query.set("start", start);
  return {
    title: `${woodName}, ${placeName}, ${plain(target, "%")}`,
    from: start == null ? "" : plain(start, "%"),
    age: ago(keptAt),
    reachable: plain(Math.round(reachable * 10) / 10, "%"),
    mm: plain(nearest[0], "mm"),
    sizes: times.map(([mm]) => ({ size: plain(mm, "mm"), query: `${query}&thickness=${mm}`, here: mm === nearest[0] && "true" })),
    months: nearest[1].map(monthData),
  };
}

function monthData([low, middle, high], index) {
  const month = new Date(2001, index, 15).toLocaleDateString(document.documentElement.lang || "en", { month: "long" });
  const open = high == null ? words("tool_or_more", { low }) : words("band", { low, high });
  return { month, about: middle ?? "–", band: low == null ? "–" : open };
}
