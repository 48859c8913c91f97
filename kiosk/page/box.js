// Where scans wait until the server has them: IndexedDB, which survives a
// reload. The counter is raised in the same transaction that keeps the scan, so
// that two tabs of one device never use the same number.

/** @typedef {import("./types.js").Entry} Entry */

const NAME = "tallywalk-station";

/** @type {IDBDatabase | null} */
let db = null;
/** @type {{scans: Map<number, any>, values: Map<string, any>}} */
const memory = { scans: new Map(), values: new Map() };

/** Whether the browser keeps anything at all. */
export const keeps = () => db !== null;

/** Opens the box; a browser that refuses gets one that lasts until the reload. */
export function openBox() {
  return new Promise((/** @type {(value?: unknown) => void} */ done) => {
    try {
      const r = indexedDB.open(NAME, 1);
      r.onupgradeneeded = () => {
        r.result.createObjectStore("scans", { keyPath: "n" });
        r.result.createObjectStore("values");
      };
      r.onsuccess = () => {
        db = r.result;
        const opened = r.result;
        opened.onversionchange = () => opened.close();
        navigator.storage?.persist?.().catch(() => {});
        done();
      };
      r.onerror = r.onblocked = () => done();
    } catch {
      done();
    }
  });
}

/**
 * run does all its work in one transaction; it must not wait for anything else.
 * @param {(scans: IDBObjectStore, values: IDBObjectStore, out: (v: any) => void) => unknown} work
 * @returns {Promise<any>}
 */
function run(work) {
  return new Promise((done, fail) => {
    if (!db) return fail(new Error("the box is not open"));
    const t = db.transaction(["scans", "values"], "readwrite", { durability: "strict" });
    /** @type {any} */
    let out;
    work(t.objectStore("scans"), t.objectStore("values"), (v) => (out = v));
    t.oncomplete = () => done(out);
    t.onerror = t.onabort = () => fail(t.error || new Error("the browser keeps nothing more"));
  });
}

/**
 * Keeps a new scan under the device's next number.
 * @param {(n: number) => Entry} make the entry with that number
 * @returns {Promise<Entry>}
 */
export function addScan(make) {
  if (!db) {
    const n = (memory.values.get("n") || 0) + 1;
    const entry = make(n);
    memory.values.set("n", n);
    memory.scans.set(n, entry);
    return Promise.resolve(entry);
  }
  return run((scans, values, out) => {
    const last = values.get("n");
    last.onsuccess = () => {
      const n = (last.result || 0) + 1;
      const entry = make(n);
      values.put(n, "n");
      scans.add(entry);
      out(entry);
    };
  });
}

/**
 * Writes an entry again.
 * @param {Entry} entry
 */
export function putScan(entry) {
  if (!db) {
    memory.scans.set(entry.n, entry);
    return Promise.resolve();
  }
  return run((scans) => scans.put(entry));
}

/**
 * Writes entries again and sets a small value, all or nothing.
 * @param {(entry: Entry) => Entry | null} turn what becomes of an entry; null leaves it as it is
 * @param {string} key
 * @param {unknown} v
 */
export function turnScans(turn, key, v) {
  if (!db) {
    for (const e of memory.scans.values()) {
      const turned = turn(e);
      if (turned) memory.scans.set(e.n, turned);
    }
    memory.values.set(key, v);
    return Promise.resolve();
  }
  return run((scans, values) => {
    const r = scans.getAll();
    r.onsuccess = () => {
      for (const turned of r.result.map(turn)) if (turned) scans.put(turned);
      values.put(v, key);
    };
  });
}

/**
 * Removes an entry.
 * @param {number} n
 */
export function dropScan(n) {
  if (!db) {
    memory.scans.delete(n);
    return Promise.resolve();
  }
  return run((scans) => scans.delete(n));
}

/**
 * All entries in the order of their numbers.
 * @returns {Promise<Entry[]>}
 */
export function allScans() {
  if (!db) return Promise.resolve([...memory.scans.values()].sort((a, b) => a.n - b.n));
  return run((scans, _, out) => {
    const r = scans.getAll();
    r.onsuccess = () => out(r.result);
  });
}

/**
 * A small value; make gives it when there is none yet.
 * @param {string} key
 * @param {() => any} [make]
 */
export function value(key, make) {
  if (!db) {
    if (!memory.values.has(key) && make) memory.values.set(key, make());
    return Promise.resolve(memory.values.get(key));
  }
  return run((_, values, out) => {
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
 * Sets a small value.
 * @param {string} key
 * @param {unknown} v
 */
function setValue(key, v) {
  if (!db) {
    memory.values.set(key, v);
    return Promise.resolve();
  }
  return run((_, values) => values.put(v, key));
}
