// Pages of the bike that this browser keeps, and which of them is opened without the network.

import { $, $$, bikeOf, say, uuid, view } from "./dom.js";
import { know, knowAll, knownOf } from "./known.js";
import { changed, lost, net, reachable } from "./net.js";
import { doneHere } from "./queue.js";
import { shelf } from "./shelf.js";

const STALE = 120000;
let pocket = null;

export async function pack() {
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

// What the page from the bench showed of its steps until it is left.
function shown() {
  const bike = bikeOf(location.pathname);
  if (view.kept || !bike) return;
  const form = $("form#step");
  if (location.pathname.endsWith("/build")) knowAll(bike, document.body.dataset.number);
  else if (form) know(bike, [form.dataset.steps], $("input[name=seen]", form)?.value);
}

addEventListener("pagehide", shown);

export async function open(path, push = true) {
  const held = pocket?.bike === bikeOf(path) ? pocket : await shelf.pocket(bikeOf(path));
  const text = await shelf.page(path);
  if (!held || !text) {
    if (!net.down) location.assign(path);
    else if (push) say("This page was not kept on this phone. It needs the network.");
    return false;
  }
  shown();
  pocket = held;
  const page = new DOMParser().parseFromString(text, "text/html").body.firstElementChild;
  if (push) history.pushState({ kept: true }, "", path);
  document.title = `${page.dataset.title} · Cyclewright`;
  document.body.className = page.className;
  document.body.dataset.bike = String(held.bike);
  $("#page").replaceChildren(...page.childNodes);
  for (const field of $$("#page input[name=uuid]")) field.value = uuid();
  for (const field of $$("#page input[name=seen]")) freshen(field, held.bike);
  view.kept = true;
  document.dispatchEvent(new Event("bench:page"));
  scrollTo(0, 0);
  $("#main").focus({ preventScroll: true });
  $("#messages").replaceChildren();
  changed();
  return true;
}

function freshen(field, bike) {
  field.value = Math.max(Number(field.value), knownOf(bike, field.form.dataset.steps));
}

export function following(step) {
  if (!pocket) return null;
  const held = doneHere();
  const met = (name) =>
    held.has(name) || (pocket.steps.find((item) => item.id === name)?.done ?? true);
  const ready = (item) => item.todo && !held.has(item.id) && item.needs.every(met);
  const place = pocket.steps.findIndex((item) => item.id === step);
  const behind = pocket.steps.slice(place + 1).find(ready);
  return (behind ?? pocket.steps.find(ready))?.id ?? null;
}

addEventListener("popstate", (event) => {
  if (view.kept || event.state?.kept) open(location.pathname + location.search, false);
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
