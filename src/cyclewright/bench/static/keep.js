// What is entered at the bench is kept here first and sent in order, each entry exactly once:
// it carries its own UUID, and a resend is the same event. Without the network the steps go on
// from what this browser keeps of the bike. Every form works without this file too.

import { packed, unpacked } from "./carry.js";

const SOON = 4000;
const LONG = { words: 15000, photo: 120000 };
const PAUSES = [2000, 4000, 8000, 15000, 30000];
const STALE = 120000;
const FRESH_TRIES = 3;

const $ = (what, within = document) => within.querySelector(what);
const $$ = (what, within = document) => [...within.querySelectorAll(what)];
const dock = $("#dock");
const bikeOf = (path) => Number(/^\/bikes\/(\d+)(?:[/?]|$)/.exec(path)?.[1] ?? 0);

export const net = { down: false };
let entries = [];
let arrived = remembered();
let signedOut = false;
let pocket = null;
let pauses = 0;
let timer = 0;
let settled = false;

const shelf = await openShelf();
entries = await shelf.all();

// What a browser keeps: a database where it allows one, else this page's own memory.

async function openShelf() {
  try {
    const database = await opened();
    const store = (name, mode) => database.transaction(name, mode).objectStore(name);
    return {
      lasting: true,
      all: () => done(store("entries", "readonly").getAll()),
      add: (entry) => done(store("entries", "readwrite").add(entry)),
      put: (entry) => done(store("entries", "readwrite").put(entry)),
      remove: (place) => done(store("entries", "readwrite").delete(place)),
      pocket: (bike) => done(store("pockets", "readonly").get(bike)),
      pockets: () => done(store("pockets", "readonly").getAll()),
      page: async (path) => (await done(store("pages", "readonly").get(path)))?.text,
      keep: (kept) => keepAll(database, kept),
    };
  } catch {
    return inMemory();
  }
}

function opened() {
  const asked = indexedDB.open("cyclewright-bench", 1);
  asked.onupgradeneeded = () => {
    asked.result.createObjectStore("entries", { keyPath: "place", autoIncrement: true });
    asked.result.createObjectStore("pockets", { keyPath: "bike" });
    asked.result.createObjectStore("pages", { keyPath: "path" });
  };
  return done(asked);
}

// Pages one by one, so that a page load reads one of them and not the whole bike.
function keepAll(database, { pages, ...rest }) {
  const whole = database.transaction(["pockets", "pages"], "readwrite");
  const root = `/bikes/${rest.bike}/`;
  whole.objectStore("pages").delete(IDBKeyRange.bound(root, `${root}\uffff`));
  for (const [path, text] of Object.entries(pages)) whole.objectStore("pages").put({ path, text });
  whole.objectStore("pockets").put(rest);
  return new Promise((resolve, reject) => {
    whole.oncomplete = resolve;
    whole.onerror = whole.onabort = () => reject(whole.error);
  });
}

function done(asked) {
  return new Promise((resolve, reject) => {
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
    asked.onblocked = () => reject(new Error("blocked"));
  });
}

function inMemory() {
  const held = new Map();
  const pockets = new Map();
  let last = 0;
  return {
    lasting: false,
    all: async () => [...held.values()],
    add: async (entry) => {
      entry.place = ++last;
      held.set(entry.place, entry);
      return entry.place;
    },
    put: async (entry) => held.set(entry.place, entry),
    remove: async (place) => held.delete(place),
    pocket: async (bike) => pockets.get(bike),
    pockets: async () => [...pockets.values()],
    page: async (path) => pockets.get(bikeOf(path))?.pages[path],
    keep: async (kept) => pockets.set(kept.bike, kept),
  };
}

// Who works on this browser; the kept page, which is older than the name, asks what was said last.
function worker() {
  const said = $("[data-shell]") || settled ? null : document.body.dataset.person;
  try {
    if (said !== null) localStorage.setItem("person", said ?? "");
    return said ?? localStorage.getItem("person") ?? "";
  } catch {
    return said ?? "";
  }
}

// Forms: every entry goes through the queue, with the network or without.

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.matches("form[data-bring]")) {
    stop(event);
    bring($("input[type=file]", form));
  } else if (form.matches("form[data-keep]")) {
    stop(event);
    enter(form, event.submitter);
  } else if (form.matches("form[data-undo]") && waitingHere().length) {
    stop(event);
    takeBack(waitingHere().at(-1));
  } else if (net.down && form.method === "post") {
    stop(event);
    say("This needs the network. Nothing was sent, and what you typed stays here.");
  }
}, true);

