// What the phone keeps, in IndexedDB: what waits to be sent, what has arrived, and a copy of the yard.
// Knows nothing of pages or of the network.

const NAME = "drystack";
const VERSION = 1;
const KEYS = { outbox: "key", arrived: "key", stacks: "code", boards: "code", tags: "code", charges: "id", meta: null };
const COPY = ["stacks", "boards", "tags", "charges", "meta"];

let opening = null;

function open() {
  opening ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, VERSION);
    request.onupgradeneeded = () => make(request.result);
    request.onsuccess = () => resolve(ready(request.result));
    request.onerror = () => reject(request.error);
  }).catch((reason) => {
    opening = null; // the next call tries again
    throw reason;
  });
  return opening;
}

function make(db) {
  for (const [name, keyPath] of Object.entries(KEYS)) {
    if (!db.objectStoreNames.contains(name)) db.createObjectStore(name, keyPath ? { keyPath } : undefined);
  }
}

function ready(db) {
  const lost = () => (opening = null); // whoever asks next opens it anew
  db.onclose = lost;
  db.onversionchange = () => {
    db.close(); // a newer page upgrades it, or the browser takes it away; neither can while this one holds it open
    lost();
  };
  return db;
}

// Runs work(stores) in one transaction; resolves with its result once all is written, for certain where strict.
// work puts its requests at once and awaits nothing but them (see `asked`).
async function within(names, mode, work) {
  const db = await open();
  const transaction = db.transaction(names, mode, { durability: mode === "readwrite" ? "strict" : "default" });
  const stores = Object.fromEntries(names.map((name) => [name, transaction.objectStore(name)]));
  const ended = new Promise((resolve, reject) => {
    transaction.oncomplete = resolve;
    transaction.onabort = () => reject(transaction.error ?? new DOMException("aborted", "AbortError"));
  });
  let result;
  try {
    result = await work(stores);
  } catch (reason) {
    ended.catch(() => {});
    try {
      transaction.abort();
    } catch {
      // it has ended by itself already
    }
    throw reason;
  }
  await ended;
  return result;
}

// The result of one request, for use inside `change` and `look`.
export function asked(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

// Writes to several stores at once: all of it or nothing. Resolves when it is on the disk.
export function change(names, work) {
  return within(names, "readwrite", work);
}

export function look(names, work) {
  return within(names, "readonly", work);
}

export function get(name, key) {
  return look([name], (stores) => asked(stores[name].get(key)));
}

export function all(name) {
  return look([name], (stores) => asked(stores[name].getAll()));
}

// Forgets the copy of the yard. What waits to be sent, and what arrived, stays.
export function forgetCopy() {
  return change(COPY, (stores) => {
    for (const store of Object.values(stores)) store.clear();
  });
}
