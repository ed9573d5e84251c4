/**
 * The browser's own database "safetyplan":
 *   device       the UUID of this browser, the last number given to a record, the pause a server asked for,
 *                how far this clock was from the server's
 *   credentials  the key pair and credential of each person who records here
 *   sending      each claim, written before it is sent (outbox.js), by state and number
 *   files        bytes that a claim names by their SHA-256 (a photo)
 *   bundles      what is due and the data blocks of an establishment, as last fetched
 *   witness      the last record seal seen of an establishment, and the alarm when a newer one disagrees
 *
 * A write resolves only when the transaction is complete with strict durability, so that "kept" is
 * never said of a value still in memory. The connection is opened again when the browser closed it.
 */

const NAME = "safetyplan";
const VERSION = 2;
const STORES = {
  device: "name", credentials: "key", sending: "uuid", files: "sha256", bundles: "establishment", witness: "establishment",
};
const BLOCKED_FOR = 5000;
const FULL = "QuotaExceededError";

let connection = null;

/** Rows of version 1 had no number: they get one in the order in which they were captured. */
function numberOldRows(upgrade) {
  const rows = upgrade.objectStore("sending");
  rows.getAll().onsuccess = ({ target }) => {
    const old = target.result.filter(({ number }) => number === undefined);
    old.sort((first, second) => (first.claim.captured_at < second.claim.captured_at ? -1 : 1));
    old.forEach((row, place) => rows.put({ ...row, number: place + 1, files: [] }));
    if (old.length > 0) upgrade.objectStore("device").put({ name: "number", last: old.length });
  };
}

function upgraded(request, from) {
  const database = request.result;
  for (const [store, keyPath] of Object.entries(STORES)) {
    if (!database.objectStoreNames.contains(store)) database.createObjectStore(store, { keyPath });
  }
  if (from < 2) {
    request.transaction.objectStore("sending").createIndex("order", ["state", "number"]);
    numberOldRows(request.transaction);
  }
}

function open() {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, VERSION);
    request.onupgradeneeded = ({ oldVersion }) => upgraded(request, oldVersion);
    request.onsuccess = () => {
      const database = request.result;
      const forget = () => { connection = null; };
      // A newer page waits for this one to let go; what is kept is complete, so letting go loses nothing.
      database.onversionchange = () => { database.close(); forget(); };
      database.onclose = forget;
      resolve(database);
    };
    request.onerror = () => reject(request.error);
    request.onblocked = () => setTimeout(() => reject(new Error("another tab holds an older version open")), BLOCKED_FOR);
  });
}

async function transaction(stores, mode) {
  for (const last of [false, true]) {
    connection ??= open();
    try {
      return (await connection).transaction(stores, mode, { durability: "strict" });
    } catch (error) {
      connection = null;
      if (last) throw error;
    }
  }
  throw new Error("unreachable");
}

async function attempt(stores, mode, act) {
  const work = await transaction(stores, mode);
  return new Promise((resolve, reject) => {
    const failed = () => reject(work.error ?? new Error("the browser gave up the write"));
    let answer;
    work.oncomplete = () => resolve(answer?.value);
    work.onabort = failed;
    work.onerror = failed;
    try {
      answer = act(...[stores].flat().map((store) => work.objectStore(store)));
    } catch (error) {
      work.abort();
      reject(error);
    }
  });
}

/**
 * Runs act(store, ...) in one transaction over the named stores and gives the `value` of the object that act
 * returned, as it is when the transaction is complete. A lost connection is opened again and the work done
 * once more: so act must be repeatable. A full disk is not tried again.
 */
export async function transact(stores, mode, act) {
  try {
    return await attempt(stores, mode, act);
  } catch (error) {
    if (error?.name === FULL) throw error;
    connection?.then((database) => database.close()).catch(() => {});
    connection = null;
    return attempt(stores, mode, act);
  }
}

/** The answer of a request as an object whose `value` is there when the transaction is complete. */
export const answerOf = (request) => ({ get value() { return request.result; } });

const run = (store, mode, act) => transact(store, mode, (rows) => answerOf(act(rows)));

export const read = (store, key) => run(store, "readonly", (rows) => rows.get(key));
export const readAll = (store) => run(store, "readonly", (rows) => rows.getAll());
export const write = (store, row) => run(store, "readwrite", (rows) => rows.put(row));
export const remove = (store, key) => run(store, "readwrite", (rows) => rows.delete(key));

/** Stores the row unless one with its key exists, in one transaction; returns the row that is kept. */
export function writeOnce(store, row) {
  return transact(store, "readwrite", (rows) => {
    const answer = { value: row };
    const existing = rows.get(row[STORES[store]]);
    existing.onsuccess = () => {
      if (existing.result) answer.value = existing.result;
      else rows.add(row);
    };
    return answer;
  });
}

/** Changes a row in one transaction; returns the row as changed, or undefined when there is none. */
export function change(store, key, changes) {
  return transact(store, "readwrite", (rows) => {
    const answer = { value: undefined };
    const existing = rows.get(key);
    existing.onsuccess = () => {
      if (!existing.result) return;
      answer.value = { ...existing.result, ...changes };
      rows.put(answer.value);
    };
    return answer;
  });
}