function stop(event) {
  event.preventDefault();
  event.stopImmediatePropagation();
}

function uuid() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}

async function enter(form, submitter) {
  if (form.dataset.sending) return;
  form.dataset.sending = "yes";
  const entry = entryOf(form, submitter);
  if (form.matches(".station form") && !entry.steps.length) {
    delete form.dataset.sending;
    say("Tick the lines that are done, then press again.");
    return;
  }
  const missing = net.down ? wanting(form, entry) : "";
  if (missing) {
    delete form.dataset.sending;
    say(`Give the ${missing} first: it is the proof of this step.`);
    return;
  }
  const outcome = await Promise.race([handIn(entry), later(SOON)]);
  if (outcome.state === "sent") return goOn(form, outcome.told);
  delete form.dataset.sending;
  if (outcome.state === "refused") await refusedHere(form, entry, outcome);
  else await goOnWithout(form, entry);
}

function entryOf(form, submitter) {
  const fields = [];
  const files = [];
  for (const [name, value] of new FormData(form, submitter)) {
    if (typeof value === "string") fields.push([name, value]);
    else if (value.size) files.push({ field: name, name: value.name, blob: value });
  }
  const value = (name) => fields.find((pair) => pair[0] === name)?.[1] ?? "";
  const steps = (form.dataset.steps ?? fieldsOf(fields, "step")).split(" ").filter(Boolean);
  const act = value("act");
  fields.push(["device_time", new Date().toISOString()]);
  const detail = ["torque", "value", "word", "reason", "note", "why"].map(value).filter(Boolean);
  if (files.length) detail.push("photo");
  return {
    uuid: value("uuid") || uuid(),
    url: new URL(form.action).pathname,
    bike: bikeOf(new URL(form.action).pathname),
    what: form.dataset.keep,
    act,
    steps,
    detail,
    at: Date.now(),
    person: worker(),
    record: document.body.dataset.record,
    fields,
    files,
    tries: 0,
    refused: null,
  };
}

// What a step asks for and was not given; with the network the bench says so itself.
function wanting(form, entry) {
  if (entry.act !== "done") return "";
  const given = (name) =>
    entry.files.some((file) => file.field === name) ||
    entry.fields.some((pair) => pair[0] === name && pair[1].trim());
  const wanted = $$("input[name], textarea[name]", form)
    .map((field) => field.name)
    .filter((name) => ["photo", "torque", "value", "word"].includes(name));
  return wanted.find((name) => !given(name)) ?? "";
}

function fieldsOf(fields, name) {
  return fields.filter((pair) => pair[0] === name).map((pair) => pair[1]).join(" ");
}

const later = (pause) =>
  new Promise((resolve) => setTimeout(() => resolve({ state: "waits" }), pause));

// The queue.

const asking = new Map();
let sending = null;
let again = false;

async function handIn(entry) {
  const outcome = new Promise((resolve) => asking.set(entry.uuid, resolve));
  entry.place = await shelf.add(entry);
  entries = await shelf.all();
  flush();
  return outcome;
}

function flush() {
  again = true;
  sending ??= alone(run).finally(() => {
    sending = null;
    if (again) flush();
  });
  return sending;
}

// Two pages of one browser do not send at the same time; where they might, each event is one.
function alone(work) {
  return navigator.locks ? navigator.locks.request("cyclewright-send", work) : work();
}

async function run() {
  again = false;
  for (;;) {
    entries = await shelf.all();
    const entry = entries.find((item) => !item.refused);
    if (!entry) break;
    const outcome = await send(entry);
    if (outcome.state === "waits") {
      for (const other of entries) hear(other, outcome);
      pause();
      break;
    }
    reached();
    if (outcome.state === "sent") {
      await shelf.remove(entry.place);
      await raise(entry, outcome.told);
      if (!hear(entry, outcome)) arrive(entry, outcome.told);
    } else if (!hear(entry, outcome)) {
      entry.refused = outcome;
      await shelf.put(entry);
    } else {
      await shelf.remove(entry.place);
    }
  }
  entries = await shelf.all();
  show();
}

