// What was written on a card by hand, as the scans that it stands for.

/**
 * @typedef {import("../../lib/_types.js").Schema["SentScan"]} Scan
 * Base is what each scan of a card has.
 * @typedef {Omit<Scan, "id" | "action" | "station" | "operator" | "operation" | "happened">} Base
 * @typedef {object} Row
 * @property {number} operation
 * @property {string} machine
 * @property {string} person
 * @property {string} date
 * @property {string} from
 * @property {string} to
 * @property {string} good
 * @property {string} scrap
 * @property {string} reason
 * @property {boolean} finish
 */

// isEmpty: of a row that nobody wrote in only the operation and what was proposed is there.
/** @param {Row} r */
export const isEmpty = (r) => !r.from && !r.to && !r.good && !r.scrap && !r.person;

const day = 86400e3; // ms

// faultOf names the first field of a row that cannot be right, with the key of why.
/** @type {(r: Row, at: (text: string) => number, now: number) => [string, string] | null} */
export function faultOf(r, at, now) {
  const [from, to] = spanOf(r, at);
  if (!r.machine) return ["machine", "typed.fault.machine"];
  if (!r.person) return ["person", "typed.fault.person"];
  if (!r.date || from === null) return ["from", "typed.fault.time"];
  if (to === null) return ["to", "typed.fault.time"];
  if (to > now) return ["to", "typed.fault.future"];
  if (!whole(r.good)) return ["good", "typed.fault.count"];
  if (!whole(r.scrap)) return ["scrap", "typed.fault.count"];
  if (Number(r.scrap) > 0 && !r.reason) return ["reason", "typed.fault.reason"];
  return null;
}

/** @param {string} text */
const whole = (text) => /^\d{0,6}$/.test(text.trim());

// spanOf is when a row began and ended; an end before the beginning is the next day's.
/** @type {(r: Row, at: (text: string) => number) => [number | null, number | null]} */
function spanOf(r, at) {
  const time = (/** @type {string} */ t) => {
    const ms = t ? at(`${r.date}T${t}`) : NaN;
    return Number.isNaN(ms) ? null : ms;
  };
  const from = time(r.from);
  let to = time(r.to);
  if (from !== null && to !== null && to < from) to += day;
  return [from, to];
}

// scansOf are the scans of a row: the run from its beginning, the pieces and the end at its
// end. base is what each has, id makes the next one's id.
/** @type {(r: Row, at: (text: string) => number, base: Base, id: () => string) => Scan[]} */
export function scansOf(r, at, base, id) {
  const [from, to] = spanOf(r, at);
  /** @type {(action: Scan["action"], t: number | null, more?: Partial<Scan>) => Scan} */
  const of = (action, t, more = {}) => ({
    ...base,
    id: id(),
    station: r.machine,
    operator: r.person.trim(),
    operation: r.operation,
    action,
    happened: new Date(/** @type {number} */ (t)).toISOString(),
    ...more,
  });
  const all = [of("run", from)];
  const good = Number(r.good || 0),
    scrap = Number(r.scrap || 0);
  if (r.good || scrap)
    all.push(of("count", to, { good, ...(scrap ? { scrap: [{ reason: r.reason, n: scrap }] } : {}) }));
  if (r.finish) all.push(of("finish", to));
  return all;
}
