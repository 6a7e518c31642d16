// Tag codes as yard/models/tagcode.py knows them; a test in the browser compares the two.

const ALPHABET = "23456789ABCDEFGHJKMNPQRSTUVWXYZ";
const VALUES = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"; // ISO 7064 MOD 37-2: a character's place is its value
const LENGTH = 10;
const COULD_BE = { 0: "DQ", O: "DQ", 1: "7T", I: "JT", L: "EJ" }; // what one may have misread; never put right unasked
const FILLER = /[_\u2212\p{Zs}\p{Pd}\p{Cc}\p{Cf}]/gu;

// The bare code in capitals, out of what was typed or scanned; judges nothing.
export function normalise(text) {
  const capitals = text.normalize("NFKC").toUpperCase();
  const address = /\/T\/([^/?#]*)/.exec(capitals);
  return (address ? address[1] : capitals).replace(FILLER, "");
}

// ISO 7064 MOD 37-2: the running sum, doubled before each character, must end at 1.
function sound(code) {
  let sum = 0;
  for (const character of code) sum = (sum * 2 + VALUES.indexOf(character)) % 37;
  return sum === 1;
}

// The normalised code, or null where it is none.
export function check(text) {
  const code = normalise(text);
  const known = code.length === LENGTH && [...code].every((character) => ALPHABET.includes(character));
  return known && sound(code) ? code : null;
}

// Why a text is no code: {kind: "character", character, letters}, {kind: "length", count} or {kind: "check"}.
export function fault(text) {
  const code = normalise(text);
  const character = [...code].find((each) => !ALPHABET.includes(each));
  if (character) return { kind: "character", character, letters: [...(COULD_BE[character] ?? "")] };
  return code.length === LENGTH ? { kind: "check" } : { kind: "length", count: [...code].length };
}

// The code as shown to people, in groups of 3, 3 and 4.
export function shown(code) {
  return [code.slice(0, 3), code.slice(3, 6), code.slice(6)].join("\u202f");
}
