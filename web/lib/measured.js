// What an inspector measured of a piece: a dimension as it was found, against the
// limits of its tolerance. No DOM here.
import { entry, typed } from "./numbers.js";
import { say } from "./words.js";

/**
 * Draft is what was typed of a dimension.
 * @typedef {{dimension: string, nominal: string, lower: string, upper: string, found: string}} Draft
 * @typedef {{dimension: string, nominal: number, lower: number, upper: number, found: number,
 *   unit?: string}} Measured
 */

/** @type {Draft} */
export const nothing = { dimension: "", nominal: "", lower: "", upper: "", found: "" };

/**
 * measuredOf is what a draft says: none where it is empty, null where it does not do.
 * Limits that were left empty are none.
 * @param {Draft} d
 * @returns {Measured[] | null}
 */
export function measuredOf(d) {
  if (Object.values(d).every((v) => !v.trim())) return [];
  const read = (/** @type {string} */ v) => (v.trim() ? typed(v) : 0);
  const m = {
    dimension: d.dimension.trim(),
    nominal: typed(d.nominal),
    lower: read(d.lower),
    upper: read(d.upper),
    found: typed(d.found),
  };
  const numbers = [m.nominal, m.lower, m.upper, m.found].every((x) => Math.abs(x) < 1e6);
  return m.dimension && numbers && m.lower <= m.upper ? [m] : null;
}

// size is a size without the noise of sums in binary.
const size = (/** @type {number} */ x) => entry(Number(x.toFixed(6)));

/**
 * measuredText says what was found, what is allowed, and by how much it is outside.
 * @param {Measured & {beyond?: number}} m
 */
export function measuredText(m) {
  const beyond = m.beyond ?? 0;
  const kind = beyond > 0 ? "above" : beyond < 0 ? "below" : "within";
  return say(
    "measured." + kind,
    m.dimension,
    size(m.found),
    size(m.nominal + m.lower),
    size(m.nominal + m.upper),
    size(Math.abs(beyond)),
    m.unit || "mm",
  );
}