// That entries arrived is told until it is seen, on whichever page.
function arrive(entry, told) {
  const { uuid, url, what, act, steps, detail, bike, at } = entry;
  arrived.push({ uuid, url, what, act, steps, detail, bike, at, said: saying(entry, told) });
  remember();
  if (!arrived.some((item) => item.said)) setTimeout(seen, 12000);
}

function seen() {
  arrived = [];
  remember();
  show();
}

function remember() {
  try {
    sessionStorage.setItem("arrived", JSON.stringify(arrived));
  } catch {
    return;
  }
}

function remembered() {
  try {
    return JSON.parse(sessionStorage.getItem("arrived") ?? "[]");
  } catch {
    return [];
  }
}

// What is news about an entry that arrived later: what a reading says, what it opened again.
function saying(entry, told) {
  return entry.url.includes("/readings/") || told.reopened?.length ? (told.said ?? "") : "";
}

function hear(entry, outcome) {
  const resolve = asking.get(entry.uuid);
  asking.delete(entry.uuid);
  if (!resolve) return false;
  resolve(outcome);
  return true;
}

async function send(entry) {
  if (entry.person && entry.person !== worker()) {
    return { state: "waits", why: `It was entered by ${entry.person}: give that name again.` };
  }
  const body = new FormData();
  for (const [name, value] of entry.fields) if (name !== "uuid") body.append(name, value);
  body.append("uuid", entry.uuid);
  for (const file of entry.files) body.append(file.field, file.blob, file.name);
  const headers = { Accept: "application/json", "Bench-Record": entry.record };
  // What arrives later is told here, with what it is about, and not by whichever page comes next.
  if (!asking.has(entry.uuid)) headers["Bench-Quiet"] = "yes";
  let answer;
  try {
    answer = await fetch(entry.url, {
      method: "POST",
      headers,
      body,
      signal: AbortSignal.timeout(entry.files.length ? LONG.photo : LONG.words),
    });
  } catch {
    lost();
    return { state: "waits" };
  }
  const told = await answer.json().catch(() => ({}));
  signedOut = answer.status === 401;
  if (answer.ok) return { state: "sent", told };
  if (signedOut) return { state: "waits", why: "Sign in to the bench again: then it is sent." };
  if (answer.status >= 500 && ++entry.tries < FRESH_TRIES) {
    await shelf.put(entry);
    return { state: "waits", why: "The bench had trouble taking it. It is tried again." };
  }
  const errors = told.errors ?? [{ code: "refused", field: "", do: "the bench did not take it" }];
  return { state: "refused", errors, status: answer.status };
}

// What was entered after an entry on the same steps has seen that entry.
async function raise(entry, told) {
  const newest = Math.max(0, ...(told.numbers ?? []));
  for (const other of await shelf.all()) {
    if (other.bike !== entry.bike || !other.steps.length) continue;
    if (!other.steps.every((step) => entry.steps.includes(step))) continue;
    const known = other.fields.find((pair) => pair[0] === "seen");
    if (known) known[1] = String(Math.max(Number(known[1]), newest));
    await shelf.put(other);
  }
}

function pause() {
  clearTimeout(timer);
  timer = setTimeout(flush, PAUSES[Math.min(pauses++, PAUSES.length - 1)]);
  show();
}

function reached() {
  pauses = 0;
  if (net.down) {
    net.down = false;
    document.dispatchEvent(new CustomEvent("bench:reached"));
  }
}

// Without anything to send, ask now and then whether the bench is back.
async function look() {
  if (!net.down) return;
  try {
    await fetch("/static/mark.svg", { cache: "no-store", signal: AbortSignal.timeout(4000) });
    reached();
    show();
    flush();
  } catch {
    setTimeout(look, 4000);
  }
}

export function lost() {
  if (!net.down) setTimeout(look, 2000);
  net.down = true;
  show();
}

addEventListener("online", () => {
  look();
  flush();
});
addEventListener("offline", lost);
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible" && entries.some((item) => !item.refused)) flush();
});
document.addEventListener("htmx:sendError", () => {
  lost();
  say("This needs the network. Nothing was sent, and what you typed stays here.");
});

// After an entry.

async function goOn(form, told) {
  const here = location.pathname + location.search;
  if (form.closest("#build") && told.go === here && !settled) {
    await htmx.ajax("GET", told.go, { target: "#build", swap: "innerHTML" });
    delete form.dataset.sending;
    document.body.dataset.number = $("#build [data-number]")?.dataset.number ?? "";
  } else {
    location.assign(told.go);
  }
}

