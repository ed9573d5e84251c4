/**
 * The browser's own database "safetyplan":
 *   device       one row: the UUID of this browser
 *   credentials  the key pair and credential of each person who records here
 *   sending      each claim, written before it is sent, with its state: sending, received or refused
 *
 * A write resolves only when the transaction is complete with strict durability, so that "kept" is
 * never said of a value still in memory. The connection is opened again when the browser closed it.
 */

const NAME = "safetyplan";
const VERSION = 1;
const STORES = { device: "name", credentials: "key", sending: "uuid" };

let connection = null;

function open() {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, VERSION);
    request.onupgradeneeded = () => {
      for (const [store, keyPath] of Object.entries(STORES)) request.result.createObjectStore(store, { keyPath });
    };
    request.onsuccess = () => {
      const database = request.result;
      const forget = () => { connection = null; };
      database.onversionchange = () => { database.close(); forget(); };
      database.onclose = forget;
      resolve(database);
    };
    request.onerror = () => reject(request.error);
    request.onblocked = () => reject(new Error("another tab holds an older version open"));
  });
}

async function transaction(store, mode) {
  for (const last of [false, true]) {
    connection ??= open();
    try {
      return (await connection).transaction(store, mode, { durability: "strict" });
    } catch (error) {
      connection = null;
      if (last) throw error;
    }
  }
  throw new Error("unreachable");
}

async function run(store, mode, act) {
  const work = await transaction(store, mode);
  return new Promise((resolve, reject) => {
    const request = act(work.objectStore(store));
    work.oncomplete = () => resolve(request.result);
    work.onabort = () => reject(work.error ?? new Error("the browser gave up the write"));
    work.onerror = () => reject(work.error ?? request.error);
  });
}

export const read = (store, key) => run(store, "readonly", (rows) => rows.get(key));
export const readAll = (store) => run(store, "readonly", (rows) => rows.getAll());
export const write = (store, row) => run(store, "readwrite", (rows) => rows.put(row));
export const remove = (store, key) => run(store, "readwrite", (rows) => rows.delete(key));

/** Stores the row unless one with its key exists, in one transaction; returns the row that is kept. */
export async function writeOnce(store, row) {
  const work = await transaction(store, "readwrite");
  return new Promise((resolve, reject) => {
    const rows = work.objectStore(store);
    let kept = row;
    const existing = rows.get(row[STORES[store]]);
    existing.onsuccess = () => {
      if (existing.result) kept = existing.result;
      else rows.add(row);
    };
    work.oncomplete = () => resolve(kept);
    work.onabort = () => reject(work.error ?? new Error("the browser gave up the write"));
  });
}
