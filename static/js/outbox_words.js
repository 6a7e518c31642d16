// What the outbox says to a person, in the words of components/waiting.html; here or on the page that follows.

const NEXT = "drystack-said";

export function words(name) {
  return document.querySelector(`template[data-outbox-words="${name}"]`)?.content.textContent.trim() ?? "";
}

// In the page's messages; one at a time, "" for none.
export function say(name) {
  const place = document.getElementById("messages");
  place?.querySelector("[data-outbox-said]")?.remove();
  if (!name || !place) return;
  const line = document.createElement("p");
  line.dataset.outboxSaid = name;
  line.className = name === "lost" || name === "unkept" ? "warning" : "success";
  line.textContent = words(name);
  place.append(line);
  if (line.className === "warning") line.scrollIntoView({ block: "center" });
}

export function sayThere(name) {
  try {
    sessionStorage.setItem(NEXT, name);
  } catch {
    // not said, but kept all the same
  }
}

export function sayWhatWasLeft() {
  try {
    const name = sessionStorage.getItem(NEXT);
    sessionStorage.removeItem(NEXT);
    if (name) say(name);
  } catch {
    // a browser that keeps nothing
  }
}
