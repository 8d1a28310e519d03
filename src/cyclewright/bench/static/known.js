// What this browser was last shown or told of each step of a bike, in this tab: none of it is news
// to whoever goes on from a page that was kept earlier.

const PLACE = "known-steps";
const ALL = "*";

function remembered() {
  try {
    return JSON.parse(sessionStorage.getItem(PLACE) ?? "{}");
  } catch {
    return {};
  }
}

const keyOf = (bike) => `${document.body.dataset.record ?? ""} ${bike}`;

export function know(bike, steps, number) {
  const all = remembered();
  const held = (all[keyOf(bike)] ??= {});
  for (const step of steps) held[step] = Math.max(held[step] ?? 0, Number(number) || 0);
  try {
    sessionStorage.setItem(PLACE, JSON.stringify(all));
  } catch {
    return;
  }
}

// The list of steps shows how every one of them stands.
export const knowAll = (bike, number) => know(bike, [ALL], number);

export function knownOf(bike, step) {
  const held = remembered()[keyOf(bike)] ?? {};
  return Math.max(held[step] ?? 0, held[ALL] ?? 0);
}
