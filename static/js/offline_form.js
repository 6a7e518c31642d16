// Forms on the pages drawn on the phone: the same fields as the server's, their choices and first values from the copy.
// Sending is the outbox's affair. What is plainly lacking is said here, since the server's answer comes hours later.

import { moistureOn } from "./offline_stack.js";
import { isoToday, pctBand, words } from "./offline_words.js";
import { check, shown } from "./tagcode.js";

const METHODS = ["pins", "capacitance", "oven_dry", "sample_board"];
const ROWS_AT_ONCE = 4;
const REMEMBERED_MS = 6 * 3_600_000; // how long a wood temperature is offered again

// What the forms about a stack ask of the copy.
export function formData({ row, code, wood, state, now }, { samples }, head) {
  const place = head.places.get(row.place);
  return {
    ...methodData(samples, head),
    about: `${wood} ${shown(code)}`,
    expected: now && row.forecast && state !== "dried" && pctBand(...ends(row, head)),
    usual: place?.usual ?? "",
    places: placesFor(head, row.place, true),
    isFromKiln: place?.kind === "kiln" && !row.dried,
    samples: samples.map(([id, label, dry]) => ({ id, label, dry: Math.round(dry) })),
    inOven: samples.filter(([, , , wet]) => wet).map(([id, label, , wet]) => ({ id, label, sections: wet.map((mass, n) => ({ n: n + 1, wet: mass })) })),
  };
}

function ends({ forecast }, head) {
  const [low, , high] = moistureOn(forecast, head.copy.rules.daysAhead, isoToday());
  return [low, high];
}

// As asked for, else as this person did last, else pins.
function methodData(samples, head) {
  const asked = new URLSearchParams(location.search).get("method");
  const last = lastVisit(head).method;
  const usual = last === "sample_board" && !samples.length ? "pins" : last;
  const method = [asked, usual].find((each) => METHODS.includes(each)) ?? "pins";
  const methods = METHODS.map((key) => ({ key, label: words(`method_${key}`), current: key === method && "true" }));
  return { method, methods, [`is_${method}`]: true };
}

// How this person read last: what waits here is newer than what the copy tells.
function lastVisit({ outbox, copy }) {
  const record = outbox.findLast(({ path }) => path.includes("/readings/new/"));
  if (!record) return copy.mine ?? {};
  const { method, meter_set_to: meter, wood_temperature_c: temperature } = Object.fromEntries(record.fields);
  return { at: record.takenAt, method, meter, temperature };
}

// Places to choose from, kilns last and only where wood may be moved into one.
export function placesFor(head, but = null, withKilns = false) {
  const open = [...head.places.values()].filter((place) => place.open && place.id !== but);
  const outdoors = open.filter(({ kind }) => kind !== "kiln");
  const kilns = withKilns ? open.filter(({ kind }) => kind === "kiln") : [];
  const store = outdoors.find(({ kind }) => kind === "closed_store") ?? outdoors[0];
  return [...outdoors, ...kilns].map((place) => ({
    placeId: place.id,
    name: place.name,
    kind: words(`kind_${place.kind}`),
    isStore: place === store && "checked",
  }));
}

export function blankData(code, head) {
  const tag = code && { code, shown: shown(code), tagQuery: `?tag=${code}` };
  return { ...tag, isNew: true, places: placesFor(head), hasPlace: placesFor(head).length, today: isoToday() };
}

export function prepare(main, data, head) {
  for (const form of main.querySelectorAll("form[data-open]")) form.addEventListener("submit", open);
  for (const form of main.querySelectorAll("form[data-outbox]")) {
    form.addEventListener("submit", (event) => refuseLacking(event, data), { capture: true });
  }
  const stack = main.querySelector("form[data-new-stack]");
  if (stack) prepareStack(stack, head);
  const reading = main.querySelector("form[data-reading]");
  if (reading) prepareReading(reading, data, head);
  const sample = main.querySelector("form[data-sample]");
  if (sample) prepareSample(sample, data);
}

// The next of the stack's boards by number, after those that wait.
function prepareSample(form, { samples, waiting }) {
  const fresh = waiting.filter(({ fields }) => fields.some(([name]) => name === "green_mass_g"));
  preset(form, "label", samples.length + fresh.length + 1);
  preset(form, "made_on", isoToday());
}

// A typed code opens its page.
function open(event) {
  event.preventDefault();
  const { code } = event.target.elements;
  if (check(code.value)) location.assign(`/t/${check(code.value)}`);
  else location.assign(`/t/${encodeURIComponent(code.value.trim())}`);
}

