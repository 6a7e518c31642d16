// A calculator without reception: reads the form that the offline page drew, checks it as yard/forms/figures.py does,
// computes, and shows the answer. The address holds the figures, here too.

import { get } from "./db.js";
import { inserted } from "./offline_fill.js";
import { withUnit, words } from "./offline_words.js";
import { AIR_TOOLS, Refused } from "./tools_air.js";
import { WOOD_TOOLS } from "./tools_wood.js";

export const TOOLS = { ...AIR_TOOLS, ...WOOD_TOOLS };

const NUMBER = /^[+-]?(\d+\.?\d*|\.\d+)$/;
const root = document.querySelector("[data-tool]");
const form = root?.querySelector("form");
let tables = null;

const signed = (value) => String(Math.round(value * 1000) / 1000).replace("-", "−");

// What one field means; throws a Refused with words of its own where it means nothing.
function read(control) {
  const { least, most, unit, else: otherwise } = control.dataset;
  const text = control.value.trim();
  if (least === undefined) {
    if (!text && control.required) throw new Refused(control.name, words("tool_choose"));
    return text;
  }
  if (!text && otherwise !== undefined) return Number(otherwise);
  if (!text && !control.required) return null;
  const limits = { least: signed(Number(least)), most: signed(Number(most)), unit };
  const plain = text.replace(",", ".").replace("−", "-");
  const value = NUMBER.test(plain) ? Number(plain) : NaN;
  if (Number.isNaN(value)) throw new Refused(control.name, words("tool_number", limits));
  if (value < Number(least) || value > Number(most)) {
    throw new Refused(control.name, words("tool_range", { ...limits, value: signed(value) }));
  }
  return value;
}

function controls() {
  return [...form.elements].filter(({ name }) => name);
}

function reckon() {
  const given = {};
  const wrong = [];
  for (const control of controls()) {
    clear(control);
    try {
      given[control.name] = read(control);
    } catch (refused) {
      wrong.push(refused);
    }
  }
  const answer = wrong.length ? null : answerTo(given, wrong);
  for (const each of wrong) tell(each);
  show(answer);
  if (wrong.length) form.elements[wrong[0].field].focus();
}

function answerTo(given, wrong) {
  try {
    return TOOLS[root.dataset.tool](given, tables);
  } catch (refused) {
    if (!(refused instanceof Refused)) throw refused;
    wrong.push(refused);
    return null;
  }
}

function clear(control) {
  control.removeAttribute("aria-invalid");
  control.closest(".field").classList.remove("invalid");
  control.closest(".field").querySelector(".error")?.remove();
}

// A code has its words in the page; what has no code is words already.
function tell({ field, code, figures }) {
  const control = form.elements[field];
  const kept = root.querySelector(`template[data-refusal="${code}"]`);
  const shown = Object.fromEntries(Object.entries(figures).map(([name, value]) => [name, signed(Math.round(value * 10) / 10)]));
  const line = Object.assign(document.createElement("p"), { className: "error", id: `${control.id}_error` });
  line.textContent = kept ? inserted(kept.content.textContent, shown) : code;
  control.closest(".control").after(line);
  control.closest(".field").classList.add("invalid");
  control.setAttribute("aria-invalid", "true");
  control.setAttribute("aria-describedby", line.id);
}

function show(answer) {
  root.querySelector("[data-answer]").hidden = !answer;
  if (!answer) return;
  for (const out of root.querySelectorAll("[data-out]")) {
    const { out: name, decimals, unit } = out.dataset;
    const value = answer.figures[name];
    out.textContent = value == null ? "" : withUnit(rounded(value, Number(decimals)), Number(decimals), unit);
    const together = out.tagName === "DD" ? [out, out.previousElementSibling] : [out.parentElement];
    for (const each of together) each.hidden = value == null;
  }
  for (const note of root.querySelectorAll("[data-note]")) note.hidden = !answer.notes?.includes(note.dataset.note);
  root.querySelector("[data-answer]").scrollIntoView({ block: "nearest" });
}

// Never "-0".
function rounded(value, decimals) {
  return Number(value.toFixed(decimals)) || 0;
}

async function start() {
  tables = (await get("meta", "copy").catch(() => null))?.tools;
  const woods = form.querySelector("[data-woods]");
  if (woods && !tables) {
    form.replaceWith(Object.assign(document.createElement("p"), { className: "lead", textContent: words("tool_needs_copy") }));
    return;
  }
  woods?.append(...tables.woods.map(([key, name]) => new Option(name, key)));
  const asked = new URLSearchParams(location.search);
  for (const control of controls()) if (asked.has(control.name)) control.value = asked.get(control.name);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    history.replaceState(null, "", `?${new URLSearchParams(new FormData(form))}`);
    reckon();
  });
  if (location.search) reckon();
}

if (form) start();
