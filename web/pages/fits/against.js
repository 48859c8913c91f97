// Planned times against what was: the plan as one hundred per cent for all, so
// that the rows of a table have one scale.
import { html } from "../../lib/vendor/ui.js";
import { Interval } from "../../lib/charts.js";
import { fixed, wholePercent } from "../../lib/numbers.js";
import { span } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";
import { offText } from "./pools.js";

/**
 * @typedef {import("../../lib/_types.js").Schema["Fit"]} Fit
 * @typedef {[number, number]} Range
 */

/** @param {number | null} s */
const timeText = (s) => (s === null ? say("none") : span(s * 1000));

/**
 * both is a time with its name: plan or actual.
 * @param {string} name
 * @param {number | null} s
 */
const both = (name, s) => `${say("fits." + name)} ${timeText(s)}`;

/**
 * batchText is what a batch takes more or less than planned.
 * @param {number | null} s
 */
const batchText = (s) =>
  s === null ? "" : say(s < 0 ? "fits.batch.less" : "fits.batch.more", fixed(Math.abs(s) / 60, 1));

/** @param {number} p */
const chance = (p) => (p < 0.001 ? say("fits.p.less", fixed(0.001, 3)) : fixed(p, 3));

/** @param {Fit} f */
const link = (f) =>
  "/pace/operation?" +
  new URLSearchParams({ part: f.part, route_rev: f.route_rev, operation: String(f.operation) });

/** @param {{f: Fit, range: Range}} props */
function Row({ f, range }) {
  const interval = f.low_s === null ? say("few") : say("between.95", timeText(f.low_s), timeText(f.high_s));
  /** @type {(k: string, v: unknown, cls?: string) => unknown} */
  const cell = (k, v, cls) => html`<td class=${cls} data-label=${say(k)}>${v}</td>`;
  return html`<tr
    data-test="fit"
    data-part=${f.part}
    data-operation=${f.operation}
    data-what=${f.what}
    data-off=${f.off ? "1" : "0"}>
    <th scope="row">
      <a class="open-op" href=${link(f)}>${say("losses.operation-of", f.part, f.operation)}</a>${" "}
      <small>${[f.part_name, say("route.rev", f.route_rev), f.work_centre].filter(Boolean).join(", ")}</small>
    </th>
    ${cell("fits.what", say("fits.what." + f.what), "unbroken")}
    ${cell("fits.plan", timeText(f.plan_s), "n")}
    ${cell("fits.actual", html`<b>${timeText(f.actual_s)}</b> <small>${f.n > 0 ? interval : ""}</small>`)}
    <td class="wide">
      ${f.ratio !== null &&
      html`<${Interval}
        value=${f.ratio}
        low=${f.low_s === null ? null : f.low_s / f.plan_s}
        high=${f.high_s === null ? null : f.high_s / f.plan_s}
        plan=${1}
        from=${range[0]}
        to=${range[1]}
        label=${[both("plan", f.plan_s), both("actual", f.actual_s), interval].join(", ")}
      />`}
    </td>
    ${cell(
      "fits.ratio",
      f.ratio === null
        ? say("none")
        : html`
            ${f.off ? html`<b>${offText(f.ratio)}</b>` : offText(f.ratio)}${" "}
            <small data-test="fit-batch">${batchText(f.batch_s)}</small>
          `,
    )}
    ${cell(
      "nav.batches",
      html`${f.n} ${f.left_out > 0 && html`<small>${count("fits.left-out", f.left_out)}</small>`}`,
      "n",
    )}
    ${cell("fits.p", f.p === null ? say("none") : chance(f.p), "n")}
  </tr>`;
}

/** @param {{list: Fit[], range: Range}} props */
export const FitTable = ({ list, range }) => html`<table class="fits stack">
  <thead>
    <tr>
      <th>${say("head.operation")}</th>
      <th>${say("fits.what")}</th>
      <th class="n">${say("fits.plan")}</th>
      <th>${say("fits.actual")}</th>
      <th class="ends"><span>${wholePercent(range[0])}</span><span>${wholePercent(range[1])}</span></th>
      <th>${say("fits.ratio")}</th>
      <th class="n">${say("nav.batches")}</th>
      <th class="n">${say("fits.p")}</th>
    </tr>
  </thead>
  <tbody>
    ${list.map(
      (f) =>
        html`<${Row} key=${[f.part, f.route_rev, f.operation, f.what].join("/")} f=${f} range=${range} />`,
    )}
  </tbody>
</table>`;
