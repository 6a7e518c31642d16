// What waits, in each page's header: how much, and whether a person has to do something about it.

import { waiting, whenChanged } from "./outbox.js";
import { begin } from "./outbox_triggers.js";
import { sayWhatWasLeft, words } from "./outbox_words.js";
import { person } from "./person.js";

let ended = "";

async function show() {
  const link = document.querySelector("[data-waiting-count]");
  const user = link && (await person());
  if (!user) return;
  const records = await waiting(user);
  const refused = records.filter((record) => record.state === "refused").length;
  const parts = [count("refused", refused), count("waiting", records.length - refused)];
  if (records.length > refused && ended === "sign_in") parts.push(words("sign_in"));
  const line = parts.filter(Boolean).join(" · ");
  if (link.textContent === line) return; // a status said twice is a nuisance
  link.hidden = !line;
  link.textContent = line;
  link.classList.toggle("warn", Boolean(refused) || parts.length > 2);
}

function count(name, number) {
  return number ? words(name).replace("%s", number) : "";
}

whenChanged((outcome) => {
  ended = outcome || ended;
  show().catch(() => {}); // a browser that keeps nothing has nothing waiting
});
show().catch(() => {});
sayWhatWasLeft();
begin();
