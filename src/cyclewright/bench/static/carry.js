// Entries that wait at one address of the bench, as a file that is read back in at another. Each
// keeps its UUID, so that one which had arrived after all is still the same event.

const KIND = "cyclewright entries";
const LARGEST = 400 * 1024 * 1024;
const UUID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/;
const STEP = /^[a-z0-9-]{1,80}$/;
const WHERE = /^\/bikes\/[1-9]\d{0,8}\/(ticks|level|(steps|readings)\/[a-z0-9-]{1,80})$/;
const DATA = /^data:[^,]{0,200};base64$/;

const isText = (value, most = 2000) => typeof value === "string" && value.length <= most;
const isLike = (value, pattern) => isText(value) && pattern.test(value);
const isList = (value, most, each) =>
  Array.isArray(value) && value.length <= most && value.every(each);
const isPair = (value) => isList(value, 2, (item) => isText(item, 20000)) && value.length === 2;
const isFile = (value) =>
  isText(value?.field, 40) && isText(value.name, 300) && isText(value.data, LARGEST);

// All the entries in one file, photos too.
export async function packed(entries) {
  const told = await Promise.all(
    entries.map(async ({ place, tries, refused, files, record, ...entry }) => ({
      ...entry,
      record: record ?? document.body.dataset.record,
      files: await Promise.all(files.map(asText)),
    })),
  );
  const text = JSON.stringify({ kind: KIND, version: 1, entries: told });
  const day = new Date().toISOString().slice(0, 10);
  return new File([text], `entries-${day}.json`, { type: "application/json" });
}

// The entries of a file; one that is anything else is refused whole. Nothing comes in that an
// entry does not have: its place in the queue is given here.
export async function unpacked(file) {
  if (file.size > LARGEST) throw new Error("The file is larger than any of ours: choose another.");
  try {
    const told = JSON.parse(await file.text());
    const ours = told.kind === KIND && told.version === 1;
    if (ours && isList(told.entries, 2000, isEntry)) return told.entries.map(asEntry);
  } catch {
    // Said below: whatever is wrong with it, it is not one of ours.
  }
  throw new Error("This is no file of entries: choose the one that was saved at the old address.");
}

function isEntry(entry) {
  return (
    isLike(entry?.uuid, UUID) &&
    isLike(entry.record, UUID) &&
    isLike(entry.url, WHERE) &&
    Number.isInteger(entry.bike) &&
    entry.url.startsWith(`/bikes/${entry.bike}/`) &&
    [entry.what, entry.act, entry.person].every((word) => isText(word)) &&
    Number.isFinite(entry.at) &&
    isList(entry.steps, 400, (item) => isLike(item, STEP)) &&
    isList(entry.detail, 20, (item) => isText(item)) &&
    isList(entry.fields, 400, isPair) &&
    isList(entry.files, 4, isFile)
  );
}

function asEntry({ uuid, url, bike, what, act, steps, detail, at, person, record, ...given }) {
  const fields = given.fields;
  const files = given.files.map(({ field, name, data }) => ({ field, name, blob: asBlob(data) }));
  const own = { uuid, url, bike, what, act, steps, detail, at, person, record, fields, files };
  return { ...own, tries: 0, refused: null };
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
  if (!DATA.test(head)) throw new Error("no content");
  const bytes = Uint8Array.from(atob(body), (letter) => letter.charCodeAt(0));
  return new Blob([bytes], { type: head.slice(5).split(";", 1)[0] });
}
