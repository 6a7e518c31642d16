// Signing out with things waiting: says so first. They stay on the phone, unseen by whoever signs in next, until the
// same person signs in again. The copy of the yard goes.

import { forgetCopy } from "./db.js";
import { waiting } from "./outbox.js";
import { person } from "./person.js";

document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (!form.matches("form[data-sign-out]")) return;
  event.preventDefault();
  const left = await person().then(waiting).catch(() => []);
  if (left.length && event.submitter?.name !== "anyway") return warn(form, left.length);
  await forgetCopy().catch(() => {}); // a browser that keeps nothing has no copy
  HTMLFormElement.prototype.submit.call(form);
});

function warn(form, number) {
  const step = form.querySelector("template[data-left-behind]").content.cloneNode(true);
  const line = step.querySelector("p");
  line.textContent = line.textContent.replace("%s", number);
  form.replaceChildren(...form.querySelectorAll("input"), step);
  form.querySelector("a").focus();
}
