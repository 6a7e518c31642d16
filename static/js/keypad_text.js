// What a key does to the text of an input: plain functions from text to text. Values are parted by blanks.

export function values(text) {
  return text.split(/[\s;]+/).filter(Boolean);
}

// The value still being typed: empty once a blank follows it.
export function current(text) {
  return /[^\s;]*$/.exec(text)[0];
}

function withCurrent(text, value) {
  return text.slice(0, text.length - current(text).length) + value;
}

export function typeCharacter(text, character, decimal) {
  const value = current(text);
  if (character !== decimal) return text + character;
  if (value.includes(decimal)) return text; // one decimal sign a value
  return value === "" || value === "-" ? `${text}0${decimal}` : text + decimal;
}

export function nextValue(text) {
  const value = current(text);
  return value === "" || value === "-" ? text : `${text} `;
}

// Deletes a character, and the blank before it when it was the last one of its value.
export function dropLast(text) {
  return text.trimEnd() === text ? text.slice(0, -1) : text.trimEnd();
}

export function flipSign(text) {
  const value = current(text);
  return withCurrent(text, value.startsWith("-") ? value.slice(1) : `-${value}`);
}

export function dropValue(text, index) {
  const rest = values(text).filter((value, place) => place !== index);
  return rest.length ? `${rest.join(" ")} ` : "";
}
