// The page that the service worker gives when the network does not answer, at whatever address was asked for: finds the
// template of that address in templates/pwa/offline.html, fills it from the copy of the yard, and sets it going.

import { forgetCopy } from "./db.js";
import { chargeData, startOf, testData } from "./offline_charge.js";
import { filled } from "./offline_fill.js";
import { blankData, formData, prepare } from "./offline_form.js";
import { listData, startList, todayData } from "./offline_lists.js";
import { readySaid, shownStack, stripOf } from "./offline_stack.js";
import { ago, counted, day, isoDay, isoToday, plain, time, words } from "./offline_words.js";
import { boardsOf, charges, found, waitingFor, yardHead } from "./offline_yard.js";
import { probe } from "./outbox.js";
import { check, fault, shown } from "./tagcode.js";

const ABOUT = { today: todayData, list: listData, tag: tagData, blank: blankPage, stack: stackData, board: boardData, charge: chargeData, test: testData, whatif: whatIfData };
const MOST_TURNS = 5; // from a tag to what it hangs on; codes that lead in a circle end here
const JUST_NOW_MS = 60_000;

const main = document.getElementById("main");
// The page is kept by every phone alike; what this one looks like (config/look.py) its cookie says.
if (document.cookie.includes("look=sun")) document.documentElement.dataset.look = "sun";

async function draw() {
  const head = await yardHead().catch(() => ({ outbox: [] }));
  const { page, data } = await answerFor(head);
  const template = document.querySelector(`template[data-page="${page}"]`);
  const content = filled(template, data);
  const barred = (head.copy?.barred ?? []).map((path) => new RegExp(path));
  for (const one of content.querySelectorAll("a, form")) if (barred.some((path) => path.test(sentTo(one)))) one.remove();
  for (const title of content.querySelectorAll("h1")) toHeader("h1", title); // the template's own comes last
  toHeader(".sub", content.querySelector(".sub"));
  document.title = `${document.querySelector("header h1").textContent.trim()} · Drystack`;
  main.querySelector("[data-age]").textContent = head.copy ? ageOf(head.copy.fetchedAt) : words("no_reception");
  await import("./outbox_forms.js"); // first: a form that nobody hears would be sent to where there is no network
  main.querySelector("[data-drawn]").replaceChildren(content);
  for (const link of main.querySelectorAll("[data-again]")) link.href = location.href;
  markHere(template.dataset.here);
  await enliven(data, head);
}

