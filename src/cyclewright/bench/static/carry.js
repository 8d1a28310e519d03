// Entries that wait at one address of the bench, as a file that is read back in at another. Each
// keeps its UUID, so that one which had arrived after all is still the same event.

const KIND = "cyclewright entries";
const LARGEST = 400 * 1024 * 1024;
const UUID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/;
const WHERE = /^\/bikes\/[1-9]\d{0,8}\/(ticks|level|(steps|readings)\/[a-z0-9-]{1,80})$/;

const isText = (value, most = 2000) => typeof value === "string" && value.length <= most;
const isList = (value, most, each) =>
  Array.isArray(value) && value.length <= most && value.every(each);
const isPair = (value) => isList(value, 2, (item) => isText(item)) && value.length === 2;
const isFile = (value) =>
  isText(value?.field, 40) && isText(value.name, 300) && /^data:[^,]*;base64,/.test(value.data);

// All the entries in one file, photos too.
export async function packed(entries) {
  const told = await Promise.all(
    entries.map(async ({ place, tries, refused, files, ...entry }) => ({
      ...entry,
      files: await Promise.all(files.map(asText)),
    })),
  );
  const text = JSON.stringify({ kind: KIND, version: 1, entries: told });
  const day = new Date().toISOString().slice(0, 10);
  return new File([text], `entries-${day}.json`, { type: "application/json" });
}

// The entries of a file; one that is anything else is refused whole.
export async function unpacked(file) {
  if (file.size > LARGEST) throw new Error("The file is larger than any of ours: choose another.");
  let told = null;
  try {
    told = JSON.parse(await file.text());
  } catch {
    told = null;
  }
  if (told?.kind !== KIND || told.version !== 1 || !isList(told.entries, 2000, isEntry)) {
    throw new Error("This is no file of entries: choose the one that was saved at the old address.");
  }
  return told.entries.map((entry) => ({
    ...entry,
    files: entry.files.map(({ field, name, data }) => ({ field, name, blob: asBlob(data) })),
    tries: 0,
    refused: null,
  }));
}

function isEntry(entry) {
  return (
    UUID.test(entry?.uuid) &&
    WHERE.test(entry.url) &&
    entry.url.startsWith(`/bikes/${entry.bike}/`) &&
    [entry.what, entry.act, entry.person, entry.record].every((word) => isText(word)) &&
    Number.isFinite(entry.at) &&
    isList(entry.steps, 400, (item) => isText(item, 80)) &&
    isList(entry.detail, 20, (item) => isText(item)) &&
    isList(entry.fields, 400, isPair) &&
    isList(entry.files, 4, isFile)
  );
}

function asText({ field, name, blob }) {
  return new Promise((resolve, reject) => {
    const reader = new FileReader();
    reader.onload = () => resolve({ field, name, data: reader.result });
    reader.onerror = () => reject(reader.error);
    reader.readAsDataURL(blob);
  });
}

function asBlob(data) {
  const [head, body] = data.split(",", 2);
  const bytes = Uint8Array.from(atob(body), (letter) => letter.charCodeAt(0));
  return new Blob([bytes], { type: head.slice(5).split(";", 1)[0] });
}
