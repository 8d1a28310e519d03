// The queue: each entry is sent once, in order. It carries its own UUID, and a resend is the same
// event.

import { bikeOf, worker } from "./dom.js";
import { know } from "./known.js";
import { changed, lost, reached } from "./net.js";
import { shelf } from "./shelf.js";

const LONG = { words: 15000, photo: 120000 };
const PAUSES = [2000, 4000, 8000, 15000, 30000];
const FRESH_TRIES = 3;

export let entries = await shelf.all();
export let arrived = remembered();
export let signedOut = false;
export let cause = "";
const asking = new Map();
let sending = null;
let again = false;
let pauses = 0;
let timer = 0;

export async function handIn(entry) {
  const outcome = new Promise((resolve) => asking.set(entry.uuid, resolve));
  entry.place = await shelf.add(entry);
  entries = await shelf.all();
  flush();
  return outcome;
}

// The page goes on: what becomes of the entry is told when it has arrived.
export async function letWait(entry) {
  asking.delete(entry.uuid);
  lost();
  await refresh();
}

export async function refresh() {
  entries = await shelf.all();
}

export function flush() {
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
    cause = outcome.why ?? "";
    if (outcome.state === "waits") {
      for (const other of entries) hear(other, outcome);
      pause();
      break;
    }
    pauses = 0;
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
  changed();
}

// That entries arrived is told until it is seen, on whichever page.
function arrive(entry, told) {
  const { uuid, url, what, act, steps, detail, bike, at } = entry;
  arrived.push({ uuid, url, what, act, steps, detail, bike, at, said: saying(entry, told) });
  remember();
  if (!arrived.some((item) => item.said)) setTimeout(seen, 12000);
}

export function seen() {
  arrived = [];
  remember();
  changed();
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

export const isAnothers = (entry) => Boolean(entry.person) && entry.person !== worker();

async function send(entry) {
  if (isAnothers(entry)) {
    return { state: "waits", why: `It was entered by ${entry.person}: give that name again.` };
  }
  const body = new FormData();
  for (const [name, value] of entry.fields) if (name !== "uuid") body.append(name, value);
  body.append("uuid", entry.uuid);
  for (const file of entry.files) body.append(file.field, file.blob, file.name);
  const headers = { Accept: "application/json" };
  if (entry.record) headers["Bench-Record"] = entry.record;
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
  know(entry.bike, entry.steps, newest);
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
  changed();
}

// Sent again, an entry has seen what was recorded since: its author looked and still means it.
export async function sendAgain(entry) {
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

export async function discard(entry) {
  await shelf.remove(entry.place);
  entries = await shelf.all();
  changed();
  await flush();
}

export const waitingHere = () => {
  const bike = bikeOf(location.pathname);
  return entries.filter((item) => item.bike === bike && !item.refused);
};

export function doneHere() {
  return new Set(waitingHere().filter(isDone).flatMap((item) => item.steps));
}

const isDone = (entry) => entry.act === "done" || entry.url.endsWith("/ticks");

addEventListener("online", flush);
document.addEventListener("bench:back", () => {
  pauses = 0;
  changed();
  flush();
});
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible" && entries.some((item) => !item.refused)) flush();
});
