// Forms: every entry goes through the queue, with the network or without.

import { unpacked } from "./carry.js";
import { $, $$, bikeOf, element, line, many, say, uuid, view, worker } from "./dom.js";
import { changed, fetched, lost, net } from "./net.js";
import { following, open } from "./pocket.js";
import { flush, handIn, letWait, refresh, waitingHere } from "./queue.js";
import { shelf } from "./shelf.js";

const SOON = 4000;
// What a step's page says of the step beside what is typed into it.
const TOLD = [".do-now", ".torque", "ul.with", ".round", "ul.cautions", ".field .hint"];
const NEEDS_NETWORK = "This needs the network. Nothing was sent, and what you typed stays here.";

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
  } else if (form.matches("form[data-undo]") && net.down) {
    stop(event);
    enter(form, event.submitter);
  } else if (net.down && form.method === "post") {
    stop(event);
    say(NEEDS_NETWORK);
  }
}, true);

document.addEventListener("htmx:sendError", () => {
  lost();
  say(NEEDS_NETWORK);
});

function stop(event) {
  event.preventDefault();
  event.stopImmediatePropagation();
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
    what: form.dataset.keep ?? form.dataset.undo,
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
  // A word that is only asked for where a value lies far off is no proof that is missing.
  const wanted = $$("input[name], textarea[name]", form)
    .filter((field) => !field.closest("#meant"))
    .map((field) => field.name)
    .filter((name) => ["photo", "torque", "value", "word"].includes(name));
  return wanted.find((name) => !given(name)) ?? "";
}

function fieldsOf(fields, name) {
  return fields.filter((pair) => pair[0] === name).map((pair) => pair[1]).join(" ");
}

const later = (pause) =>
  new Promise((resolve) => setTimeout(() => resolve({ state: "waits" }), pause));

async function goOn(form, told) {
  const here = location.pathname + location.search;
  if (form.closest("#build") && told.go === here && !view.kept) {
    await htmx.ajax("GET", told.go, { target: "#build", swap: "innerHTML" });
    delete form.dataset.sending;
    document.body.dataset.number = $("#build [data-number]")?.dataset.number ?? "";
  } else {
    location.assign(told.go);
  }
}

async function refusedHere(form, entry, outcome) {
  say(...outcome.errors.map(line));
  for (const how of $$("details.how[open]", form)) how.open = false;
  const conflict = outcome.errors.some((error) => error.code === "conflict");
  if (conflict || form.id === "step") await lookAgain(form);
}

// Somebody else may have been there first: show how it stands now around what was typed, which stays.
async function lookAgain(form) {
  const page = await fetched(location.pathname + location.search);
  if (!page) return;
  const now = $("input[name=seen]", page);
  for (const field of $$("input[name=seen]", form)) if (now) field.value = now.value;
  if (!form.id) return;
  for (const old of $$(".step-state", form)) old.remove();
  form.prepend(...$$(`#${form.id} > .step-state`, page));
  for (const part of TOLD) {
    const fresh = $$(`#${form.id} ${part}`, page);
    $$(part, form).forEach((old, place) => old.replaceWith(...fresh.slice(place, place + 1)));
  }
}

async function goOnWithout(form, entry) {
  await letWait(entry);
  const field = $("input[name=uuid]", form);
  if (field) field.value = uuid();
  const root = `/bikes/${entry.bike}`;
  if (form.matches("form[data-undo]")) {
    say(`Kept. ${form.dataset.undo}: that entry and no other, when it has arrived.`);
  } else if (form.id === "step") {
    const next = entry.act === "done" ? following(entry.steps[0]) : null;
    await open(next ? `${root}/steps/${next}` : `${root}/build`);
  } else if (form.closest("#build")) {
    for (const tick of $$("input:checked", form)) tick.checked = false;
  } else {
    say("Kept. What to set next is said when it has arrived.");
  }
  changed();
}

export async function takeBack(entry) {
  await shelf.remove(entry.place);
  await refresh();
  changed();
  if (entry.steps.length === 1) await open(`/bikes/${entry.bike}/steps/${entry.steps[0]}`);
  say("Taken back before it was sent.");
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
