// What the page says of the queue: the dock at its foot, and steps that wait.

import { packed } from "./carry.js";
import { $, $$, button, element, line, many } from "./dom.js";
import { takeBack } from "./forms.js";
import { net } from "./net.js";
import {
  arrived, cause, discard, doneHere, entries, isAnothers, seen, sendAgain, signedOut, waitingHere,
} from "./queue.js";
import { shelf } from "./shelf.js";

const dock = $("#dock");
document.addEventListener("bench:changed", show);

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
  if (waiting.length && cause) return cause;
  if (!waiting.length) return net.down ? "Steps and readings are kept and sent later." : "";
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
    } else if (isAnothers(entry)) {
      item.append(button("Throw it away", () => discard(entry)));
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

// Steps that wait to be sent are shown as waiting, and hold nothing up on this page.
function dress() {
  const held = doneHere();
  for (const row of $$("[data-step]")) row.classList.toggle("waiting", held.has(row.dataset.step));
  for (const note of $$("[data-unmet]")) {
    note.hidden = note.dataset.unmet.split(" ").every((step) => held.has(step));
  }
  nameUndo();
  const form = $("#step");
  $(".step-state.waits", form ?? document)?.remove();
  if (!form) return;
  const mine = waitingHere().filter((item) => item.steps.includes(form.dataset.steps));
  if (!mine.length) return;
  const note = element("p", "", "step-state waits");
  note.append(element("b", "Waits to be sent."), element("span", ` ${summary(mine.at(-1))}`));
  form.prepend(note);
}

// What waits here is taken back first, and the button says so.
function nameUndo() {
  const last = waitingHere().at(-1);
  for (const words of $$("[data-undo-what]")) {
    words.dataset.sent ??= words.textContent;
    words.textContent = last ? `${last.what}, not sent yet` : words.dataset.sent;
  }
}