async function refusedHere(form, entry, outcome) {
  say(...outcome.errors.map(line));
  if (outcome.errors.some((error) => error.code === "conflict")) await lookAgain(form);
}

function line(error) {
  const value = error.value ? ` is ${error.value}` : "";
  const allowed = error.allowed ? ` (allowed: ${error.allowed})` : "";
  return error.field ? `${error.field}${value}${allowed}: ${error.do}` : error.do;
}

// Somebody else was there first: show how it stands now around what was typed, which stays.
async function lookAgain(form) {
  const page = await fetched(location.pathname + location.search);
  if (!page) return;
  const now = $("input[name=seen]", page);
  for (const field of $$("input[name=seen]", form)) if (now) field.value = now.value;
  if (!form.id) return;
  for (const old of $$(".step-state", form)) old.remove();
  form.prepend(...$$(`#${form.id} > .step-state`, page));
}

export async function fetched(path) {
  try {
    const answer = await fetch(path, { headers: { Accept: "text/html", "Bench-Quiet": "yes" } });
    if (!answer.ok) return null;
    return new DOMParser().parseFromString(await answer.text(), "text/html");
  } catch {
    lost();
    return null;
  }
}

async function goOnWithout(form, entry) {
  asking.delete(entry.uuid);
  lost();
  entries = await shelf.all();
  const field = $("input[name=uuid]", form);
  if (field) field.value = uuid();
  const root = `/bikes/${entry.bike}`;
  if (form.id === "step") {
    const next = entry.act === "done" ? following(entry.steps[0]) : null;
    await open(next ? `${root}/steps/${next}` : `${root}/build`);
  } else if (form.closest("#build")) {
    for (const tick of $$("input:checked", form)) tick.checked = false;
  } else {
    say("Kept. What to set next is said when it has arrived.");
  }
  show();
}

async function takeBack(entry) {
  await shelf.remove(entry.place);
  entries = await shelf.all();
  show();
  if (entry.steps.length === 1) await open(`/bikes/${entry.bike}/steps/${entry.steps[0]}`);
  say("Taken back before it was sent.");
}

const waitingHere = () => {
  const bike = bikeOf(location.pathname);
  return entries.filter((item) => item.bike === bike && !item.refused);
};

function doneHere() {
  return new Set(waitingHere().filter(isDone).flatMap((item) => item.steps));
}

const isDone = (entry) => entry.act === "done" || entry.url.endsWith("/ticks");

function following(step) {
  if (!pocket) return null;
  const held = doneHere();
  const met = (name) =>
    held.has(name) || (pocket.steps.find((item) => item.id === name)?.done ?? true);
  const ready = (item) => item.todo && !held.has(item.id) && item.needs.every(met);
  const place = pocket.steps.findIndex((item) => item.id === step);
  const behind = pocket.steps.slice(place + 1).find(ready);
  return (behind ?? pocket.steps.find(ready))?.id ?? null;
}

// Pages of the bike that this browser keeps.

async function pack() {
  const bike = Number(document.body.dataset.bike ?? 0);
  if (!bike) return;
  pocket = (await shelf.pocket(bike)) ?? null;
  const { plan, number } = document.body.dataset;
  const same = pocket && pocket.plan === Number(plan);
  const old = !same || (pocket.number !== Number(number) && Date.now() - pocket.at > STALE);
  if (!old) return kept();
  try {
    const answer = await fetch(`/bikes/${bike}/pocket`, { headers: { Accept: "application/json" } });
    if (!answer.ok) return;
    pocket = { ...(await answer.json()), at: Date.now() };
    await shelf.keep(pocket);
    kept();
  } catch {
    lost();
  }
}

const kept = () => document.documentElement.setAttribute("data-kept", "yes");

export async function open(path, push = true) {
  const held = pocket?.bike === bikeOf(path) ? pocket : await shelf.pocket(bikeOf(path));
  const text = await shelf.page(path);
  if (!held || !text) {
    if (!net.down) location.assign(path);
    else if (push) say("This page was not kept on this phone. It needs the network.");
    return false;
  }
  pocket = held;
  const page = new DOMParser().parseFromString(text, "text/html").body.firstElementChild;
  if (push) history.pushState({ kept: true }, "", path);
  document.title = `${page.dataset.title} · Cyclewright`;
  document.body.className = page.className;
  document.body.dataset.bike = String(held.bike);
  $("#page").replaceChildren(...page.childNodes);
  for (const field of $$("#page input[name=uuid]")) field.value = uuid();
  settled = true;
  document.dispatchEvent(new Event("bench:page"));
  scrollTo(0, 0);
  $("#main").focus({ preventScroll: true });
  $("#messages").replaceChildren();
  show();
  return true;
}