// Where a link or a form leads.
function sentTo(one) {
  const stated = one.getAttribute("action") ?? one.getAttribute("href");
  return stated ? stated.split(/[?#]/)[0] : location.pathname;
}

function toHeader(which, element) {
  document.querySelector(`header ${which}`).replaceChildren(...(element?.childNodes ?? []));
  element?.remove();
}

function markHere(address) {
  for (const link of document.querySelectorAll("nav.bar li a")) {
    if (link.getAttribute("href") !== address) continue;
    link.setAttribute("aria-current", location.pathname === address ? "page" : "true");
  }
}

// The template and its data; follows from a tag to the page of what it hangs on, as the server's redirects would.
async function answerFor(head) {
  for (let turn = 0; turn < MOST_TURNS; turn += 1) {
    const { page, about, key, part } = routeOf(location.pathname);
    if (!about) return { page, data: {} };
    if (!head.copy) return { page: "nocopy", data: {} };
    const data = await ABOUT[about](key, head, page, part);
    if (!data.go) return { page: data.page ?? page, data };
    history.replaceState(null, "", data.go);
  }
  return { page: "elsewhere", data: {} };
}

function routeOf(path) {
  for (const template of document.querySelectorAll("template[data-path]")) {
    const match = new RegExp(template.dataset.path).exec(path);
    const { page, about } = template.dataset;
    if (match) return { page, about, key: match[1] && decodeURIComponent(match[1]), part: match[2] };
  }
  return { page: "elsewhere" };
}

async function whatIfData() {
  return (await import("./tools.js")).whatIfData();
}

async function tagData(text, head) {
  const code = check(text);
  if (!code) return { page: "mistyped", typed: text, hint: hintFor(text) };
  const known = await found(code, head);
  if (known.stack) return { go: `/stacks/${known.stack.code}/` };
  if (known.board) return { go: `/boards/${code}/` };
  if (known.blank) return { go: `/stacks/new/?tag=${code}` };
  if (!known.replaced) return { page: "unknown", code, shown: shown(code) };
  const { to, since } = known.replaced;
  return { page: "replaced", to, shown: shown(to), day: since && day(since) };
}

function hintFor(text) {
  const { kind, character, letters = [], count } = fault(text);
  if (kind === "length") return counted("code_length", count);
  const hint = words(`code_${kind}`, { character });
  return letters.length ? `${hint} ${words("code_letters", { one: letters[0], other: letters[1] })}` : hint;
}

async function blankPage(_key, head) {
  const text = new URLSearchParams(location.search).get("tag");
  if (!text) return blankData("", head);
  const code = check(text);
  const known = code ? await found(code, head) : {};
  return !code || known.stack || known.board || known.replaced ? { go: `/t/${text}` } : blankData(code, head);
}

// What is told of a stack, on its own page and above the forms about it. A stack that the copy does not know can be
// recorded about all the same: another phone may have made it since.
async function stackData(text, head, page) {
  const code = check(text);
  const known = code ? await found(code, head) : {};
  if (!code || known.board || known.blank || known.replaced) return { go: `/t/${text}` };
  if (!known.stack && page === "stack") return { page: "unknown", code, shown: shown(code) };
  const row = known.stack ?? { code, isUnknown: true };
  if (row.code !== code) return { go: location.pathname.replace(text, row.code) + location.search };
  const stack = shownStack(row, head);
  const [boards, all] = await Promise.all([boardsOf(code), charges()]);
  const told = { ...stack, ...readySaid(stack), ...stripOf(stack), ...figuresOf(row), ...inHand(code, all, head) };
  const lists = { waiting: waitingFor(code, head), boards: boards.map(shownBoard), samples: row.samples ?? [] };
  return { ...told, ...lists, ...formData(stack, lists, head), isKnown: !row.isUnknown };
}

function figuresOf(row) {
  return {
    sawn: row.sawn && day(row.sawn),
    count: row.boards,
    entry: row.entry && plain(row.entry, "%"),
    target: row.target && plain(row.target, "%"),
    lastRead: row.read && plain(Math.round(row.read[1] * 10) / 10, "%"),
    lastMethod: row.read && `${words(`method_${row.read[2]}`)}, ${day(isoDay(new Date(row.read[0])))}`,
    note: row.note,
    notes: (row.notes ?? []).map(([on, said]) => ({ on: day(on), said })),
    version: row.version ?? "",
  };
}

function inHand(code, all, head) {
  const charge = all.find(({ stacks }) => stacks.some((each) => each.code === code));
  const place = charge?.stacks.find((each) => each.code === code);
  if (!charge) return {};
  const isOut = charge.state === "drying" || startOf(charge, head);
  const isLoading = !isOut && !place.in && (charge.state === "loading" || charge.start <= isoToday());
  return { charge: charge.id, kiln: charge.name, isLoading, isUnloading: isOut && !place.out };
}

async function boardData(text, head) {
  const code = check(text);
  const known = code ? await found(code, head) : {};
  if (!known.board) return { go: `/t/${text}` };
  const { stack } = await found(known.board.stack, head);
  const told = stack ? shownStack(stack, head) : {};
  const about = `${told.wood ?? ""} ${shown(known.board.stack)}`;
  return { ...told, about, ...inHand(known.board.stack, await charges(), head), ...shownBoard(known.board) };
}

function shownBoard(board) {
  return { ...board, shown: shown(board.code) };
}

function ageOf(fetchedAt) {
  const on = isoDay(new Date(fetchedAt));
  const data = { time: time(fetchedAt), age: ago(fetchedAt), day: day(on) };
  if (Date.now() - fetchedAt < JUST_NOW_MS) return words("as_of_now", data);
  return words(on === isoToday() ? "as_of_today" : "as_of_day", data);
}

// Only now, since these scripts look for their elements once, when they are loaded.
async function enliven(data, head) {
  const drawing = main.querySelector("[data-drawing]");
  if (drawing) drawing.innerHTML = data.drawing; // the server's own markup, as the copy brought it
  prepare(main, data, head);
  startList(main, data, head);
  if (main.querySelector("[data-keypad]")) await import("./keypad.js");
  if (main.querySelector("[data-scanner]")) await import("./scan.js");
  if (main.querySelector("[data-waiting-list]")) await import("./waiting_list.js");
  const tool = main.querySelector("[data-tool]");
  if (tool) (await import("./tools.js")).start(tool, head.copy?.tools);
}

// Reception is back: whoever is signed in there may not be whose copy this is.
async function lookForReception() {
  const here = await probe();
  if (!here) return;
  const { user } = await yardHead();
  if (user && here.id !== user.id) {
    if (isHalfTyped()) return; // kept first, under the name it was typed under
    await forgetCopy();
    location.reload();
    return;
  }
  main.querySelector("[data-age]").textContent = words("reception");
}

function isHalfTyped() {
  const fields = main.querySelectorAll("form[data-outbox] :is(input:not([type=hidden], [type=radio], [type=checkbox]), textarea)");
  return [...fields].some((field) => field.value !== field.defaultValue);
}

draw();
window.addEventListener("online", lookForReception);
setInterval(() => document.hidden || lookForReception(), 20_000);
