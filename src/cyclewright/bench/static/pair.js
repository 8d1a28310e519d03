// A phone asks to be let in: the code is in the address's fragment, which browsers never send by
// themselves, and leaves the address at once.

const box = document.querySelector("[data-pair]");
const asked = (path, body) =>
  fetch(path, {
    method: "POST",
    headers: { Accept: "application/json" },
    body: new URLSearchParams(body),
  });

const code = location.hash.slice(1);
if (box && /^[\w-]{22}$/.test(code)) {
  history.replaceState(null, "", location.pathname);
  ask(code);
}

async function ask(code) {
  try {
    const answer = await asked("/pair", { code });
    const told = await answer.json();
    if (!answer.ok) return wrong(told.errors[0].do);
    box.querySelector("[data-number]").textContent = told.number;
    show("wait");
    await wait(told.claim);
  } catch {
    wrong("the bench does not answer: is this phone on the workshop's network?");
  }
}

async function wait(claim) {
  for (;;) {
    await new Promise((resolve) => setTimeout(resolve, 1000));
    const { state } = await (await asked("/pair/wait", { claim })).json();
    if (state === "in") return location.replace("/trust");
    if (state === "refused") return wrong("the bench said no.");
    if (state === "over") return wrong("it took too long: ask for a new code at the bench.");
  }
}

function wrong(why) {
  box.querySelector("[data-why]").textContent = why[0].toUpperCase() + why.slice(1);
  show("wrong");
}

function show(state) {
  for (const part of box.querySelectorAll("[data-state]")) part.hidden = part.dataset.state !== state;
}
