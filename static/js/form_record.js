// What a form holds, as records for the outbox: its fields, the words that a person reads beside them, its photos.

import { newKey } from "./outbox.js";
import { packed } from "./photo_shrink.js";

const NOT_CONTENT = new Set(["csrfmiddlewaretoken", "key"]);
const PHOTOS = "/photos/"; // an address that takes photos alone

// The form's record first, under the key if one is given; then one for each photo that goes on its own, after it.
export async function recordsOf(form, submitter, user, key = newKey()) {
  const entries = [...new FormData(form)].filter(([name]) => !NOT_CONTENT.has(name));
  if (submitter?.name) entries.push([submitter.name, submitter.value]);
  const fields = entries.filter(([, value]) => typeof value === "string");
  const chosen = entries.filter(([, value]) => value instanceof File && value.size);
  const files = await Promise.all(chosen.map(([name, file]) => packed(name, file)));
  const record = { ...about(form, user), key, fields, words: words(form, submitter) };
  record.subject ||= typedCode(fields);
  if (record.path.endsWith(PHOTOS)) return [{ ...record, files }];
  return [record, ...files.map((file) => photo(form, record, file))];
}

function about(form, user) {
  const address = new URL(form.getAttribute("action") || window.location.href, window.location.href);
  const { outboxTitle: title, outboxAbout, subject = "", seen = "", page, after = null, behind } = form.dataset;
  return {
    user,
    path: address.pathname + address.search,
    page: page || window.location.pathname + window.location.search,
    title,
    about: outboxAbout || text(document.querySelector("header .sub")),
    subject,
    seen,
    after,
    behind,
  };
}

function typedCode(fields) {
  const [, code = ""] = fields.findLast(([name, value]) => name === "code" && value) ?? []; // a button may say it after an empty input
  return code.toUpperCase().replace(/[^0-9A-Z]/g, "");
}

// Its address is known when the record before it has arrived.
function photo(form, { key: after, user, about: what, subject, page }, file) {
  const title = labelOf(form.elements.namedItem(file.field));
  return { key: newKey(), user, path: "", page, title, about: what, subject, after, fields: [], files: [file], words: [] };
}

function words(form, submitter) {
  const shown = [...form.elements].filter(isTyped).map((control) => [labelOf(control), valueOf(control)]);
  if (submitter?.name && submitter.name !== form.dataset.outboxButton) shown.push(["", text(submitter)]);
  return shown.filter(([, value]) => value);
}

function isTyped(control) {
  if (!control.name || control.disabled || ["hidden", "submit", "button"].includes(control.type)) return false;
  return !["radio", "checkbox"].includes(control.type) || control.checked;
}

function valueOf(control) {
  if (control.type === "radio") return text(control.labels[0]);
  if (control.type === "checkbox") return "✓";
  if (control.type === "file") return control.files[0]?.name ?? "";
  if (control.tagName === "SELECT") return control.value && text(control.selectedOptions[0]);
  return control.value.trim();
}

function labelOf(control) {
  if (control.type === "radio") return text(control.closest("fieldset")?.querySelector("legend"));
  return control.getAttribute("aria-label") || text(control.labels?.[0]) || control.name;
}

function text(element) {
  if (!element) return "";
  const copy = element.cloneNode(true);
  for (const extra of copy.querySelectorAll(".visually-hidden, .optional, small")) extra.remove();
  return copy.textContent.replace(/\s+/g, " ").trim();
}
