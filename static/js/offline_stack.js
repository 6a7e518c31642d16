// A stack of the copy in words and figures, as its page on the server says it (yard/outlook/standing.py and
// yard/templatetags/readiness.py): the state follows from the copy and from the phone's day.

import { counted, day, daysBetween, isoDay, isoToday, pct, pctBand, pctShort, words } from "./offline_words.js";
import { shown } from "./tagcode.js";

const WET_PCT = 30;
const TONES = { ready: "ready", never: "warn", late: "warn" };
const UNDER_WAY = new Set(["ready", "drying", "late", "never"]);

// What lists and pages show of a stack. `head` is what offline_yard.js has of the copy.
export function shownStack(row, head) {
  const today = isoToday();
  const place = head.places.get(row.place);
  const state = stateOf(row, place, today);
  const now = moistureNow(row, state, head.copy.rules, today);
  return {
    row,
    state,
    now,
    code: row.code,
    shown: shown(row.code),
    wood: woodOf(row, head),
    place: place?.name ?? "",
    pct: now && pct(now[1]),
    band: now && now[0] !== null && pctBand(now[0], now[2]),
    readAge: readAge(row, today),
    isDue: isDue(row, state, head.copy.rules, today),
    for: row.for,
    m3: row.m3,
    ...badgeOf(row, state, now, today),
  };
}

export function woodOf(row, head) {
  const name = head.species.get(row.species) ?? words("unknown_wood");
  const capital = name.charAt(0).toUpperCase() + name.slice(1);
  return row.size ? `${capital} ${row.size}` : capital;
}

function stateOf(row, place, today) {
  if (row.isWaiting) return "waiting";
  if (place?.kind === "kiln") return "in_kiln";
  if (row.dried) return "dried";
  if (!row.forecast) return "unknown";
  const [, middle] = row.forecast.ready;
  if (middle && middle <= today) return "ready";
  if (row.forecast.never) return "never";
  return middle ? "drying" : "late";
}

// P10, P50, P90 by the forecast under way; of a stack dried in the kiln what was read since.
function moistureNow(row, state, { daysAhead }, today) {
  if (UNDER_WAY.has(state)) return moistureOn(row.forecast, daysAhead, today);
  const isReadSince = state === "dried" && row.read && isoDay(new Date(row.read[0])) >= row.dried;
  return isReadSince ? [null, row.read[1], null] : null;
}

export function moistureOn({ from, pct: points }, daysAhead, today) {
  const at = Math.min(Math.max(daysBetween(from, today), daysAhead[0]), daysAhead.at(-1));
  const after = Math.max(daysAhead.findIndex((ahead) => ahead >= at), 1);
  const part = (at - daysAhead[after - 1]) / (daysAhead[after] - daysAhead[after - 1]);
  return points[after].map((value, index) => points[after - 1][index] + part * (value - points[after - 1][index]));
}

export function stateNow(row, head, today) {
  return stateOf(row, head.places.get(row.place), today);
}

export function dueNow(row, state, head, today) {
  return isDue(row, state, head.copy.rules, today);
}

function isDue(row, state, { dueDays }, today) {
  const last = row.read ? isoDay(new Date(row.read[0])) : row.sawn;
  return (UNDER_WAY.has(state) || state === "unknown") && daysBetween(last, today) >= dueDays;
}

export function readAge({ read }, today = isoToday()) {
  if (!read) return words("not_read");
  const past = daysBetween(isoDay(new Date(read[0])), today);
  return past <= 0 ? words("read_today") : counted("read_days", past);
}

function badgeOf(row, state, now, today) {
  const [, middle] = row.forecast?.ready ?? [];
  const wetness = now && UNDER_WAY.has(state) ? (now[1] > WET_PCT ? "wet" : "dry") : "plain";
  const data = {
    day: state === "dried" ? day(row.dried, today) : middle && day(middle, today),
    target: row.entry && pctShort(row.entry),
    best: row.forecast && pct(row.forecast.reach, 0),
  };
  return { tone: TONES[state] ?? wetness, badge: words(`badge_${state}`, data) };
}

// The card of a stack's own page: when it is ready, and how sure that is.
export function readySaid({ row, state, place }) {
  const today = isoToday();
  const told = row.forecast && UNDER_WAY.has(state) ? forecastData(row, today) : {};
  const dried = row.dried && { day: day(row.dried, today), target: pct(row.target, 0) };
  const data = { place, ...told, ...dried };
  const why = [words(`why_${state}`, data), sureness(row, state, data, today), told.of && words("by_forecast", data)];
  const card = TONES[state] === "ready" || TONES[state] === "warn" ? TONES[state] : "";
  return { card, isWarning: card === "warn", verb: words(`verb_${state}`, data), why: why.filter(Boolean).join(" ") };
}

function forecastData({ forecast, entry }, today) {
  const [early, middle, late] = forecast.ready.map((one) => one && day(one, today));
  const best = pct(forecast.reach, 0);
  return { early, day: middle, late, best, target: pctShort(entry), of: day(forecast.of, today) };
}

function sureness({ forecast }, state, data, today) {
  if (!data.of || state === "never") return "";
  if (state === "late") return data.early ? words("with_luck", data) : "";
  if (state === "ready") return forecast.ready[2] <= today && data.late ? "" : words("ready_unsure", data);
  if (data.early && data.late) return words("how_sure", data);
  return data.early ? words("late_open", data) : "";
}

// Places on the moisture strip (yard/templatetags/strip_drawing.py): fine up to 30 %, coarse above.
export function stripOf({ row, now, state }) {
  if (!now) return {};
  const isUnderWay = UNDER_WAY.has(state);
  const aim = isUnderWay ? row.entry : row.target;
  const [low, middle, high] = now.map((value) => value !== null && placeOf(value));
  const look = now[1] <= aim ? "ready" : now[1] > WET_PCT ? "wet" : "dry";
  const said = words("strip", { now: pct(now[1]), band: low ? pctBand(now[0], now[2]) : "", target: pctShort(aim) });
  const marks = Object.fromEntries([10, 20, 30].map((mark) => [`at${mark}`, isFree(mark, aim)]));
  return { strip: look, stripNow: middle, stripLow: low, stripHigh: high, stripAim: placeOf(aim), aim, stripSaid: said, ...marks };
}

// Whether the scale's own figure has room beside the target's label.
function isFree(mark, aim) {
  return Math.abs(placeOf(mark) - placeOf(aim)) > 30;
}

function placeOf(value) {
  const x = value <= WET_PCT ? 8 + (204 * Math.max(value, 0)) / WET_PCT : 212 + (108 * (Math.min(value, 120) - 30)) / 90;
  return x.toFixed(1);
}
