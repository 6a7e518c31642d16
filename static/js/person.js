// Who is at the phone: as the page says that the server drew, or else who was last signed in here. "" for nobody.

import { get } from "./db.js";

export async function person() {
  const drawn = document.querySelector("[data-person]")?.dataset.person;
  return drawn || (await get("meta", "user").catch(() => null))?.id || "";
}
