// What becomes of the pieces along the route: first-pass yield of each operation
// with its interval between batches, and what the whole route yields.
import { html } from "../../lib/vendor/ui.js";
import { Interval } from "../../lib/charts.js";
import { CsvButton } from "../../lib/csv.js";
import { choose, chosen } from "../../lib/filters.js";
import { number, percent } from "../../lib/numbers.js";
import { count, say } from "../../lib/words.js";

/**
 * @typedef {import("../../lib/_types.js").Schema["RouteYield"]} Route
 * @typedef {Route["steps"][number]} Step
 * @typedef {import("../../lib/_types.js").Schema["Yield"]} Yield
 * @typedef {import("./measures.js").Losses} Losses
 */

const counts = /** @type {const} */ ([
  "presented",
  "first_good",
  "scrap",
  "rework",
  "undecided",
  "concession",
  "assumed",
]);

/** @param {Yield} y */
const yieldText = (y) => (y.yield === null ? say("none") : percent(y.yield));
/** @param {Yield} y */
const inText = (y) =>
  y.low === null ? (y.yield === null ? "" : say("few")) : say("between.95", percent(y.low), percent(y.high));

/**
 * bottomOf is where the scale of a route begins: a round share under all of it.
 * @param {Route} r
 */
function bottomOf(r) {
  const all = [r.rolled, r.final, ...r.steps.map((s) => s.first)]
    .flatMap((y) => [y.yield, y.low])
    .filter((v) => v !== null);
  return all.length ? Math.max(0, Math.floor(Math.min(...all) * 10 - 1e-9) / 10) : 0;
}

/** @param {{y: Yield, from: number}} props */
function Cells({ y, from }) {
  const label = [yieldText(y), inText(y)].filter(Boolean).join(", ");
  return html`
    <td class="yield" data-label=${say("yield.first")}><b>${yieldText(y)}</b> <small>${inText(y)}</small></td>
    <td class="wide">
      <${Interval} value=${y.yield} low=${y.low} high=${y.high} from=${from} to=${1} label=${label} />
    </td>
  `;
}

/** @param {{r: Route, s: Step, from: number}} props */
function Step({ r, s, from }) {
  const open = () =>
    choose({ part: r.part, route_rev: r.route_rev, operation: String(s.operation), by: "reason", key: "" });
  return html`<tr data-test="yield-step" data-operation=${s.operation}>
    <th scope="row">
      <button class="link" onClick=${open}>${s.operation}</button>${" "}
      <small>
        ${s.aside ? say("yield.aside") + ", " : ""}
        ${s.work_centre}
        ${s.clampings > 0 ? ", " + count("losses.clampings", s.clampings) : ""}
      </small>
    </th>
    <${Cells} y=${s.first} from=${from} />
    ${counts.map(
      (k) =>
        html`<td key=${k} class=${s[k] ? "n" : "n zero"} data-label=${say("yield." + k)}>
          ${number(s[k])}
        </td>`,
    )}
  </tr>`;
}

/** @param {{word: string, y: Yield, from: number, why: string}} props */
function Sum({ word, y, from, why }) {
  return html`<tr data-test=${"yield-" + word}>
    <th scope="row">${say("yield." + word)} <small>${why}</small></th>
    <${Cells} y=${y} from=${from} />
    <td colspan=${counts.length}></td>
  </tr>`;
}

const csvHead = [
  "part",
  "route_rev",
  "operation",
  "work_centre",
  "clampings",
  "first_pass_yield",
  "low_95",
  "high_95",
  "batches",
  "design_effect",
  ...counts,
];
/** @param {Route} r */
const csvRows = (r) => [
  ...r.steps.map((s) => [
    r.part,
    r.route_rev,
    s.operation,
    s.work_centre,
    s.clampings,
    s.first.yield,
    s.first.low,
    s.first.high,
    s.first.batches,
    s.first.deff,
    ...counts.map((k) => s[k]),
  ]),
  .../** @type {const} */ (["rolled", "final"]).map((k) => [
    r.part,
    r.route_rev,
    k,
    "",
    "",
    r[k].yield,
    r[k].low,
    r[k].high,
    r[k].batches,
    r[k].deff,
  ]),
  [r.part, r.route_rev, "normalised", "", "", r.normalised],
];

/** @param {{r: Route}} props */
function Route({ r }) {
  const from = bottomOf(r);
  return html`
    <table class="stack yields">
      <thead>
        <tr>
          <th>${say("head.operation")}</th>
          <th>${say("yield.first")}</th>
          <th class="ends"><span>${percent(from)}</span><span>${percent(1)}</span></th>
          ${counts.map((k) => html`<th key=${k} class="n">${say("yield." + k)}</th>`)}
        </tr>
      </thead>
      <tbody>
        ${r.steps.map((s) => html`<${Step} key=${s.operation} r=${r} s=${s} from=${from} />`)}
        <${Sum}
          word="rolled"
          y=${r.rolled}
          from=${from}
          why=${r.normalised === null
            ? say("yield.rolled.why")
            : say("yield.normalised", percent(r.normalised))}
        />
        <${Sum}
          word="final"
          y=${r.final}
          from=${from}
          why=${say("yield.final.why", number(r.good), number(r.started))}
        />
      </tbody>
    </table>
    <p class="deeds">
      <${CsvButton} name=${`yield-${r.part}-${r.route_rev}`} head=${csvHead} rows=${() => csvRows(r)} />
    </p>
  `;
}

/**
 * Pool is what parts named alike, made the same way, yield together: beside a part that
 * was made too seldom for an interval of its own.
 * @param {{pool: NonNullable<Losses["pool"]>}} props
 */
function Pool({ pool }) {
  return html`
    <h3>${say("pool.title", pool.name)}</h3>
    <p class="soft" data-test="yield-pool">
      ${count("pool.yields", pool.parts, pool.name, count("batches.n", pool.route.batches))}
    </p>
    <${Route} r=${{ ...pool.route, part: pool.name }} />
  `;
}

/**
 * Routes are all those of the selection: one part's in full, of many the rolled
 * yield each, to be opened.
 * @param {{l: Losses}} props
 */
export function Routes({ l }) {
  if (l.routes.length === 0) return null;
  const whole = chosen.value.part || l.routes.length === 1;
  const name = (/** @type {Route} */ r) => say("yield.route", r.part, r.part_name || "", r.route_rev);
  return html`<section data-test="yields">
    <h2>${say("yield.title")}</h2>
    <p class="soft">${say("yield.how")}</p>
    ${l.routes.map((r) =>
      whole
        ? html`
            <h3 key=${r.part + r.route_rev}>${name(r)}, ${count("batches.n", r.batches)}</h3>
            <${Route} r=${r} />
          `
        : html`<details key=${r.part + "/" + r.route_rev} data-test="yield-route">
            <summary>
              <span>
                ${name(r)}, ${count("batches.n", r.batches)}: ${say("yield.rolled")} ${yieldText(r.rolled)}
                ${r.rolled.low === null ? "" : `, ${inText(r.rolled)}`}
              </span>
            </summary>
            <${Route} r=${r} />
          </details>`,
    )}
    ${l.pool && html`<${Pool} pool=${l.pool} />`}
  </section>`;
}
