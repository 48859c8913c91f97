// Which batches of a forecast are shown. Without DOM.

/** needs are what can be chosen to be shown alone. */
export const needs = ["someone", "late", "risk", "held"];

/** @typedef {import("./fresh.js").ForecastBatch} ForecastBatch */

/** @type {Record<string, (b: ForecastBatch) => boolean>} */
const need = {
  someone: (b) => b.late === "now" || b.late === "likely" || b.state === "held",
  late: (b) => b.late === "now" || b.late === "likely",
  risk: (b) => b.late === "risk",
  held: (b) => b.state === "held",
};

/**
 * fits tells whether a batch is among those chosen: by a text that one of its names
 * has, by what it needs, and by the work centre that it waits for longest.
 * @param {ForecastBatch} b
 * @param {Record<string, string>} chosen
 */
export function fits(b, { find = "", needs: which = "", centre = "" }) {
  const text = find.trim().toLowerCase(),
    names = [b.card, b.works_order, b.line, b.part, b.part_name, b.customer];
  return (
    (!text || names.some((x) => x && x.toLowerCase().includes(text))) &&
    (!need[which] || need[which](b)) &&
    (!centre || b.waits_for === centre)
  );
}
