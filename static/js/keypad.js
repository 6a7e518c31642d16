// A big keypad over plain inputs. Without this file the inputs work as they are; with it the keys write into the same
// inputs, so what is sent, validated and typed on a real keyboard stays the same.
//
//   <input data-keypad-input="many">   several values, parted by spaces; shown as chips
//   <input data-keypad-input="one">    one value; Next goes to the next input
//   data-keypad-signed                 may be below zero
//   components/keypad.html             the keys, in the same form

import { current, dropLast, dropValue, flipSign, nextValue, typeCharacter, values } from "./keypad_text.js";

const DECIMAL = (1.5).toLocaleString(document.documentElement.lang || "en").charAt(1);

class Keypad {
  constructor(pad) {
    this.pad = pad;
    this.inputs = [...pad.closest("form").querySelectorAll("[data-keypad-input]")];
    this.source = this.inputs.find((input) => input.dataset.keypadInput === "many");
    if (this.inputs.length) this.start();
  }

  start() {
    for (const input of this.inputs) {
      input.inputMode = "none"; // our keys replace the phone's; a real keyboard still types
      input.addEventListener("focus", () => this.choose(input));
      input.addEventListener("input", () => this.show());
    }
    this.pad.querySelector('[data-key="decimal"]').textContent = DECIMAL;
    this.pad.addEventListener("click", (event) => this.press(event.target.closest("[data-key]")?.dataset.key));
    if (this.source) this.makeChips();
    this.pad.hidden = false;
    this.choose(this.inputs.find((input) => input.autofocus) ?? this.inputs[0]);
  }

  makeChips() {
    this.chips = document.createElement("ul");
    this.chips.className = "chips";
    this.chips.setAttribute("aria-label", this.pad.dataset.chips);
    this.chips.addEventListener("click", (event) => this.remove(event.target.closest("[data-index]")));
    (this.source.closest(".control") ?? this.source).after(this.chips);
  }

  get many() {
    return this.input.dataset.keypadInput === "many";
  }

  choose(input) {
    this.input = input;
    this.pad.querySelector('[data-key="sign"]').disabled = !("keypadSigned" in input.dataset);
    this.show();
  }

  press(key) {
    if (!key) return;
    if (key === "next") this.next();
    else this.write(this.after(key));
  }

  after(key) {
    const text = this.input.value;
    if (key === "delete") return dropLast(text);
    if (key === "sign") return flipSign(text);
    return typeCharacter(text, key === "decimal" ? DECIMAL : key, DECIMAL);
  }

  next() {
    if (this.many) this.write(nextValue(this.input.value));
    else this.inputs[(this.inputs.indexOf(this.input) + 1) % this.inputs.length].focus();
  }

  write(text) {
    if (text === this.input.value) return;
    this.input.value = text;
    this.input.dispatchEvent(new Event("input", { bubbles: true }));
  }

  remove(chip) {
    if (!chip) return;
    this.choose(this.source);
    this.write(dropValue(this.source.value, Number(chip.dataset.index)));
    this.source.focus(); // the chip that had the focus is gone
  }

  show() {
    if (!this.chips) return;
    const open = current(this.source.value);
    const all = values(this.source.value);
    const shown = all.length > 1 ? all : []; // a single value is plain to see in the input itself
    this.chips.replaceChildren(...shown.map((value, index) => this.chip(value, index, open && index === all.length - 1)));
    this.chips.scrollLeft = this.chips.scrollWidth;
  }

  chip(value, index, open) {
    const item = document.createElement("li");
    const button = document.createElement("button");
    button.type = "button";
    button.dataset.index = index;
    button.textContent = value;
    button.setAttribute("aria-label", this.pad.dataset.remove.replace("%s", value));
    item.classList.toggle("open", Boolean(open));
    item.append(button);
    return item;
  }
}

export function start(root) {
  for (const pad of root.querySelectorAll("[data-keypad]")) new Keypad(pad);
}

start(document);
