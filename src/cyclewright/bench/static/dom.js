// The page itself: finding and making elements, what is said on it, who works here and where.

export const $ = (what, within = document) => within.querySelector(what);
export const $$ = (what, within = document) => [...within.querySelectorAll(what)];
export const bikeOf = (path) => Number(/^\/bikes\/(\d+)(?:[/?]|$)/.exec(path)?.[1] ?? 0);
export const many = (count, one, more) => `${count} ${count === 1 ? one : more}`;

// Whether this page is one that was kept, in place of one from the bench.
export const view = { kept: false };

// Who works on this browser; the kept page, which is older than the name, asks what was said last.
export function worker() {
  const said = $("[data-shell]") || view.kept ? null : document.body.dataset.person;
  try {
    if (said !== null) localStorage.setItem("person", said ?? "");
    return said ?? localStorage.getItem("person") ?? "";
  } catch {
    return said ?? "";
  }
}

export function element(name, text = "", className = "") {
  const made = document.createElement(name);
  made.textContent = text;
  if (className) made.className = className;
  return made;
}

export function button(text, act) {
  const made = element("button", text, "button");
  made.type = "button";
  made.addEventListener("click", act);
  return made;
}

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

export function line(error) {
  const value = error.value ? ` is ${error.value}` : "";
  const allowed = error.allowed ? ` (allowed: ${error.allowed})` : "";
  const said = error.field ? `${error.field}${value}${allowed}: ${error.do}` : error.do;
  return said.slice(0, 1).toUpperCase() + said.slice(1);
}

export function uuid() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}
