// What became of all pieces that were traced, and where they were delivered to.
import { html } from "../../lib/vendor/ui.js";
import { CsvButton } from "../../lib/csv.js";
import { BatchLink } from "../../lib/marks.js";
import { number } from "../../lib/numbers.js";
import { full } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";

/**
 * @typedef {import("./families.js").Traced} Traced
 * @typedef {import("./families.js").Family} Family
 */

const kinds = ["started", "good", "delivered", "stock", "floor", "scrap", "review", "missing", "concession"];

/**
 * Sums are the pieces of all families, and the lots and customers they belong to.
 * @param {{families: Family[], q: string}} props
 */
export function Sums({ families, q }) {
  const all = families.flatMap((f) => f.batches),
    lots = [...new Set(all.flatMap((b) => b.material_lots))].sort(),
    customers = [...new Set(all.map((b) => b.customer ?? "").filter(Boolean))].sort();
  const link = (/** @type {string} */ x) =>
    x.toLowerCase() === q.toLowerCase()
      ? html`<b>${x}</b>`
      : html`<a href=${"/trace?q=" + encodeURIComponent(x)}>${x}</a>`;
  const sum = (/** @type {string} */ k) => families.reduce((n, f) => n + f.pieces[k], 0);
  return html`
    <dl class="figures" data-test="trace-sums">
      ${kinds
        .filter((k) => k === "started" || k === "good" || sum(k) > 0)
        .map(
          (k) =>
            html`<div key=${k} data-test=${"sum-" + k}>
              <dt>${say("trace." + k)}</dt>
              <dd>${number(sum(k))}</dd>
            </div>`,
        )}
    </dl>
    <p class="wrapped">
      ${say("fact.lots")}:${" "}
      ${lots.length ? lots.map((x, i) => html`${i ? ", " : ""}${link(x)}`) : say("trace.no-lot")}
    </p>
    <p class="wrapped">
      ${say("trace.customers")}:${" "}
      ${customers.length ? customers.map((x, i) => html`${i ? ", " : ""}${link(x)}`) : say("none")}
    </p>
  `;
}

/**
 * deliveriesOf are all of them, the newest first.
 * @param {Traced[]} list
 */
const deliveriesOf = (list) =>
  list
    .flatMap((b) => b.deliveries.map((d) => ({ ...d, b })))
    .sort((x, y) => Date.parse(y.at) - Date.parse(x.at));

/**
 * Deliveries says who has pieces: what a recall needs.
 * @param {{list: Traced[]}} props
 */
export function Deliveries({ list }) {
  const all = deliveriesOf(list);
  /** @type {(k: string, v: unknown, cls?: string) => unknown} */
  const cell = (k, v, cls) => html`<td class=${cls} data-label=${say(k)}>${v}</td>`;
  if (all.length === 0) return html`<p data-test="no-deliveries">${say("trace.no-deliveries")}</p>`;
  return html`<section data-test="deliveries">
    <h2>${count("trace.deliveries", all.length)}</h2>
    <table class="stack">
      <thead>
        <tr>
          ${["head.at", "trace.note", "head.customer", "head.part", "head.pieces", "head.batch"].map(
            (k) => html`<th key=${k} class=${k === "head.pieces" ? "n" : ""}>${say(k)}</th>`,
          )}
        </tr>
      </thead>
      <tbody>
        ${all.map(
          (d, i) =>
            html`<tr key=${i} data-test="delivery">
              ${cell("head.at", full(d.at))}
              ${cell(
                "trace.note",
                d.note
                  ? html`<a href=${"/trace?q=" + encodeURIComponent(d.note)}>${d.note}</a>`
                  : say("none"),
              )}
              ${cell("head.customer", d.b.customer || say("none"))}
              ${cell("head.part", d.b.part)}
              ${cell("head.pieces", number(d.pieces), "n")}
              ${cell("head.batch", html`<${BatchLink} row=${d.b} />`)}
            </tr>`,
        )}
      </tbody>
    </table>
  </section>`;
}

// What was traced as tables: batches, and what happened at each operation.

const head = /** @type {const} */ ([
  "card",
  "root",
  "parent",
  "joined_to",
  "works_order",
  "order_line",
  "customer",
  "part",
  "drawing_rev",
  "route_rev",
  "state",
  "released",
  "ended",
  "started",
  "good",
  "scrap",
  "concession",
  "review",
  "missing",
  "stock",
]);

/** @param {Traced} b */
const delivered = (b) => b.deliveries.reduce((n, d) => n + d.pieces, 0);

/** @param {{list: Traced[]}} props */
export function TraceCsv({ list }) {
  const batches = () =>
    list.map((b) => [
      ...head.map((k) => b[k]),
      b.material_lots.join("; "),
      delivered(b),
      b.concessions.map((c) => c.reference).join("; "),
    ]);
  const operations = () =>
    list.flatMap((b) =>
      b.operations.map((o) => [
        b.card,
        b.works_order,
        b.part,
        o.operation,
        o.work_centre,
        o.machines.join("; "),
        o.outside,
        o.good,
        o.concession,
      ]),
    );
  const out = () =>
    deliveriesOf(list).map((d) => [
      d.at,
      d.note,
      d.b.customer,
      d.b.part,
      d.pieces,
      d.b.card,
      d.b.works_order,
      d.b.material_lots.join("; "),
    ]);
  return html`<div class="deeds csv-row">
    <span>${say("trace.csv")}</span>
    <${CsvButton}
      text=${say("nav.batches")}
      name="trace-batches"
      head=${[...head, "material_lots", "delivered", "concession_references"]}
      rows=${batches}
    />
    <${CsvButton}
      text=${say("batch.operations")}
      name="trace-operations"
      head=${[
        "card",
        "works_order",
        "part",
        "operation",
        "work_centre",
        "machines",
        "outside",
        "good",
        "concession",
      ]}
      rows=${operations}
    />
    <${CsvButton}
      text=${say("trace.delivered")}
      name="trace-deliveries"
      head=${["at", "note", "customer", "part", "pieces", "card", "works_order", "material_lots"]}
      rows=${out}
    />
  </div>`;
}