function prepareStack(form, head) {
  form.elements.species.append(...[...head.species].map(([key, name]) => new Option(name, key)));
  const offered = { cut_on: isoToday(), ...head.copy.offered, ...lastStack(head) };
  for (const [name, value] of Object.entries(offered)) preset(form, name, value);
  form.querySelector("[data-add-lines]").addEventListener("click", () => addLines(form));
}

// What the last stack that waits here offers for the next, by the fields that the server would offer.
function lastStack({ outbox, copy }) {
  const record = outbox.findLast(({ path, fields }) => path.startsWith("/stacks/new/") && fields.length);
  const names = new Set([...copy.rules.offered, "cut_on"]);
  return Object.fromEntries((record?.fields ?? []).filter(([name]) => names.has(name)));
}

// A first value, not a typed one: a page half typed is told by what differs from these.
function preset(form, name, given) {
  const value = String(given ?? "");
  const controls = form.querySelectorAll(`[name="${name}"], [name="${name}"] option`);
  for (const control of controls) {
    if (control.tagName === "OPTION") control.defaultSelected = control.value === value;
    else if (control.type === "radio") control.defaultChecked = control.value === value;
    else control.defaultValue = value;
  }
}

function addLines(form) {
  const rows = [...form.querySelectorAll(".tally-row:not(.tally-head)")];
  for (let added = 0; added < ROWS_AT_ONCE; added += 1) {
    const row = rows[0].cloneNode(true);
    const at = rows.length + added;
    for (const input of row.querySelectorAll("input")) {
      input.value = "";
      for (const name of ["name", "id"]) input[name] = input[name].replace("-0-", `-${at}-`);
      input.setAttribute("aria-label", input.getAttribute("aria-label").replace("1", at + 1));
    }
    form.querySelector("[data-add-lines]").before(row);
  }
  form.elements.namedItem("rows").value = rows.length + ROWS_AT_ONCE;
}

function prepareReading(form, { boards, usual }, head) {
  const { wood_temperature_c: temperature, board } = form.elements;
  const last = lastVisit(head);
  if (temperature) temperature.placeholder = usual;
  if (Date.now() - new Date(last.at) < REMEMBERED_MS) preset(form, "wood_temperature_c", last.temperature);
  preset(form, "meter_set_to", last.meter);
  if (!board) return;
  const asked = new URLSearchParams(location.search).get("board");
  board.append(...boards.map(({ id, code }) => new Option(shown(code), id, code === asked, code === asked)));
  if (!boards.length) board.closest(".field").remove();
}

// data-need="one": at least one of the fields; data-need="code": a tag that leads to a stack of this charge;
// data-need="fields": each of those that data-fields names; data-need="share": how much of one defect.
function refuseLacking(event, data) {
  const form = event.target;
  const lacking = LACKS[form.dataset.need]?.(form, data, event.submitter);
  const said = form.querySelector("[data-lacking]");
  if (said) said.textContent = lacking || "";
  if (!lacking) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  said.scrollIntoView({ block: "center" });
}

const LACKS = {
  one: (form) => (typed(form, ".field :is(input:not([type=checkbox]), textarea, select)").length ? "" : words("lacking")),
  share: (form) => (form.querySelector(".shares :checked") ? "" : words("lacking_share")),
  fields: (form) => {
    const empty = form.dataset.fields.split(" ").find((name) => !new FormData(form).get(name));
    return empty ? words("lacking_field", { label: labelOf(form, empty) }) : "";
  },
  boards: (form) => {
    const empty = ["species", "thickness_mm", "cut_on", "place"].find((name) => !form.elements.namedItem(name).value);
    if (empty) return words("lacking_field", { label: labelOf(form, empty) });
    return typed(form, ".tally input").length ? "" : words("lacking_boards");
  },
  code: (form, { codes, leads, notHere }, button) => {
    const code = check(button?.value || form.querySelector("input[name=code]").value);
    if (!code) return words("no_code");
    const stack = leads(code);
    form.dataset.subject = stack; // what is sent is the tag that was read; what it is about is the stack
    return codes.includes(stack) ? "" : notHere(stack);
  },
};

function typed(form, which) {
  const beside = ["taken_on", "wood_temperature_c", "board"];
  return [...form.querySelectorAll(which)].filter(({ type, value, name }) => type !== "hidden" && !beside.includes(name) && value.trim());
}

function labelOf(form, name) {
  const field = form.querySelector(`[name="${name}"]`).closest(".field");
  return field.querySelector("label, legend").firstChild.data.trim();
}
