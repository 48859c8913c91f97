// What needs someone: the conditions that are amber, on every page and wall alike, each
// with one mark; nothing else is. All of them are facts and moments that the boards bring
// along, so that they come true by the clock.
import { openTime } from "./board.js";
import { daysBetween, elapsed } from "./times.js";
import { say } from "./words.js";

/**
 * Conditions, the worst first: what is late, what will be late, what stands still at its
 * machine, is held, waits for someone's decision (of an inspector about pieces set aside,
 * or about a first-off), is past its planned time (or the day it was expected back), and
 * what waits longer than 19 of 20 batches did before its work centre.
 */
export const conditions = ["late", "soon", "stop", "held", "ask", "over", "long"];

/** urgent are the conditions that a wall marks from far: the others are for those who stand near. */
export const urgent = conditions.slice(0, 4);

/**
 * Needy is a row of a board, or a place: what is asked of it to know whether it needs
 * someone.
 * @typedef {object} Needy
 * @property {string} [state]
 * @property {boolean | number} [late]
 * @property {boolean} [work_late]
 * @property {number} [held]
 * @property {number} [asks]
 * @property {string} [late_from]
 * @property {string} [over_from]
 * @property {string} [long_from]
 */

const least = 60000; // ms past a plan that are worth a word

/** @type {(moment: string | undefined, t: number) => boolean} */
const since = (moment, t) => Boolean(moment) && Date.parse(moment ?? "") <= t;

/** @type {Record<string, (r: Needy, t: number) => boolean>} */
const holds = {
  late: (r) => Boolean(r.late || r.work_late),
  soon: (r, t) => since(r.late_from, t),
  stop: (r) => r.state === "stopped",
  held: (r) => r.state === "held" || (r.held ?? 0) > 0,
  ask: (r) => r.state === "review" || r.state === "firstoff" || (r.asks ?? 0) > 0,
  over: (r, t) => since(r.over_from, t - least) && r.state !== "stopped",
  long: (r, t) => since(r.long_from, t),
};

/**
 * needsOf lists the conditions that hold of something at t, the worst first. What is
 * late will not be late any more.
 * @param {Needy} r
 * @param {number} t
 */
export const needsOf = (r, t) =>
  conditions.filter((c) => holds[c](r, t) && !(c === "soon" && (r.late || r.work_late)));

/**
 * worstFirst sorts rows: by their worst condition, what is late by its due date, the
 * rest by how long it lasts.
 * @template {Needy & {hot?: boolean, due?: string, since: string, key: string}} T
 * @param {T[]} list
 * @param {number} t
 */
export function worstFirst(list, t) {
  const rank = (/** @type {T} */ r) => {
    const worst = needsOf(r, t)[0];
    return worst ? conditions.indexOf(worst) : conditions.length;
  };
  const dated = (/** @type {T} */ r, /** @type {number} */ k) => (k < 2 ? r.due || "" : "");
  return list
    .map((r) => ({ r, k: rank(r) }))
    .sort(
      (a, b) =>
        a.k - b.k ||
        Number(Boolean(b.r.hot)) - Number(Boolean(a.r.hot)) ||
        text(dated(a.r, a.k), dated(b.r, b.k)) ||
        Date.parse(a.r.since) - Date.parse(b.r.since) ||
        text(a.r.key, b.r.key),
    )
    .map((x) => x.r);
}

/** @type {(a: string, b: string) => number} */
const text = (a, b) => (a < b ? -1 : a > b ? 1 : 0);

/**
 * overBy is by how many ms of working time a row is past its planned time at t.
 * @param {Needy & {work_centre: string, machine?: string}} row
 * @param {number} t
 */
export const overBy = (row, t) =>
  holds.over(row, t) ? openTime(row, Date.parse(row.over_from ?? ""), t) : 0;

/** @type {Record<string, string>} */
const words = { late: "late", stop: "state.stopped", held: "state.held", hot: "hot" };

/**
 * needWord says a condition, as the legend has it.
 * @param {string} kind
 */
export const needWord = (kind) => say(words[kind] ?? "need." + kind);

/**
 * needText says a condition of a row in a word or two; late and over with by how much.
 * @param {string} kind
 * @param {Needy & {due?: string, work_centre: string, machine?: string}} row
 * @param {string} today
 * @param {number} t
 */
export function needText(kind, row, today, t) {
  if (kind === "late" && row.due) return say("late.days", daysBetween(row.due, today));
  if (kind === "over") return say("past", elapsed(overBy(row, t)));
  return needWord(kind);
}
