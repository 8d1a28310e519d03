// A bike open on two benches: what the other one records is shown here. What is typed or tried
// on this one stays as it is, and the page says that there is something newer.
import { $, $$ } from "./dom.js";
import { fetched, lost, net } from "./net.js";

const SLOW = 3000;
const bike = () => Number(document.body.dataset.bike ?? 0);
const number = () => Number(document.body.dataset.number ?? 0);

let source = null;
let failures = 0;
let timer = 0;
let busy = false;
let newest = null;

function listen() {
  stop();
  if (!bike() || document.visibilityState !== "visible") return;
  if (!("EventSource" in window) || failures > 2) return poll();
  source = new EventSource(`/bikes/${bike()}/events?after=${number()}`);
  source.addEventListener("open", () => {
    failures = 0;
    document.documentElement.dataset.live = "stream";
  });
  source.addEventListener("recorded", (event) => heard(JSON.parse(event.data)));
  source.addEventListener("error", () => {
    failures += 1;
    if (failures > 2) listen();
  });
}

// Where streams do not pass, ask.
async function poll() {
  document.documentElement.dataset.live = "poll";
  try {
    const answer = await fetch(`/bikes/${bike()}/events?after=${number()}`, {
      headers: { Accept: "application/json" },
    });
    if (answer.ok) await heard(await answer.json());
  } catch {
    lost();
  }
  timer = setTimeout(poll, SLOW);
}

function stop() {
  source?.close();
  source = null;
  clearTimeout(timer);
}

// What this bench did itself is no news.
document.addEventListener("htmx:afterSwap", ({ target }) => {
  const part = $("[data-number]", target);
  if (part) document.body.dataset.number = part.dataset.number;
});

async function heard(told) {
  if (told.number <= number()) return;
  newest = told;
  if (busy) return;
  busy = true;
  try {
    while (newest) {
      const next = newest;
      newest = null;
      await update(next);
    }
  } finally {
    busy = false;
  }
}

async function update(told) {
  if (net.down || $("[data-sending], form.htmx-request")) return;
  const page = await fetched(location.pathname + location.search);
  if (!page || Number(page.body.dataset.number ?? 0) <= number()) return;
  const path = location.pathname;
  if (path.endsWith("/build")) plan(page);
  else if (/\/steps\//.test(path)) step(page, told);
  else if (/\/readings\/./.test(path)) return advance(page);
  else if (touched()) return tell(told.said, "Show it");
  else whole(page);
  advance(page);
  if (told.said) tell(told.said);
}

function advance(page) {
  document.body.dataset.number = page.body.dataset.number;
  document.body.dataset.plan = page.body.dataset.plan;
}

// Station cards: what is ticked but not sent stays ticked, open cards stay open.
function plan(page) {
  const ticked = new Set($$("#build input:checked").map((tick) => tick.value));
  const open = new Map($$("#build details[id]").map((card) => [card.id, card.open]));
  const focus = document.activeElement;
  const key = focus?.matches?.("#build input") ? focus.value : focus?.getAttribute?.("href");
  swap("#build", page);
  for (const tick of $$("#build input[type=checkbox]")) tick.checked = ticked.has(tick.value);
  for (const card of $$("#build details[id]")) card.open = open.get(card.id) ?? card.open;
  if (key) again("#build", key)?.focus({ preventScroll: true });
}

const again = (where, key) =>
  $$(`${where} input, ${where} a`).find(
    (item) => item.value === key || item.getAttribute("href") === key,
  );

// One step: its state and the line of progress; what was typed stays, and so does what this
// bench had seen of the step, so that two who record on it are told.
function step(page, told) {
  const line = $(".step-line-top", page);
  if (line) $(".step-line-top")?.setAttribute("value", line.getAttribute("value"));
  const states = (within) => $$("#step > .step-state:not(.waits)", within).map((s) => s.textContent);
  if (states(page).join() !== states(document).join()) tell(told.said, "Show it");
}

function whole(page) {
  const places = ["#setup", "#main"].find((where) => $(where) && $(where, page));
  if (places === "#setup") keepDrawing(page);
  swap(places, page);
}

function keepDrawing(page) {
  for (const box of $$(".drawing[id]", page)) {
    const old = document.getElementById(box.id);
    if (old) box.append(...[...old.childNodes].map((node) => node.cloneNode(true)));
  }
}

// Whether anything on this page was tried or typed and not kept yet.
function touched() {
  if (new URLSearchParams(location.search).has("change")) return true;
  return $$("#main input, #main textarea, #main select").some((field) => {
    if (field.type === "hidden" || field.type === "submit") return false;
    if (field.type === "checkbox" || field.type === "radio") {
      return field.checked !== field.defaultChecked;
    }
    if (field.tagName === "SELECT") {
      return [...field.options].some((option) => option.selected !== option.defaultSelected);
    }
    return field.value !== field.defaultValue;
  });
}

function swap(where, page) {
  const fresh = document.importNode($(where, page), true);
  $(where).replaceWith(fresh);
  htmx.process(fresh);
}

function tell(words, act = "") {
  if (!words) return;
  $(".news")?.remove();
  const box = document.createElement("p");
  box.className = "news";
  box.setAttribute("role", "status");
  const text = document.createElement("span");
  text.textContent = words;
  box.append(text);
  if (act) {
    const link = document.createElement("a");
    link.className = "button";
    link.href = location.pathname;
    link.textContent = act;
    box.append(link);
  } else {
    setTimeout(() => box.remove(), 8000);
  }
  document.body.append(box);
}

document.addEventListener("visibilitychange", listen);
document.addEventListener("bench:reached", listen);
document.addEventListener("bench:page", stop);
addEventListener("pagehide", stop);
listen();
