// What a browser keeps: a database where it allows one, else this page's own memory.

import { bikeOf } from "./dom.js";

export const shelf = await openShelf();

async function openShelf() {
  try {
    const database = await opened();
    const store = (name, mode) => database.transaction(name, mode).objectStore(name);
    return {
      lasting: true,
      all: () => done(store("entries", "readonly").getAll()),
      add: (entry) => done(store("entries", "readwrite").add(entry)),
      put: (entry) => done(store("entries", "readwrite").put(entry)),
      remove: (place) => done(store("entries", "readwrite").delete(place)),
      pocket: (bike) => done(store("pockets", "readonly").get(bike)),
      pockets: () => done(store("pockets", "readonly").getAll()),
      page: async (path) => (await done(store("pages", "readonly").get(path)))?.text,
      keep: (kept) => keepAll(database, kept),
    };
  } catch {
    return inMemory();
  }
}

function opened() {
  const asked = indexedDB.open("cyclewright-bench", 1);
  asked.onupgradeneeded = () => {
    asked.result.createObjectStore("entries", { keyPath: "place", autoIncrement: true });
    asked.result.createObjectStore("pockets", { keyPath: "bike" });
    asked.result.createObjectStore("pages", { keyPath: "path" });
  };
  return done(asked);
}

// Pages one by one, so that a page load reads one of them and not the whole bike.
function keepAll(database, { pages, ...rest }) {
  const whole = database.transaction(["pockets", "pages"], "readwrite");
  const root = `/bikes/${rest.bike}/`;
  whole.objectStore("pages").delete(IDBKeyRange.bound(root, `${root}\uffff`));
  for (const [path, text] of Object.entries(pages)) whole.objectStore("pages").put({ path, text });
  whole.objectStore("pockets").put(rest);
  return new Promise((resolve, reject) => {
    whole.oncomplete = resolve;
    whole.onerror = whole.onabort = () => reject(whole.error);
  });
}

function done(asked) {
  return new Promise((resolve, reject) => {
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
    asked.onblocked = () => reject(new Error("blocked"));
  });
}

function inMemory() {
  const held = new Map();
  const pockets = new Map();
  let last = 0;
  return {
    lasting: false,
    all: async () => [...held.values()],
    add: async (entry) => {
      entry.place = ++last;
      held.set(entry.place, entry);
      return entry.place;
    },
    put: async (entry) => held.set(entry.place, entry),
    remove: async (place) => held.delete(place),
    pocket: async (bike) => pockets.get(bike),
    pockets: async () => [...pockets.values()],
    page: async (path) => pockets.get(bikeOf(path))?.pages[path],
    keep: async (kept) => pockets.set(kept.bike, kept),
  };
}
