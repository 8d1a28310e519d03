// A paper that takes a moment shows how long, and can be called off. Without this file the link
// opens the paper all the same.
import { say } from "./dom.js";
import { lost } from "./net.js";

const SOON = 250;
const USUAL = 2500;

document.addEventListener("click", (event) => {
  const link = event.target.closest?.("a.paper");
  if (!link || event.button || event.metaKey || event.ctrlKey || event.shiftKey) return;
  event.preventDefault();
  make(link);
});

async function make(link) {
  if (document.querySelector(".making")) return;
  const what = link.pathname.split("/").at(-1);
  const usual = Number(kept(what)) || USUAL;
  const stop = new AbortController();
  const start = performance.now();
  const box = panel(link.querySelector("b").textContent, stop);
  const shown = setTimeout(() => document.body.append(box), SOON);
  const clock = setInterval(() => tell(box, performance.now() - start, usual), 150);
  tell(box, 0, usual);
  try {
    const answer = await fetch(link.href, {
      headers: { Accept: "text/html", "Bench-Quiet": "yes" },
      signal: stop.signal,
    });
    keep(what, Math.round(performance.now() - start));
    if (answer.ok || answer.status < 500) location.assign(link.href);
    else say("This paper could not be made. Try once more.");
  } catch {
    if (stop.signal.aborted) say("Called off. Nothing was printed.");
    else {
      lost();
      say("Papers need the network.");
    }
  } finally {
    clearTimeout(shown);
    clearInterval(clock);
    box.remove();
  }
}

function panel(name, stop) {
  const box = document.createElement("div");
  box.className = "making news";
  box.setAttribute("role", "status");
  const words = document.createElement("span");
  words.append(name, document.createElement("small"));
  const bar = document.createElement("progress");
  bar.className = "line";
  bar.setAttribute("aria-label", `${name} is being made`);
  words.append(bar);
  const cancel = document.createElement("button");
  cancel.type = "button";
  cancel.className = "button";
  cancel.textContent = "Cancel";
  cancel.addEventListener("click", () => stop.abort());
  box.append(words, cancel);
  return box;
}

// How far by the time it took last; what takes longer says so instead of standing at the end.
function tell(box, gone, usual) {
  const left = Math.ceil((usual - gone) / 1000);
  box.querySelector("small").textContent =
    left > 0 ? `about ${left} s left` : "taking longer than usual";
  const bar = box.querySelector("progress");
  if (left > 0) bar.value = gone / usual;
  else bar.removeAttribute("value");
}

function kept(what) {
  try {
    return localStorage.getItem(`paper ${what}`);
  } catch {
    return null;
  }
}

function keep(what, took) {
  try {
    localStorage.setItem(`paper ${what}`, String(took));
  } catch {
    return;
  }
}