addEventListener("popstate", (event) => {
  if (settled || event.state?.kept) open(location.pathname + location.search, false);
});

// A link whose page cannot be fetched opens the kept one. Where no worker can answer for the
// bench, the page asks before it lets go of itself.
document.addEventListener("click", async (event) => {
  const link = event.target.closest?.("a[href]");
  if (!link || event.defaultPrevented || event.button || event.metaKey || event.ctrlKey) return;
  const address = new URL(link.href);
  if (address.origin !== location.origin || link.target || link.hasAttribute("hx-get")) return;
  if (link.hasAttribute("download")) return;
  if (address.pathname === location.pathname && address.hash) return;
  const path = address.pathname + address.search;
  const alone = !navigator.serviceWorker?.controller && bikeOf(location.pathname) > 0;
  if (!net.down && !alone) return;
  event.preventDefault();
  if (!net.down && (await reachable())) location.assign(link.href);
  else await open(path);
});

async function reachable() {
  try {
    await fetch("/static/mark.svg", { cache: "no-store", signal: AbortSignal.timeout(4000) });
    return true;
  } catch {
    lost();
    return false;
  }
}

// What the page says of all this.

export function say(...lines) {
  const box = document.createElement("section");
  box.className = "problems";
  box.setAttribute("role", "alert");
  const words = document.createElement("div");
  for (const text of lines) words.append(element("p", text));
  const mark = $("#icon-check")?.content.cloneNode(true);
  if (mark) box.append(mark);
  box.append(words);
  $("#messages").replaceChildren(box);
  box.scrollIntoView({ block: "nearest" });
}

function element(name, text = "", className = "") {
  const made = document.createElement(name);
  made.textContent = text;
  if (className) made.className = className;
  return made;
}

const many = (count, one, more) => `${count} ${count === 1 ? one : more}`;

function show() {
  dress();
  const waiting = entries.filter((item) => !item.refused);
  const refused = entries.filter((item) => item.refused);
  const nothing = !waiting.length && !refused.length && !net.down && !arrived.length;
  const wasOpen = $("details", dock)?.open ?? false;
  dock.hidden = nothing;
  document.body.classList.toggle("docked", !nothing);
  dock.replaceChildren();
  if (nothing) return;
  const box = element("details");
  box.open = wasOpen || refused.length > 0;
  const head = element("summary");
  head.append(element("b", headline(waiting, refused)), element("span", hint(waiting), "soft"));
  box.append(head);
  const list = element("ul");
  for (const entry of refused) list.append(row(entry));
  for (const entry of waiting) list.append(row(entry));
  for (const entry of arrived.filter((item) => item.said)) list.append(row(entry));
  box.append(list);
  if (arrived.length) {
    box.append(button("Seen", seen));
  }
  if (entries.length) box.append(...carrying());
  dock.append(box);
}

// Where the bench has another address now, what waits here is carried there by hand.
function carrying() {
  const words = "If the bench has a new address: save them, and bring the file in there.";
  return [element("p", words, "soft"), button("Save them as a file", saveAll)];
}

