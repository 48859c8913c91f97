// The figures of the routes side by side: those with intervals as marks on one
// scale, and all of them as a table.
import { html } from "../../lib/vendor/ui.js";
import { Interval } from "../../lib/charts.js";
import { CsvButton } from "../../lib/csv.js";
import { say } from "../../lib/words.js";
import { hours, minutes, money, num, percent, Sample, Scroll, title, whole } from "./text.js";

/**
 * @typedef {import("./state.js").Schema} Schema
 * @typedef {import("./state.js").Comparison} Comparison
 * @typedef {import("./state.js").ComparedRoute} ComparedRoute
 * @typedef {"minutes" | "cost" | "yield" | "setup"} FigureName
 * @typedef {Exclude<keyof Schema["ComparedResult"], "lead_is" | "unrated">} ResultName
 * PieceCost is what is shown of a good piece.
 * @typedef {"machine_cost" | "labour_cost" | "handling_cost" | "material_cost" | "outside_cost" |
 *   "scrap_cost"} PieceCost
 * Row is a figure: key, unit, a route's number, its text, whether it stands out, its class.
 * @typedef {[string, string | undefined, (r: ComparedRoute) => number | null,
 *   (x: number | null) => string, boolean?, string?]} Row
 */

/**
 * estimateOf is a figure of the i-th route, with its interval where it has one.
 * @param {Comparison} v
 * @param {number} i
 * @param {FigureName} figure
 * @returns {Schema["ComparedValue"]}
 */
function estimateOf(v, i, figure) {
  const a = v.against[i === 0 ? 0 : i - 1],
    f = a && a.figures.find((x) => x.figure === figure);
  if (f) return i === 0 ? f.first : f.second;
  const r = v.routes[i].result;
  return {
    value: { minutes: r.each_min, cost: r.each_cost, yield: r.yield, setup: r.setup_min }[figure],
    low: null,
    high: null,
  };
}

const ends = /** @type {const} */ (["low", "high"]);

/**
 * spanOf is what a figure without an interval may be by its assumptions.
 * @param {ComparedRoute} r
 * @param {FigureName} figure
 */
function spanOf(r, figure) {
  const each = (/** @type {"low" | "high"} */ k) =>
    r.steps
      .filter((s) => !s.outside || figure === "yield")
      .map((s) => (figure === "yield" ? s.yield : s.setup_min)[k]);
  if (figure === "yield") return ends.map((k) => each(k).reduce((a, b) => a * b, 1));
  if (figure === "setup") return ends.map((k) => each(k).reduce((a, b) => a + b, 0));
  return figure === "cost" ? r.cost_range : r.minutes_range;
}

/** @param {{v: Comparison, figure: FigureName, text: (x: number | null) => string}} props */
function Estimates({ v, figure, text }) {
  const list = v.routes.map((r, i) => {
    const e = estimateOf(v, i, figure),
      s = spanOf(r, figure),
      known = e.low !== null;
    return {
      r,
      i,
      e,
      known,
      low: known ? e.low : s.length && s[1] > s[0] ? s[0] : null,
      high: known ? e.high : s.length && s[1] > s[0] ? s[1] : null,
    };
  });
  const all = list.flatMap((x) => [x.e.value, x.low, x.high]).filter((x) => x !== null);
  const low = Math.min(...all),
    high = Math.max(...all),
    room = Math.max((high - low) * 0.06, Math.abs(high) * 0.01, 1e-9);
  const few = (/** @type {ComparedRoute} */ r) =>
    r.batches > 0 && r.batches < v.few_for_interval
      ? say("compare.few-for-interval", r.batches, v.few_for_interval)
      : "";
  const why = (/** @type {typeof list[number]} */ x) =>
    x.known
      ? say("compare.in95", text(x.low), text(x.high))
      : [few(x.r), x.low === null ? "" : say("compare.in-range", text(x.low), text(x.high))]
          .filter(Boolean)
          .join("; ") || say("compare.no-interval");
  return html`<div class="estimates" data-test=${"figure-" + figure}>
    <h3>${say("compare.f." + figure)}</h3>
    ${list.map(
      (x) => html`<div key=${x.i} class="estimate">
        <span><${Sample} i=${x.i} /> ${title(x.r)}</span>
        <b data-test="estimate">${text(x.e.value)}</b>
        <${Interval}
          value=${x.e.value}
          low=${x.low}
          high=${x.high}
          from=${low - room}
          to=${high + room}
          label=${`${title(x.r)}: ${text(x.e.value)}, ${why(x)}`}
        />
        <small>${why(x)}</small>
      </div>`,
    )}
  </div>`;
}

