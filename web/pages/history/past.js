// The batches behind a history: the slowest and why, and those still on the
// floor, shown as unfinished.
import { html } from "../../lib/vendor/ui.js";
import { CsvButton } from "../../lib/csv.js";
import { At, BatchLink, Hint } from "../../lib/marks.js";
import { order, PartsBar, sum } from "../../lib/strip.js";
import { count, say, stateWord } from "../../lib/words.js";
import { days, partOf } from "./spans.js";

/**
 * @typedef {import("./spans.js").HistoryView} HistoryView
 * @typedef {import("../../lib/_types.js").Schema["PastBatch"]} PastBatch
 */

/**
 * biggest is the part that took most of a batch's time.
 * @param {PastBatch} b
 */
function biggest(b) {
  const k = order.reduce((a, x) => (partOf(b.parts, x) > partOf(b.parts, a) ? x : a), order[0]);
  return say("history.mostly", say("part." + k), days(partOf(b.parts, k)));
}

const head = [
  "card",
  "works_order",
  "part",
  "route_rev",
  "customer",
  "state",
  "released",
  "ended",
  "due",
  "lead_s",
  ...order.map((k) => k + "_s"),
  "started",
  "good",
  "scrap",
  "inferred",
  "questions",
];
/** @param {PastBatch} b */
const line = (b) => [
  b.card,
  b.works_order,
  b.part,
  b.route_rev,
  b.customer,
  b.state,
  b.released,
  b.ended,
  b.due,
  b.lead_s,
  ...order.map((k) => partOf(b.parts, k)),
  b.started,
  b.good,
  b.scrap,
  b.inferred,
  b.asked,
];

/** @param {{list: PastBatch[], top: number, name: string}} props */
function List({ list, top, name }) {
  const cell = (/** @type {string} */ k, /** @type {unknown} */ v) =>
    html`<td data-label=${say("head." + k)}>${v}</td>`;
  return html`
    <table class="stack past" data-test=${name}>
      <thead>
        <tr>
          ${["batch", "part", "released", "lead"].map((k) => html`<th key=${k}>${say("head." + k)}</th>`)}
          <th class="wide">${say("history.where")}</th>
        </tr>
      </thead>
      <tbody>
        ${list.map(
          (b) => html`<tr key=${b.card} data-test="past-row" data-card=${b.card}>
            ${cell("batch", html`<${BatchLink} row=${b} />`)}
            ${cell("part", html`${b.part} <small>${say("route.rev", b.route_rev)}</small>`)}
            ${cell("released", html`<${At} t=${b.released} />`)}
            ${cell(
              "lead",
              html`
                <b>${days(b.lead_s)}</b>${b.ended ? "" : html` <${Hint}>${stateWord(b.state)}<//>`}${" "}
                <small>${biggest(b)}</small>
              `,
            )}
            <td class="wide"><${PartsBar} parts=${b.parts} top=${top} /></td>
          </tr>`,
        )}
      </tbody>
    </table>
    <p class="deeds"><${CsvButton} name=${name} head=${head} rows=${() => list.map(line)} /></p>
  `;
}

/** @param {{h: HistoryView}} props */
export function Slowest({ h }) {
  if (h.slowest.length === 0) return null;
  return html`<section>
    <h2>${say("history.slowest")}</h2>
    <${List} list=${h.slowest} top=${Math.max(...h.slowest.map((b) => sum(b.parts)))} name="slowest" />
  </section>`;
}

/** @param {{h: HistoryView}} props */
export function OnFloor({ h }) {
  if (h.on_floor.length === 0) return null;
  const shown = h.on_floor.slice(0, 30),
    top = Math.max(...shown.map((b) => sum(b.parts)));
  return html`<section>
    <h2>${say("history.on-floor")}</h2>
    <p class="soft">${count("history.on-floor.why", h.open)}</p>
    <${List} list=${shown} top=${top} name="on-floor" />
  </section>`;
}
