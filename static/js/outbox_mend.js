// Mending what was refused: its page is opened with #mend=KEY, the form is filled with what was typed, and what was
// wrong stands at its fields. The form may be drawn later, by the phone's own pages.

import { get } from "./db.js";

const MEND = /^#mend=([0-9a-f-]+)$/;
const WAIT_MS = 3000;

export async function refill(person) {
  const [, key] = MEND.exec(window.location.hash) ?? [];
  const record = key && (await get("outbox", key).catch(() => null));
  if (!record || record.user !== (await person())) return;
  const form = await found(document, () => formOf(record), 15000);
  if (!form) return;
  form.dataset.mending = key;
  await makeRoom(form, record.fields);
  fill(form, record.fields);
  showErrors(form, record.errors);
}

function formOf(record) {
  const path = (address) => new URL(address, window.location.href).pathname;
  const forms = [...document.querySelectorAll("form[data-outbox]")];
  const same = forms.filter((form) => path(form.getAttribute("action") ?? "") === path(record.path));
  return same.find((form) => isVisible(form)) ?? same[0];
}

function isVisible(form) {
  return [...form.elements].some((control) => control.type !== "hidden" && control.tagName !== "BUTTON");
}

// Lines of the tally that were added come back by the form's own button for more of them.
async function makeRoom(form, fields) {
  for (let tries = 0; tries < 9 && lacking(form, fields); tries += 1) {
    const more = form.querySelector("button[name=more]");
    if (!more) return;
    const before = form.elements.length;
    more.click();
    await found(form, () => form.elements.length > before, WAIT_MS);
  }
}

function lacking(form, fields) {
  return fields.some(([name, value]) => value && /\d/.test(name) && !form.elements.namedItem(name));
}

function found(root, look, limit) {
  const now = look();
  if (now) return Promise.resolve(now);
  return new Promise((resolve) => {
    const end = (result) => {
      watcher.disconnect();
      clearTimeout(timer);
      resolve(result);
    };
    const watcher = new MutationObserver(() => look() && end(look()));
    const timer = setTimeout(() => end(null), limit);
    watcher.observe(root, { childList: true, subtree: true });
  });
}

function fill(form, fields) {
  const typed = new Map();
  for (const [name, value] of fields) typed.set(name, [...(typed.get(name) ?? []), value]);
  for (const control of form.elements) {
    if (!control.name || control.type === "file" || control.tagName === "BUTTON") continue;
    const values = typed.get(control.name) ?? [];
    if (["radio", "checkbox"].includes(control.type)) control.checked = values.includes(control.value);
    else if (values.length && (control.type !== "hidden" || control.name === "method")) control.value = values.shift();
    control.dispatchEvent(new Event("input", { bubbles: true }));
  }
}

// What was wrong, at its fields and above them, as the server draws it (components/field.html, form_errors.html).
export function showErrors(form, errors) {
  for (const old of form.querySelectorAll("[data-outbox-error]")) old.remove();
  const whole = [];
  for (const [name, texts] of Object.entries(errors)) {
    const control = name && [form.elements.namedItem(name)].flatMap((one) => (one instanceof RadioNodeList ? [...one] : one))[0];
    if (control && control.type !== "hidden") mark(control, texts);
    else whole.push(...texts);
  }
  if (whole.length) form.prepend(listed(whole));
  for (const folded of form.querySelectorAll("details:has(.invalid)")) folded.open = true;
  (form.querySelector(".invalid :is(input, select, textarea)") ?? form.querySelector("[data-outbox-error]"))?.focus();
  form.querySelector("[data-outbox-error]")?.scrollIntoView({ block: "nearest" }); // not under the keypad
}

function mark(control, texts) {
  const field = control.closest(".field, .tally-row") ?? control.parentElement;
  const line = Object.assign(document.createElement("p"), { className: "error", textContent: texts.join(" ") });
  line.id = `outbox-error-${control.name}`;
  line.dataset.outboxError = "";
  field.classList.add("invalid");
  field.append(line);
  control.setAttribute("aria-invalid", "true");
  control.setAttribute("aria-describedby", line.id);
}

function listed(texts) {
  const list = document.createElement("ul");
  list.className = "form-errors";
  list.dataset.outboxError = "";
  list.tabIndex = -1;
  list.setAttribute("role", "alert");
  list.append(...texts.map((text) => Object.assign(document.createElement("li"), { textContent: text })));
  return list;
}
