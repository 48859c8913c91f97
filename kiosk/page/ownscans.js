// What this station itself said, as its box has it.
import { now as serverNow } from "../../web/lib/clock.js";
import { allScans } from "./box.js";

/** @typedef {import("./_types.js").Entry} Entry */

/**
 * What this station said of a card since a sequence of the record: what waits, and
 * what the record took after it. What was taken back while it waited is not there.
 * @param {string[]} refs what stands for the card
 * @param {number} seq
 * @returns {Entry[]}
 */
export function saidSince(refs, seq) {
  const all = allScans().filter(
    (e) =>
      refs.includes(e.scan.card) && (e.state === "waiting" || (e.state === "kept" && (e.seq || 0) > seq)),
  );
  const standing = all.filter((e) => stands(e) !== "refused");
  const undone = new Set(standing.filter((e) => e.scan.action === "undo").map((e) => e.scan.for));
  const gone = (/** @type {Entry} */ e) =>
    undone.has(e.id) || (e.scan.action === "undo" && standing.some((o) => o.id === e.scan.for));
  return standing.filter((e) => !gone(e));
}

/**
 * How a scan stands, or stood before it is sent again.
 * @type {(e: Entry) => string}
 */
const stands = (e) => (e.before ? e.before.outcome : e.state);

/**
 * The latest scan of this device that can still be taken back.
 * @param {number} lasts
 */
export function lastOwn(lasts) {
  const now = serverNow();
  const recent = [];
  const all = allScans();
  for (let i = all.length - 1; i >= 0 && all[i].told > now - 2 * lasts; i--) recent.push(all[i]);
  const standing = recent.filter((e) => stands(e) !== "refused");
  const undone = new Set(standing.filter((e) => e.scan.action === "undo").map((e) => e.scan.for));
  return standing.find((e) => e.scan.action !== "undo" && !undone.has(e.id) && now - e.told < lasts);
}
