// What a station page keeps in this browser for this address. The box is that of
// kiosk/page/box.js: its name, its store, and the state of what waits.
const NAME = "tallywalk-station";

/**
 * How many scans wait here to be sent; 0 where there is no box.
 * @returns {Promise<number>}
 */
export async function keptHere() {
  try {
    // Opening makes a box where there is none; a station page that opens its own at the
    // same time would wait for that. Browsers without the list are old and few.
    const all = await indexedDB.databases?.();
    if (all && !all.some((d) => d.name === NAME)) return 0;
    return await new Promise(countKept);
  } catch {
    return 0; // a browser that keeps nothing
  }
}

/** @type {(done: (n: number) => void) => void} */
function countKept(done) {
  const r = indexedDB.open(NAME);
  r.onupgradeneeded = () => r.transaction?.abort(); // there was none, and none is made
  r.onerror = r.onblocked = () => done(0);
  r.onsuccess = () => countIn(r.result, done);
}

/** @type {(box: IDBDatabase, done: (n: number) => void) => void} */
function countIn(box, done) {
  box.onversionchange = () => box.close();
  const all = box.transaction("scans").objectStore("scans").getAll();
  all.onsuccess = () => {
    done(all.result.filter((e) => e.state === "waiting").length);
    box.close();
  };
  all.onerror = () => (done(0), box.close());
}
