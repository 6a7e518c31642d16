// Words and figures of the pages drawn on the phone, as the server's templates write them (yard/templatetags/amounts.py).
// Words come from <template data-words="name"> in #words; where a count decides, from name:one, name:other.

import { inserted } from "./offline_fill.js";

const LANGUAGE = document.documentElement.lang || "en";
const DATES = LANGUAGE === "en" ? "en-GB" : LANGUAGE; // Django's English writes 19 June as well
const COARSE_FROM_PCT = 30; // above fibre saturation not even the per cent is certain
const DAY_MS = 86_400_000;
const MINUTE_MS = 60_000;
const plural = new Intl.PluralRules(LANGUAGE);
const formats = new Map(); // dear to make, and a list asks for the same ones over and over

export function words(name, data = {}) {
  const template = document.querySelector(`#words template[data-words="${name}"]`);
  return template ? inserted(template.content.textContent, data).trim() : "";
}

export function counted(name, count) {
  return words(`${name}:${plural.select(count)}`, { count }) || words(`${name}:other`, { count });
}

function once(name, make) {
  if (!formats.has(name)) formats.set(name, make());
  return formats.get(name);
}

export function number(value, decimals) {
  const digits = { minimumFractionDigits: decimals, maximumFractionDigits: decimals };
  return once(`number ${decimals}`, () => new Intl.NumberFormat(LANGUAGE, digits)).format(value);
}

export function withUnit(value, decimals, unit) {
  return `${number(value, decimals)}\u202f${unit}`;
}

// Decimals only where there are any.
export function plain(value, unit) {
  return withUnit(value, Number.isInteger(value) ? 0 : 1, unit);
}

function decimalsOf(...values) {
  return values.every((value) => value < COARSE_FROM_PCT) ? 1 : 0;
}

export function pct(value, decimals = decimalsOf(value)) {
  return withUnit(value, decimals, "%");
}

export function pctShort(value) {
  return Number.isInteger(value) ? pct(value, 0) : pct(value);
}

export function pctBand(low, high) {
  const decimals = decimalsOf(low, high);
  return words("band", { low: number(low, decimals), high: withUnit(high, decimals, "%") });
}

// "19 June", with the year when it is another one than this. `iso` is a day without a time.
export function day(iso, today = isoToday()) {
  const year = iso.slice(0, 4) === today.slice(0, 4) ? undefined : "numeric";
  const form = once(`day ${year}`, () => new Intl.DateTimeFormat(DATES, { day: "numeric", month: "long", year }));
  return form.format(dateOf(iso));
}

export function weekday() {
  return new Intl.DateTimeFormat(DATES, { weekday: "long", day: "numeric", month: "long" }).format(new Date());
}

export function time(moment) {
  return new Intl.DateTimeFormat(DATES, { hour: "2-digit", minute: "2-digit" }).format(moment);
}

// How long ago, in the largest unit that fits: "5 minutes ago".
export function ago(moment) {
  const past = Math.max(Date.now() - moment, 0);
  const form = new Intl.RelativeTimeFormat(LANGUAGE, { numeric: "always" });
  if (past < 60 * MINUTE_MS) return form.format(-Math.round(past / MINUTE_MS), "minute");
  if (past < 2 * DAY_MS) return form.format(-Math.round(past / (60 * MINUTE_MS)), "hour");
  return form.format(-Math.round(past / DAY_MS), "day");
}

// The phone's own day, as dates are written in the copy.
export function isoToday() {
  return isoDay(new Date());
}

export function isoDay(date) {
  return [date.getFullYear(), date.getMonth() + 1, date.getDate()].map((n) => String(n).padStart(2, "0")).join("-");
}

// Noon, so that no change of the clock moves it to another day.
function dateOf(iso) {
  return new Date(`${iso}T12:00:00`);
}

export function daysBetween(first, last) {
  return Math.round((dateOf(last) - dateOf(first)) / DAY_MS);
}
