// A calculator without reception: reads the form that the offline page drew, checks it as yard/forms/figures.py does,
// reckons, and shows the answer. The address holds the figures here too.

import { get } from "./db.js";
import { inserted } from "./offline_fill.js";
import { withUnit, words } from "./offline_words.js";
import { refuse, Refused, TOOLS } from "./tools_reckon.js";

const NUMBER = /^[+-]?(\d+\.?\d*|\.\d+)$/;
const root = document.querySelector("[data-tool]");
const form = root.querySelector("form");
const fields = [...form.elements].filter(({ name }) => name);
const signed = (value) => String(value).replace("-", "−");
let tables = null;

// What a field means: a figure, a choice, or null for nothing said.
function read({ name, value, required, dataset: { least, most, unit, else: otherwise } }) {
  if (least === undefined) return value || !required ? value : refuse(name, words("tool_choose"));
  if (!value.trim() && !required) return otherwise === undefined ? null : Number(otherwise);
  const text = value.trim().replace(",", ".").replace("−", "-");
  const figure = NUMBER.test(text) ? Number(text) : NaN;
  if (figure >= Number(least) && figure <= Number(most)) return figure;
  return refuse(name, words("tool_number", { least: signed(least), most: signed(most), unit }));
}

function reckon() {
  const refused = {};
  const attempt = (work) => {
    try {
      return work();
    } catch (reason) {
      if (!(reason instanceof Refused)) throw reason;
      refused[reason.field] = said(reason);
    }
  };
  const given = Object.fromEntries(fields.map((field) => [field.name, attempt(() => read(field))]));
  const isWhole = !Object.keys(refused).length;
  show(isWhole && attempt(() => TOOLS[root.dataset.tool](given, tables)));
  for (const field of fields) tell(field, refused[field.name]);
  form.querySelector("[aria-invalid=true]")?.focus();
}

// A code has its words in the page; what has none is words already.
function said({ code, figures }) {
  const shown = Object.entries(figures).map(([name, value]) => [name, signed(Math.round(value * 10) / 10)]);
  const kept = root.querySelector(`[data-refusal="${code}"]`);
  return kept ? inserted(kept.content.textContent, Object.fromEntries(shown)) : code;
}

function tell(control, text) {
  const field = control.closest(".field");
  field.querySelector(".error")?.remove();
  field.classList.toggle("invalid", Boolean(text));
  control.setAttribute("aria-invalid", Boolean(text));
  if (!text) return;
  const line = Object.assign(document.createElement("p"), { className: "error", id: `${control.id}_error`, textContent: text });
  control.setAttribute("aria-describedby", line.id);
  field.append(line);
}

function show(answer) {
  const place = root.querySelector("[data-answer]");
  place.hidden = !answer;
  if (!answer) return;
  const [figures, notes = []] = answer;
  for (const out of place.querySelectorAll("[data-out]")) {
    const { out: name, decimals, unit } = out.dataset;
    const rounded = figures[name] && Number(figures[name].toFixed(decimals));
    out.textContent = figures[name] == null ? "" : withUnit(rounded || 0, decimals, unit); // never "-0"
  }
  for (const note of place.querySelectorAll("[data-note]")) note.hidden = !notes.includes(note.dataset.note);
  place.scrollIntoView({ block: "nearest" });
}

async function start() {
  tables = (await get("meta", "copy").catch(() => null))?.tools;
  const woods = form.querySelector("[data-woods]");
  if (woods && !tables) {
    form.textContent = words("tool_needs_copy");
    return;
  }
  woods?.append(...tables.woods.map(([key, name]) => new Option(name, key)));
  const asked = new URLSearchParams(location.search);
  for (const field of fields) field.value = asked.get(field.name) ?? field.value;
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    history.replaceState(null, "", `?${new URLSearchParams(new FormData(form))}`);
    reckon();
  });
  if (location.search) reckon();
}

start();
