// The operations of a batch: the plan, what became of the pieces, and planned
// against actual.
import { html } from "../../lib/vendor/ui.js";
import { Scale } from "../../lib/charts.js";
import { CsvButton } from "../../lib/csv.js";
import { Hint, Mark } from "../../lib/marks.js";
import { theShop } from "../../lib/shop.js";
import { minutes, span } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";

/**
 * @typedef {import("./alike.js").Schema} Schema
 * @typedef {import("./asked.js").Batch} Batch
 * @typedef {Schema["Op"]} Op
 * @typedef {Schema["Route"]} Route
 */

/**
 * Actual set-up and pace of one batch's operation, from its visits.
 *
 * A piece's time is first-pass run time through pieces made, without set-up
 * pieces and rework. Visits whose end was inferred, or that still run, say
 * nothing about pace and are left out; their number is given.
 * @param {Batch} batch
 * @param {number} operation
 */
function actuals(batch, operation) {
  let setup = 0,
    run = 0,
    made = 0,
    leftOut = 0,
    seen = 0;
  for (const v of batch.visits) {
    if (v.operation !== operation || v.rework_for) continue;
    seen++;
    setup += v.setup_s;
    const pieces = v.good + v.scrap + v.rework + v.review - v.setup_pieces;
    const whole = v.state === "finished" && !v.inferred.includes("finish") && !v.inferred.includes("count");
    if (!whole || v.run_s <= 0 || pieces <= 0) {
      if (v.run_s > 0) leftOut++;
      continue;
    }
    run += v.run_s;
    made += pieces;
  }
  return { seen, setupMin: setup / 60, pieceMin: made > 0 ? run / 60 / made : null, made, leftOut };
}

/**
 * plannedPiece is the planned minutes of a piece; the route says how many pieces one
 * cycle makes.
 * @param {Op} operation
 * @param {Route} [route]
 */
function plannedPiece(operation, route) {
  const o = route && route.operations.find((x) => x.operation === operation.operation);
  return operation.cycle_min / Math.max(1, (o && o.pieces_per_cycle) || 1);
}

const columns = /** @type {const} */ (["in", "good", "scrap", "rework_open", "review", "missing", "to_do"]);
const worry = ["scrap", "rework_open", "review", "missing"];

/**
 * Against is planned and actual on one scale; text says both.
 * @param {{what: string, planned: number, actual: number | null, text: (m: number) => string}} props
 */
function Against({ what, planned, actual, text }) {
  if (actual === null)
    return html`<p class="against">${say(what)} <small>${say("scale.planned", text(planned))}</small></p>`;
  const label = say("scale.was", text(planned), text(actual));
  return html`<div class="against" data-test=${"scale-" + what}>
    <span>${say(what)}</span>
    <${Scale} planned=${planned} actual=${actual} label=${label} />
    <small>${label}</small>
  </div>`;
}

/** @param {{b: Batch, o: Op, route?: Route}} props */
function Planned({ b, o, route }) {
  const a = actuals(b, o.operation);
  return html`
    <${Against}
      what="setup"
      planned=${o.setup_min}
      actual=${a.seen && a.setupMin > 0 ? a.setupMin : null}
      text=${(/** @type {number} */ m) => span(m * 60000)}
    />
    <${Against} what="piece" planned=${plannedPiece(o, route)} actual=${a.pieceMin} text=${minutes} />
    <small class="soft">
      ${a.pieceMin !== null ? count("one-batch", a.made) : ""}${" "}
      ${a.leftOut > 0 ? count("left-out", a.leftOut) : ""}
    </small>
  `;
}

/** @param {{b: Batch, o: Op, route?: Route, here: boolean}} props */
function Row({ b, o, route, here }) {
  return html`<tr data-test="operation-row" data-operation=${o.operation} class=${here ? "here" : ""}>
    <th scope="row" data-label=${say("head.operation")}>
      ${o.operation}
      ${here && html` <${Hint}>${say("next")}<//>`}
    </th>
    <td data-label=${say("head.work")} class="work-what">
      <b>${o.work_centre}</b> ${o.instruction}${o.first_off && html` <${Hint}>${say("part.firstoff")}<//>`}
      ${o.added_on_floor && html` <${Hint}>${say("added")}<//>`}
      ${o.closed && html` <${Hint}>${say("closed")}<//>`}
    </td>
    ${columns.map(
      (c) =>
        html`<td
          key=${c}
          class=${worry.includes(c) && o[c] ? "n not-zero" : o[c] ? "n" : "n zero"}
          data-label=${say("figure." + c)}
          data-test=${"op-" + c}>
          ${o[c]}
        </td>`,
    )}
    <td class="plan" data-label=${say("head.plan")}>
      <${Planned} b=${b} o=${o} route=${route} />
      ${o.over > 0 && html`<${Mark} kind="ask">${count("op.over", o.over)}<//>`}${" "}
      ${o.assumed > 0 && html`<${Hint}>${count("op.assumed", o.assumed)}<//>`}${" "}
      ${o.concession > 0 && html`<${Hint}>${count("op.concession", o.concession)}<//>`}
    </td>
  </tr>`;
}

/** @param {{b: Batch}} props */
export function Operations({ b }) {
  const route = theShop().parts.find((p) => p.part === b.part && p.route_rev === b.route_rev);
  const head = [
    "operation",
    "work_centre",
    "instruction",
    "setup_min",
    "cycle_min",
    ...columns,
    "actual_setup_min",
    "actual_min_per_piece",
  ];
  const rows = () =>
    b.operations.map((o) => {
      const a = actuals(b, o.operation);
      return [
        o.operation,
        o.work_centre,
        o.instruction,
        o.setup_min,
        o.cycle_min,
        ...columns.map((c) => o[c]),
        a.seen ? a.setupMin : null,
        a.pieceMin,
      ];
    });
  return html`<section>
    <div class="top">
      <h2>${say("batch.operations")}</h2>
      <${CsvButton} name=${b.card + "-operations"} head=${head} rows=${rows} />
    </div>
    <table class="operations stack">
      <thead>
        <tr>
          <th scope="col">${say("head.operation")}</th>
          <th scope="col">${say("head.work")}</th>
          ${columns.map((c) => html`<th key=${c} class="n" scope="col">${say("figure." + c)}</th>`)}
          <th scope="col">${say("head.plan")}</th>
        </tr>
      </thead>
      <tbody>
        ${b.operations.map(
          (o) =>
            html`<${Row}
              key=${o.operation}
              b=${b}
              o=${o}
              route=${route}
              here=${o.operation === b.next_operation}
            />`,
        )}
      </tbody>
    </table>
  </section>`;
}
