// What is entered at the bench is kept in this browser first and sent in order, each entry exactly
// once. Without the network the steps go on from what it keeps of the bike. Every form works
// without these files too.

import "./dock.js";
import { $, $$, element } from "./dom.js";
import "./forms.js";
import { changed, lost } from "./net.js";
import { open, pack } from "./pocket.js";
import { flush } from "./queue.js";
import { shelf } from "./shelf.js";

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
  changed();
  await flush();
  await pack();
  document.documentElement.setAttribute("data-ready", "yes");
}
