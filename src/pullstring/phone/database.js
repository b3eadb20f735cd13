// The browser's own database on this phone. What is kept here counts as kept only when its transaction is complete.
// Steps only add: a page of yesterday and a page of today may be open at once.

const NAME = "pullstring-pocket";
const STEPS = [
  (db) => {
    const entries = db.createObjectStore("entries", { keyPath: "key", autoIncrement: true }); // the order of work
    entries.createIndex("id", "id", { unique: true });
    entries.createIndex("state", "state");
    db.createObjectStore("photos", { keyPath: "sha256" });
    db.createObjectStore("drafts", { keyPath: "act" });
    db.createObjectStore("settings");
  },
];
let opened = null;

function open() {
  opened ??= new Promise((resolve, reject) => {
    const asking = indexedDB.open(NAME, STEPS.length);
    asking.onupgradeneeded = (change) => {
      for (const step of STEPS.slice(change.oldVersion)) step(asking.result);
    };
    asking.onsuccess = () => {
      const db = asking.result;
      db.onversionchange = () => {
        db.close(); // a newer page adds a step; this one opens again after it
        opened = null;
      };
      db.onclose = () => {
        opened = null;
      };
      resolve(db);
    };
    asking.onerror = () => {
      opened = null;
      reject(asking.error);
    };
  });
  return opened;
}

/** What a request of the database gives. */
export function got(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/**
 * Do `work` inside one transaction over the named stores: all of it is kept, or nothing.
 * Gives what `work` gives, once the browser says that it is complete.
 */
export async function within(names, mode, work) {
  const db = await open();
  const doing = db.transaction(names, mode, { durability: "strict" });
  const done = new Promise((resolve, reject) => {
    doing.oncomplete = resolve;
    doing.onabort = () => reject(doing.error ?? new DOMException("it was not kept", "AbortError"));
  });
  done.catch(() => {});
  const stores = Object.fromEntries(names.map((name) => [name, doing.objectStore(name)]));
  let result;
  try {
    result = await work(stores);
  } catch (error) {
    try {
      doing.abort();
    } catch {
      // it is over already; its own reason comes below
    }
    throw doing.error ?? error;
  }
  await done;
  return result;
}

/** One kept setting; undefined when there is none. */
export const setting = (name) => within(["settings"], "readonly", (s) => got(s.settings.get(name)));

/** Keep one setting. */
export const setSetting = (name, value) => within(["settings"], "readwrite", (s) => got(s.settings.put(value, name)));
