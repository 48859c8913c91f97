// Where scans wait until the server has them: IndexedDB, which survives a reload, a
// crash and a flat battery (durability strict). The counter is raised in the same
// transaction that keeps the scan, so that two tabs of one device never use the same
// number. What is there is read once; other tabs say when they changed it.

import { practising } from "./practising.js";

/**
 * @typedef {import("./_types.js").Entry} Entry
 * @typedef {import("./_types.js").Values} Values
 */

const NAME = "tallywalk-station";

/** @type {IDBDatabase | null} */
let db = null;
/** @type {Map<number, Entry>} */
let scans = new Map();
/** @type {Entry[] | null} */
let sorted = null;
/** @type {Map<string, unknown>} */
const memory = new Map(); // values, where the browser keeps nothing
/** @type {BroadcastChannel | null} */
let tabs = null;

/** Whether the browser keeps anything at all. */
export const keeps = () => db !== null;

/**
 * Opens the box; a browser that refuses gets one that lasts until the reload.
 * @param {() => void} [changed] is called after another tab changed it
 */
export async function openBox(changed = () => {}) {
  db = await new Promise((done) => {
    try {
      const r = indexedDB.open(NAME, 1);
      r.onupgradeneeded = () => {
        r.result.createObjectStore("scans", { keyPath: "n" });
        r.result.createObjectStore("values");
      };
      r.onsuccess = () => {
        r.result.onversionchange = () => r.result.close();
        done(r.result);
      };
      r.onerror = r.onblocked = () => done(null);
    } catch {
      done(null);
    }
  });
  if (!db) return;
  if (practising) return readOnly();
  await readAll();
  tabs = new BroadcastChannel(NAME);
  tabs.onmessage = () => readAll().then(changed);
}

/** Practice begins with the values of this device, and writes none. */
async function readOnly() {
  for (const key of /** @type {const} */ (["floor", "remembered"])) memory.set(key, await value(key));
  db?.close();
  db = null;
}

async function readAll() {
  const all = await run("scans", "readonly", (store, /** @type {(v: Entry[]) => void} */ out) => {
    const r = store.getAll();
    r.onsuccess = () => out(r.result);
  });
  scans = new Map(all.map((e) => [e.n, e]));
  sorted = null;
}

/** Asks the browser not to clear the box when the disk is full. */
export const holdOn = () => navigator.storage?.persist?.().catch(() => false);

/**
 * run does all its work in one transaction; it must not wait for anything else. What
 * it wrote is on the disk when the promise is kept.
 * @template [T=void]
 * @param {string | string[]} stores
 * @param {IDBTransactionMode} mode
 * @param {(store: IDBObjectStore, out: (v: T) => void, t: IDBTransaction) => unknown} work
 * @returns {Promise<T>} what work gave out
 */
function run(stores, mode, work) {
  return new Promise((done, fail) => {
    if (!db) return fail(new Error("the box is not open"));
    const t = db.transaction(stores, mode, { durability: mode === "readwrite" ? "strict" : "default" });
    let out = /** @type {T | undefined} */ (undefined);
    work(t.objectStore(typeof stores === "string" ? stores : stores[0]), (v) => (out = v), t);
    t.oncomplete = () => done(/** @type {T} */ (out));
    t.onerror = t.onabort = () => fail(t.error || new Error("the browser keeps nothing more"));
  });
}

/** @param {Entry[]} entries */
function note(entries) {
  for (const e of entries) scans.set(e.n, e);
  sorted = null;
  tabs?.postMessage(0);
}

/**
 * Keeps a new scan under the device's next number. It fails where the browser keeps
 * nothing more.
 * @param {(n: number) => Entry} make the entry with that number
 * @returns {Promise<Entry>}
 */
export async function addScan(make) {
  const entry = db ? await added(make) : make(Number(memory.get("n") ?? 0) + 1);
  if (!db) memory.set("n", entry.n);
  note([entry]);
  return entry;
}

/**
 * @param {(n: number) => Entry} make
 * @returns {Promise<Entry>}
 */
const added = (make) =>
  run(["scans", "values"], "readwrite", (store, out, t) => {
    const values = t.objectStore("values");
    const last = values.get("n");
    last.onsuccess = () => {
      const n = (last.result || 0) + 1;
      const entry = make(n);
      values.put(n, "n");
      store.add(entry);
      out(entry);
    };
  });

/**
 * Writes entries again, all or none.
 * @param {Entry[]} entries
 */
export async function putScans(entries) {
  if (!entries.length) return;
  if (db) await run("scans", "readwrite", (store) => entries.forEach((e) => store.put(e)));
  note(entries);
}

/**
 * Writes entries again and sets a small value, all or nothing.
 * @param {(entry: Entry) => Entry | null} turn what becomes of an entry; null leaves it as it is
 * @param {string} key
 * @param {unknown} v
 */
export async function turnScans(turn, key, v) {
  /** @type {Entry[]} */
  let turned = [];
  if (!db) {
    turned = [...scans.values()].flatMap((e) => turn(e) ?? []);
    memory.set(key, v);
  } else {
    await run(["scans", "values"], "readwrite", (store, _, t) => {
      const r = store.getAll();
      r.onsuccess = () => {
        turned = r.result.flatMap((/** @type {Entry} */ e) => turn(e) ?? []);
        turned.forEach((e) => store.put(e));
        t.objectStore("values").put(v, key);
      };
    });
  }
  note(turned);
}

/**
 * Removes entries.
 * @param {number[]} ns
 */
export async function dropScans(ns) {
  if (!ns.length) return;
  if (db) await run("scans", "readwrite", (store) => ns.forEach((n) => store.delete(n)));
  for (const n of ns) scans.delete(n);
  note([]);
}

/**
 * All entries in the order of their numbers.
 * @returns {Entry[]}
 */
export const allScans = () => (sorted ??= [...scans.values()].sort((a, b) => a.n - b.n));

/**
 * A small value; make gives it when there is none yet.
 * @template {keyof Values} K
 * @template {Values[K] | undefined} [V=undefined]
 * @param {K} key
 * @param {() => V} [make]
 * @returns {Promise<Values[K] | V>}
 */
export function value(key, make) {
  if (!db) {
    if (!memory.has(key) && make) memory.set(key, make());
    return Promise.resolve(/** @type {Values[K] | V} */ (memory.get(key)));
  }
  const mode = make ? "readwrite" : "readonly";
  return run("values", mode, (values, /** @type {(v: Values[K] | V) => void} */ out) => {
    const r = values.get(key);
    r.onsuccess = () => {
      if (r.result !== undefined || !make) return out(r.result);
      const v = make();
      values.put(v, key);
      out(v);
    };
  });
}

/**
 * Sets a value.
 * @template {keyof Values} K
 * @param {K} key
 * @param {Values[K]} v
 * @returns {Promise<void>}
 */
export function setValue(key, v) {
  if (db) return run("values", "readwrite", (values) => values.put(v, key));
  memory.set(key, v);
  return Promise.resolve();
}
