// Steppers, launch and the awake screen. Every page works without this file, launch excepted.
"use strict";

(() => {
  launch();
  document.addEventListener("click", stepper);
  document.addEventListener("DOMContentLoaded", ready);
  if (document.readyState !== "loading") ready();

  function ready() {
    if (document.querySelector("[data-wake]")) keepAwake();
    drafted();
    for (const tick of document.querySelectorAll("main [autofocus]")) tick.focus();
    const tabs = document.querySelector(".tabs");
    const tab = tabs?.querySelector("[aria-current]");
    if (tab) tabs.scrollLeft = tab.offsetLeft - (tabs.clientWidth - tab.offsetWidth) / 2;
  }

  // What was typed into the nine answers comes back after a reload or a way back, in this tab only,
  // until a bike is on the bench.
  document.addEventListener("input", ({ target: { form } }) => {
    if (form?.getAttribute("action") !== "/start") return;
    sessionStorage.setItem("draft", new URLSearchParams(new FormData(form)));
  });
  document.addEventListener("reset", ({ target }) => {
    sessionStorage.removeItem("draft");
    const told = target.querySelector("[data-drafted]");
    if (told) told.hidden = true;
  });

  function drafted() {
    if (document.body.dataset.bike) sessionStorage.removeItem("draft");
    const form = document.querySelector("form[data-draft]");
    const draft = sessionStorage.getItem("draft");
    if (!form || !draft) return;
    const typed = new URLSearchParams(draft);
    for (const field of form.elements) {
      if (field.type === "radio") field.checked = typed.get(field.name) === field.value;
      else if (field.name) field.value = typed.get(field.name) ?? "";
    }
    form.querySelector("[data-drafted]").hidden = false;
  }

  // A new drawing takes a moment: the old one stays, paler, until it is there.
  document.addEventListener("htmx:beforeSwap", (event) => {
    if (event.detail.target.id !== "setup") return;
    const old = new Map();
    for (const box of document.querySelectorAll(".drawing[id]")) old.set(box.id, box.innerHTML);
    document.addEventListener(
      "htmx:afterSwap",
      () => {
        for (const [id, drawing] of old) {
          const box = document.getElementById(id);
          if (box && !box.firstElementChild) box.innerHTML = drawing;
        }
      },
      { once: true },
    );
  });

  // What is said above the station cards moves none of them under the thumb.
  document.addEventListener("htmx:beforeSwap", ({ detail: { target } }) => {
    if (target.id !== "build") return;
    const top = (card) => card.getBoundingClientRect().top;
    const cards = [...target.querySelectorAll(".station")];
    const card = cards.findLast((one) => top(one) < 0);
    if (!card) return;
    const was = top(card);
    const hold = () => scrollBy(0, top(document.getElementById(card.id)) - was);
    document.addEventListener("htmx:afterSwap", hold, { once: true });
  });

  // The launch token is in the address's fragment, which browsers never send by themselves.
  async function launch() {
    const token = location.hash.slice(1);
    if (!/^[\w-]{20,}$/.test(token) || document.querySelector("[data-pair]")) return;
    history.replaceState(null, "", location.pathname + location.search);
    const answer = await fetch("/launch", {
      method: "POST",
      headers: { Accept: "application/json" },
      body: new URLSearchParams({ token }),
    });
    if (answer.ok) location.reload();
    else document.querySelector("[data-launch] input")?.focus();
  }

  // A stepper adds its step to the number in its field and leaves the unit as it was written.
  function stepper(event) {
    const button = event.target.closest?.("[data-stepper] button");
    if (!button) return;
    const box = button.closest("[data-stepper]");
    const field = box.querySelector("input");
    // What is read starts empty: the first press takes what is expected, the next ones step from it.
    if (!field.value && box.dataset.from) {
      event.preventDefault();
      field.value = box.dataset.from;
      field.dispatchEvent(new Event("change", { bubbles: true }));
      return;
    }
    const found = /^(\s*[+-]?\d*\.?\d+)(.*)$/.exec(
      field.value.replace("−", "-").replace(/(\d),(\d)/, "$1.$2"),
    );
    if (!found) return;
    event.preventDefault();
    const step = Number(box.dataset.step) || 1;
    const sign = button === box.firstElementChild ? -1 : 1;
    const decimals = Math.max(places(box.dataset.step), places(found[1]));
    const least = box.dataset.least === undefined ? -Infinity : Number(box.dataset.least);
    const next = Math.max(least, Number(found[1]) + sign * step);
    field.value = next.toFixed(decimals) + found[2];
    field.dispatchEvent(new Event("change", { bubbles: true }));
  }

  function places(text) {
    return (String(text).trim().split(".")[1] || "").length;
  }

  async function keepAwake() {
    if (!navigator.wakeLock) return;
    const hold = () => navigator.wakeLock.request("screen").catch(() => undefined);
    await hold();
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "visible") hold();
    });
  }
})();