async function saveAll() {
  const link = element("a");
  const file = await packed(await shelf.all());
  link.href = URL.createObjectURL(file);
  link.download = file.name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

async function bring(field) {
  try {
    const have = new Set((await shelf.all()).map((entry) => entry.uuid));
    const found = (await unpacked(field.files[0])).filter((entry) => !have.has(entry.uuid));
    for (const entry of found) await shelf.add(entry);
    field.value = "";
    $("#messages").replaceChildren(element("p", broughtIn(found.length), "said"));
    await flush();
  } catch (error) {
    say(error.message);
  }
}

const broughtIn = (count) =>
  count ? `${many(count, "entry is", "entries are")} brought in.` : "They are all here already.";

function headline(waiting, refused) {
  const parts = [];
  if (refused.length) parts.push(`${many(refused.length, "entry was", "entries were")} refused`);
  if (waiting.length) parts.push(`${many(waiting.length, "entry waits", "entries wait")}`);
  if (!parts.length && arrived.length) {
    return `${many(arrived.length, "entry has", "entries have")} arrived`;
  }
  if (!parts.length) return "No network";
  return parts.join(", ");
}

function hint(waiting) {
  if (signedOut) return "Sign in to the bench again: then they are sent.";
  if (!waiting.length) return net.down ? "What you enter is kept and sent later." : "";
  const keeps = shelf.lasting && navigator.serviceWorker?.controller;
  return keeps ? "Kept on this phone, sent by itself." : "Kept. Leave this page open until sent.";
}

function row(entry) {
  const item = element("li", "", entry.refused ? "refused" : "");
  const words = element("div");
  words.append(element("b", entry.what), element("span", ` ${summary(entry)}`));
  item.append(words);
  if (entry.said) item.append(element("p", `Arrived. ${upper(entry.said)}.`));
  if (!entry.refused) {
    if (entry.place && entry.place === entries.at(-1)?.place) {
      item.append(button("Take it back", () => takeBack(entry)));
    }
    return item;
  }
  for (const error of entry.refused.errors) item.append(element("p", line(error)));
  const actions = element("div", "", "actions");
  actions.append(button("Send it again", () => sendAgain(entry)));
  if (entry.steps.length === 1) {
    const link = element("a", "Open the step", "button");
    link.href = `/bikes/${entry.bike}/steps/${entry.steps[0]}`;
    actions.append(link);
  }
  actions.append(button("Throw it away", () => discard(entry)));
  item.append(actions);
  return item;
}

const upper = (text) => text.slice(0, 1).toUpperCase() + text.slice(1).replace(/\.$/, "");

function summary(entry) {
  const at = new Date(entry.at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
  const act = { wrong: "something is wrong", later: "put off", touched: "opened again" }[entry.act] ?? "";
  const lines = entry.url.endsWith("/ticks") ? many(entry.steps.length, "line", "lines") : "";
  return [act, lines, ...entry.detail, `bike ${entry.bike}`, at].filter(Boolean).join(" · ");
}

function button(text, act) {
  const made = element("button", text, "button");
  made.type = "button";
  made.addEventListener("click", act);
  return made;
}

// Sent again, an entry has seen what was recorded since: its author looked and still means it.
async function sendAgain(entry) {
  const page = await fetch(`/bikes/${entry.bike}/events`, { headers: { Accept: "application/json" } })
    .then((answer) => answer.json())
    .catch(() => null);
  if (!page) return lost();
  const known = entry.fields.find((pair) => pair[0] === "seen");
  if (known) known[1] = String(page.number);
  entry.refused = null;
  entry.tries = 0;
  await shelf.put(entry);
  await flush();
}

async function discard(entry) {
  await shelf.remove(entry.place);
  entries = await shelf.all();
  show();
}

// Steps that wait to be sent are shown as waiting, and hold nothing up on this page.
function dress() {
  const held = doneHere();
  for (const row of $$("[data-step]")) row.classList.toggle("waiting", held.has(row.dataset.step));
  for (const note of $$("[data-unmet]")) {
    note.hidden = note.dataset.unmet.split(" ").every((step) => held.has(step));
  }
  const form = $("#step");
  $(".step-state.waits", form ?? document)?.remove();
  if (!form) return;
  const mine = waitingHere().filter((item) => item.steps.includes(form.dataset.steps));
  if (!mine.length) return;
  const note = element("p", "", "step-state waits");
  note.append(element("b", "Waits to be sent."), element("span", ` ${summary(mine.at(-1))}`));
  form.prepend(note);
}

// The page that a worker shows in place of one that could not be fetched.
async function shell() {
  const box = $("[data-shell]");
  if (!box) return;
  lost();
  if (await open(location.pathname + location.search, false)) return;
  for (const held of await shelf.pockets()) {
    const link = element("a", `${held.name}: its steps`, "button");
    link.href = `/bikes/${held.bike}/build`;
    const item = element("li");
    item.append(link);
    $("[data-shell-bikes]", box)?.append(item);
  }
}

if ("serviceWorker" in navigator) {
  navigator.serviceWorker
    .register("/worker.js")
    .then(() => navigator.serviceWorker.ready)
    .then(() => document.documentElement.setAttribute("data-worker", "yes"))
    .catch(() => undefined);
}
for (const form of $$("form[data-bring]")) form.hidden = false;
begin();

async function begin() {
  await shell();
  show();
  await flush();
  await pack();
  document.documentElement.setAttribute("data-ready", "yes");
}