/**
 * rowsOf are all figures.
 * @param {Comparison} v
 * @returns {Row[]}
 */
function rowsOf(v) {
  const c = v.costs.currency;
  /** @type {(k: PieceCost) => Row[2]} */
  const each = (k) => (r) => (r.result.good > 0 ? r.result[k] / r.result.good : null);
  /** @type {(k: ResultName) => Row[2]} */
  const is = (k) => (r) => r.result[k];
  /** @type {Row[3]} */
  const m = (x) => num(x, 2);
  /** @type {Row[]} */
  const rows = [
    ["started", "", is("started"), whole],
    ["good-of", "", is("good"), (x) => num(x, 1)],
    ["start", "", (r) => r.start, whole],
    ["surplus", "", (r) => r.start_surplus, (x) => num(x, 1)],
    ["start-batches", "", (r) => r.start_batches, (n) => (n ? whole(n) : say("compare.start.planned"))],
    ["setups", "", is("setups"), whole],
    ["clampings", "", is("clampings"), whole],
    ["trips", "", is("trips"), (x) => num(x, 1)],
    ["metres", "m", is("metres"), whole],
    ["stores_m", "m", is("stores_m"), whole, false, "part"],
    ["dock_m", "m", is("dock_m"), whole, false, "part"],
    ["outside_m", "m", is("outside_m"), whole, false, "part"],
    ["yield", "", is("yield"), percent],
    ["per-clamping", "", is("yield_per_clamping"), percent],
    ["setup_min", "min", is("setup_min"), whole],
    ["run_min", "min", is("run_min"), whole],
    ["stop_min", "min", is("stop_min"), whole],
    ["each_min", "min", is("each_min"), m, true],
    ["each_cost", c, is("each_cost"), m, true],
    ["machine", c, each("machine_cost"), m, false, "part"],
    ["labour", c, each("labour_cost"), m, false, "part"],
    ["handling", c, each("handling_cost"), m, false, "part"],
    ["material", c, each("material_cost"), m, false, "part"],
    ["outside", c, each("outside_cost"), m, false, "part"],
    ["scrap", c, each("scrap_cost"), m, false, "part"],
    ["cost", c, is("cost"), m],
    ["one_off", c, (r) => r.one_off, whole],
    ["lead", "h", is("lead_h"), hours, true],
    ["lead85", "h", is("lead_high_h"), hours],
    ["wip", "", is("wip"), (x) => num(x, 2)],
  ];
  return rows.filter(([k]) => !["start", "surplus", "start-batches"].includes(k) || v.good > 0);
}

/** @param {{v: Comparison}} props */
function Table({ v }) {
  const rows = rowsOf(v);
  const csv = () => rows.map(([k, unit, of]) => [say("compare.row." + k, v.good), unit, ...v.routes.map(of)]);
  return html`
    <${Scroll}>
      <table class="compare" data-test="figures">
        <thead>
          <tr>
            <td></td>
            ${v.routes.map((r, i) => html`<th key=${i} class="n"><${Sample} i=${i} /> ${title(r)}</th>`)}
          </tr>
        </thead>
        <tbody>
          ${rows.map(
            ([k, unit, of, text, strong, part]) => html`<tr
              key=${k}
              class=${[strong && "strong", part].filter(Boolean).join(" ")}
              data-test=${"row-" + k}>
              <th scope="row">
                ${say("compare.row." + k, v.good)}
                ${unit && unit !== "h" && html` <small>${unit}</small>`}
              </th>
              ${v.routes.map(
                (r, i) =>
                  html`<td key=${i} class="n">
                    ${text(of(r))}
                    ${k === "lead" ? html` <small>${say("compare.lead." + r.result.lead_is)}</small>` : ""}
                  </td>`,
              )}
            </tr>`,
          )}
        </tbody>
      </table>
    <//>
    <${CsvButton} name="comparison" head=${["figure", "unit", ...v.routes.map(title)]} rows=${csv} />
  `;
}

/** @param {{v: Comparison}} props */
export function Figures({ v }) {
  const c = v.costs.currency;
  return html`<section>
    <h2>${say("compare.figures", v.size)}</h2>
    <div class="estimates-grid">
      <${Estimates} v=${v} figure="cost" text=${(/** @type {number | null} */ x) => money(x, c)} />
      <${Estimates} v=${v} figure="minutes" text=${minutes} />
      <${Estimates} v=${v} figure="yield" text=${percent} />
      <${Estimates} v=${v} figure="setup" text=${minutes} />
    </div>
    <p class="soft">${say("compare.units")}</p>
    <${Table} v=${v} />
  </section>`;
}
