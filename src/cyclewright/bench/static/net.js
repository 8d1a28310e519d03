// Whether the bench answers, and what is told when that changes.

export const net = { down: false };

// The dock shows how things stand whenever one of the modules says that they changed.
export const changed = () => document.dispatchEvent(new Event("bench:changed"));

const ask = () =>
  fetch("/static/mark.svg", { cache: "no-store", signal: AbortSignal.timeout(4000) });

export function reached() {
  if (!net.down) return;
  net.down = false;
  document.dispatchEvent(new CustomEvent("bench:reached"));
}

// Without anything to send, ask now and then whether the bench is back.
async function look() {
  if (!net.down) return;
  try {
    await ask();
    reached();
    document.dispatchEvent(new Event("bench:back"));
  } catch {
    setTimeout(look, 4000);
  }
}

export function lost() {
  if (!net.down) setTimeout(look, 2000);
  net.down = true;
  changed();
}

export async function reachable() {
  try {
    await ask();
    return true;
  } catch {
    lost();
    return false;
  }
}

export async function fetched(path) {
  try {
    const answer = await fetch(path, { headers: { Accept: "text/html", "Bench-Quiet": "yes" } });
    if (!answer.ok) return null;
    return new DOMParser().parseFromString(await answer.text(), "text/html");
  } catch {
    lost();
    return null;
  }
}

addEventListener("online", look);
addEventListener("offline", lost);
