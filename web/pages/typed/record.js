// Rows of a card on their way into the record: each is recorded once.
import { signal } from "../../lib/vendor/ui.js";
import { faultOf, isEmpty, scansOf } from "./rows.js";

/**
 * @typedef {import("../../lib/_types.js").Schema["Result"]} Result
 * @typedef {import("./rows.js").Scan} Scan
 * Typed is a row and what became of it: what of it was sent and not answered, and which
 * of its actions are recorded.
 * @typedef {import("./rows.js").Row & {
 *   key: string, sent: Scan[] | null, recorded: string[], done: boolean, results: Result[] | null,
 *   problem: string | null, fault: string | null
 * }} Typed
 */

/** @typedef {{value: Typed[]}} Rows */

/**
 * Ways are how rows are sent: send posts scans and gives the results, or throws a Problem;
 * lost says that no answer came.
 * @typedef {object} Ways
 * @property {(text: string) => number} at
 * @property {() => number} now
 * @property {Omit<import("./rows.js").Base, "at">} base of each scan
 * @property {(t: number) => string} id
 * @property {(scans: Scan[]) => Promise<Result[]>} send
 * @property {(key: string) => string} say
 * @property {(err: Error) => string} lost
 */

export const busy = signal(false); // rows are being sent

// What a recorded action has of the row: it cannot be typed otherwise any more.
/** @type {Record<string, string[]>} */
const says = {
  run: ["machine", "person", "date", "from"],
  count: ["good", "scrap", "reason"],
  finish: ["finish"],
};

/**
 * isLocked: of what may be recorded nothing can be changed.
 * @param {Typed} r
 * @param {string} name of a field
 */
export const isLocked = (r, name) =>
  r.done || r.sent !== null || r.recorded.some((action) => says[action]?.includes(name));

/** @type {(rows: Rows, key: string, more: Partial<Typed>) => void} */
export function change(rows, key, more) {
  rows.value = rows.value.map((r) => (r.key === key ? { ...r, ...more } : r));
}

/**
 * recordAll sends the rows that are filled in and not recorded yet, one after the other,
 * each as it is when its turn comes.
 * @param {Rows} rows
 * @param {Ways} ways
 */
export async function recordAll(rows, ways) {
  if (busy.value) return;
  busy.value = true;
  try {
    for (const { key } of rows.value) {
      const r = rows.value.find((x) => x.key === key);
      if (r && !r.done && !isEmpty(r)) await record(rows, r, ways);
    }
  } finally {
    busy.value = false;
  }
}

// record sends a row. One that was sent and not answered goes out as it was, with its ids,
// so that nothing is there twice.
/** @type {(rows: Rows, r: Typed, ways: Ways) => Promise<void>} */
async function record(rows, r, { at, now, base, id, send, say, lost }) {
  const t = now(),
    fault = r.sent ? null : faultOf(r, at, t);
  if (fault) return change(rows, r.key, { problem: say(fault[1]), fault: fault[0] });
  let n = 0; // what happened at one time goes by its id: the count before the end
  const made = () => scansOf(r, at, { at: new Date(t).toISOString(), ...base }, () => id(t + n++));
  const scans = r.sent ?? made().filter((s) => !r.recorded.includes(s.action));
  change(rows, r.key, { sent: scans, problem: null, fault: null, results: null });
  try {
    change(rows, r.key, answered(r, scans, scans.length ? await send(scans) : []));
  } catch (e) {
    const err = /** @type {import("../../lib/api.js").Problem} */ (e);
    change(rows, r.key, err.passing ? { problem: lost(err) } : { sent: null, problem: err.message });
  }
}

// answered is what an answer makes of a row: what was refused may be typed otherwise and is
// sent with other ids then, and only that.
/** @type {(r: Typed, scans: Scan[], results: Result[]) => Partial<Typed>} */
function answered(r, scans, results) {
  const is = (/** @type {number} */ i, /** @type {string[]} */ ...outcomes) =>
    outcomes.includes(results[i]?.outcome);
  const recorded = scans.filter((_, i) => is(i, "kept", "question")).map((s) => s.action);
  const unknown = results.length < scans.length || results.some((x) => (x.status ?? 0) >= 500);
  return {
    results,
    recorded: [...r.recorded, ...recorded],
    sent: unknown ? scans : null,
    done: recorded.length === scans.length,
  };
}
