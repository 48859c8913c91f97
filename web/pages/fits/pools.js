// Operations of too few batches each, put together by kind of work: what is true of all
// set-ups at a machine can be said long before it can be said of one.
import { html } from "../../lib/vendor/ui.js";
import { Interval } from "../../lib/charts.js";
import { CsvButton } from "../../lib/csv.js";
import { wholePercent } from "../../lib/numbers.js";
import { count, say } from "../../lib/words.js";

/** @typedef {import("../../lib/_types.js").Schema["FitPool"]} Pool */

/**
 * offText is how far what was is from the plan.
 * @param {number} ratio
 */
export const offText = (ratio) => {
  const v = Math.round(100 * (ratio - 1));
  return v === 0 ? say("pace.even") : say(v > 0 ? "pace.over" : "pace.under", Math.abs(v));
};

const poolHead = /** @type {const} */ ([
  "work_centre",
  "what",
  "operations",
  "parts",
  "n",
  "ratio",
  "low",
  "high",
]);

/** @param {{f: import("../../lib/_types.js").Schema["Fits"]}} props */
export function Pools({ f }) {
  const range = [
    Math.min(0.5, ...f.pools.map((p) => Math.floor(10 * (p.low ?? p.ratio)) / 10)),
    Math.max(1.5, ...f.pools.map((p) => Math.min(3, Math.ceil(10 * (p.high ?? p.ratio)) / 10))),
  ];
  const inside = (/** @type {Pool} */ p) =>
    p.low === null || p.high === null
      ? say("few")
      : say("between.95", wholePercent(p.low), wholePercent(p.high));
  const clear = (/** @type {Pool} */ p) =>
    p.low !== null && p.high !== null && (p.low > 1 || p.high < 1) && Math.abs(p.ratio - 1) >= f.difference;
  return html`<section data-test="pools">
    <h2>${say("fits.pools.title")}</h2>
    <p class="soft">${say("fits.pools.how", f.few)}</p>
    <table class="fits stack">
      <thead>
        <tr>
          <th>${say("pace.by.centre")}</th>
          <th>${say("fits.what")}</th>
          <th>${say("fits.pools.of")}</th>
          <th>${say("fits.pools.ratio")}</th>
          <th class="ends"><span>${wholePercent(range[0])}</span><span>${wholePercent(range[1])}</span></th>
          <th>${say("fits.ratio")}</th>
        </tr>
      </thead>
      <tbody>
        ${f.pools.map(
          (p) => html`<tr key=${p.work_centre + p.what} data-test="pool" data-what=${p.what}>
            <th scope="row">${p.work_centre}</th>
            <td data-label=${say("fits.what")}>${say("fits.what." + p.what)}</td>
            <td data-label=${say("fits.pools.of")}>
              ${count("fits.pools.parts", p.parts)}${" "}
              <small>
                ${count("fits.pools." + p.what, p.n)}, ${count("fits.pools.operations", p.operations)}
              </small>
            </td>
            <td data-label=${say("fits.pools.ratio")}>
              <b>${wholePercent(p.ratio)}</b> <small>${inside(p)}</small>
            </td>
            <td class="wide">
              <${Interval}
                value=${p.ratio}
                low=${p.low}
                high=${p.high}
                plan=${1}
                from=${range[0]}
                to=${range[1]}
                label=${[p.work_centre, say("fits.what." + p.what), wholePercent(p.ratio), inside(p)].join(
                  ", ",
                )}
              />
            </td>
            <td data-label=${say("fits.ratio")}>
              ${clear(p) ? html`<b>${offText(p.ratio)}</b>` : offText(p.ratio)}
            </td>
          </tr>`,
        )}
      </tbody>
    </table>
    <p class="deeds">
      <${CsvButton}
        name="planned-times-together"
        head=${poolHead}
        rows=${() => f.pools.map((p) => poolHead.map((k) => p[k]))}
      />
    </p>
  </section>`;
}
