// The calculators on a phone. Without reception: reads the form that the offline page drew, checks it as
// yard/forms/figures.py does, reckons, and shows the answer; the address holds the figures here too. A what-if needs the
// server: with reception its table is kept, to be drawn without; it goes with the copy, since it names the yard's places.

import { asked, change, get } from "./db.js";
import { ago, withUnit, words } from "./offline_words.js";
import { refuse, Refused, TOOLS } from "./tools_reckon.js";

const MOST_KEPT = 12;

// `tables` come with the copy of the yard, and may be lacking with it.
export function start(root, tables) {
  const form = root.querySelector("form");
  const woods = form.querySelector("[data-woods]");
  if (woods && !tables) {
    form.textContent = words("tool_needs_copy");
    return;
  }
  woods?.append(...Object.entries(tables.woods).map(([key, { name }]) => new Option(name, key)));
  const fields = [...form.elements].filter(({ name }) => name);
  const query = new URLSearchParams(location.search);
  for (const field of fields) field.value = query.get(field.name) ?? field.value;
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    history.replaceState(null, "", `?${new URLSearchParams(new FormData(form))}`);
    reckon(root, fields, tables);
  });
  if (location.search) reckon(root, fields, tables);
}

function reckon(root, fields, tables) {
  const refused = {};
  const attempt = (work) => {
    try {
      return work();
    } catch (reason) {
      if (!(reason instanceof Refused)) throw reason;
      refused[reason.field] = said(reason, fields.find(({ name }) => name === reason.field).dataset);
    }
  };
  const given = Object.fromEntries(fields.map((field) => [field.name, attempt(() => read(field))]));
  const isWhole = !Object.keys(refused).length;
  show(root, isWhole && attempt(() => TOOLS[root.dataset.tool]({ ...given, wood: tables?.woods[given.wood] }, tables)));
  for (const field of fields) tell(field, refused[field.name]);
  fields.find(({ name }) => refused[name])?.focus();
}

// What a field means: a figure, a choice, or null for nothing said.
function read({ name, value, required, dataset: { least, most, unit, else: otherwise, per = 1, zero = 0 } }) {
  if (!least) return value || !required ? value : refuse(name, "choose");
  if (!value.trim() && !required) return otherwise ? otherwise * per + +zero : null;
  const text = value.trim().replace(",", ".").replace("−", "-");
  const [, whole = 0, top, under] = /^(?:(\d+)[ -]+)?(\d+)\/(\d+)$/.exec(text) ?? [];
  const figure = under ? +whole + top / under : text ? Number(text) : NaN;
  return figure >= least && figure <= most ? figure * per + +zero : refuse(name, "number", { least, most, unit });
}

function said({ code, figures }, { per = 1, zero = 0 }) {
  const shown = Object.entries(figures).map(([name, value]) => [name, value === "" || isNaN(value) ? value : signed((value - zero) / per)]);
  return words(`refused_${code}`, Object.fromEntries(shown));
}

function signed(value) {
  return String(Math.round(value * 10) / 10).replace("-", "−");
}

function tell(control, text) {
  const field = control.closest(".field");
  field.querySelector(".error")?.remove();
  field.classList.toggle("invalid", !!text);
  control.setAttribute("aria-invalid", !!text);
  if (!text) return;
  const line = Object.assign(document.createElement("p"), { className: "error", id: `${control.id}_error`, textContent: text });
  control.setAttribute("aria-describedby", line.id);
  field.append(line);
}

function show(root, answer) {
  const place = root.querySelector("[data-answer]");
  place.hidden = !answer;
  if (!answer) return;
  const [figures, notes = []] = answer;
  for (const out of place.querySelectorAll("[data-out]")) {
    const { out: name, decimals, unit, per = 1, zero = 0 } = out.dataset;
    const value = figures[name] == null ? null : (figures[name] - zero) / per;
    out.textContent = value == null ? "" : withUnit(Number(value.toFixed(decimals)) || 0, decimals, unit); // never "-0"
  }
  for (const note of place.querySelectorAll("[data-note]")) note.hidden = !notes.includes(note.dataset.note);
  place.scrollIntoView({ block: "nearest" });
}

async function keep(address) {
  const table = await (await fetch(address, { redirect: "error", priority: "low" })).json();
  await change(["meta"], async ({ meta }) => {
    const others = ((await asked(meta.get("whatif"))) ?? []).filter(({ key }) => key !== table.key);
    meta.put([{ ...table, keptAt: Date.now() }, ...others].slice(0, MOST_KEPT), "whatif");
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
if (address) keep(address).catch(() => {}); // the answer is on the page; the table is a comfort
