// How a run is likely to go on, as the program reckons it (kiosk/pace.go); what the
// device says by itself counts in plain time, since it knows no calendar. No DOM here
// and no clock: times are arguments, in ms.
import { RULES } from "./rules.js";

/** @typedef {import("./_types.js").KnownVisit} KnownVisit */

/**
 * When what is left will most likely be made; NaN where nothing is planned or the
 * machine does not run.
 * @param {KnownVisit} v
 * @param {number} left
 * @param {number} planned minutes a piece
 */
export function nearlyAt(v, left, planned) {
  if (v.state !== "running" || !(planned > 0)) return NaN;
  if (v.nearly_at) return Date.parse(v.nearly_at);
  const { counted_s: counted = 0, ran_s: ran = 0, made = 0 } = v;
  let one = planned * 60;
  if (v.counted_at && made > 0 && counted > 0) one = Math.max(one / 2, counted / made);
  const share = v.counted_at ? RULES.limits.again : RULES.limits.first;
  return Date.parse(v.since) + (share * one * left + counted - ran) * 1000;
}

/**
 * Whether people most likely stop the machine now, for the shift ends.
 * @param {KnownVisit} v
 * @param {number} now
 */
export function leaves(v, now) {
  const end = Date.parse(v.quits_at || "");
  if (!(end >= now) || end - now > RULES.limits.leave_s * 1000) return false;
  return !v.counted_at || now - Date.parse(v.counted_at) < RULES.limits.rest_s * 1000;
}

/**
 * Notes on a visit that it moves on from a state at a moment.
 * @param {KnownVisit} v
 * @param {number} at
 */
export function paceMoves(v, at) {
  v.ran_s = ranBy(v, at);
  v.nearly_at = undefined;
}

/**
 * Notes pieces that were counted, but for those made while setting.
 * @param {KnownVisit} v
 * @param {number} pieces
 * @param {number} at
 */
export function paceCounts(v, pieces, at) {
  v.made = (v.made || 0) + pieces;
  v.counted_s = ranBy(v, at);
  v.counted_at = new Date(at).toISOString();
  v.nearly_at = undefined;
}

/** @type {(v: KnownVisit, at: number) => number} */
const ranBy = (v, at) =>
  (v.ran_s || 0) + (v.state === "running" ? Math.max(0, (at - Date.parse(v.since)) / 1000) : 0);
