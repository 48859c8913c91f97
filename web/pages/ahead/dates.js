// When each batch on the floor may be delivered, against the date it is due: what needs
// someone first.
import { html } from "../../lib/vendor/ui.js";
import { CsvButton } from "../../lib/csv.js";
import { choose, chosen } from "../../lib/filters.js";
import { BatchLink, Hint, Mark } from "../../lib/marks.js";
import { wholePercent } from "../../lib/numbers.js";
import { ticks } from "../../lib/strip.js";
import { dateText, span, tickText } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";
import { chanceText, Day, dayText } from "./parts.js";
import { fits, needs } from "./sort.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("./fresh.js").Forecast} Forecast
 * @typedef {import("./fresh.js").ForecastBatch} ForecastBatch
 * @typedef {{from: number, to: number}} Range
 */

/** @param {string | null} t */
const ms = (t) => (t ? Date.parse(t) : NaN);

/**
 * rangeOf is the scale that all rows share: from now to the last date that most of them
 * have, so that one far away does not press the others together.
 * @param {ForecastBatch[]} list
 * @param {number} now
 * @returns {Range}
 */
function rangeOf(list, now) {
  const ends = list
    .flatMap((b) => [ms(b.p85), ms(b.due_end)])
    .filter((t) => t > now)
    .sort((a, b) => a - b);
  const last = ends[Math.floor(0.97 * (ends.length - 1))] || 0;
  return { from: now, to: Math.max(now + 3 * 86400e3, last) };
}

/** @param {{b: ForecastBatch, range: Range}} props */
function Strip({ b, range }) {
  const at = (/** @type {string | null} */ t) =>
    `${(100 * Math.min(1, Math.max(0, (ms(t) - range.from) / (range.to - range.from)))).toFixed(2)}%`;
  const label = say("ahead.strip", dayText(b.p50), dayText(b.p85), b.due ? dateText(b.due) : say("due.none"));
  return html`<svg class="dates" role="img" aria-label=${label} width="100%" height="24">
    <title>${label}</title>
    <line class="axis" x1="0" x2="100%" y1="14" y2="14" />
    <line class="range" x1=${at(b.p50)} x2=${at(b.p85)} y1="14" y2="14" />
    ${b.due_end &&
    html`<svg x=${at(b.due_end)} y="14" overflow="visible">
      <path class="due-mark" d="M0 9V-13M-5 -13H5L0 -6Z" />
    </svg>`}
    <svg x=${at(b.p85)} y="14" overflow="visible"><circle class="cautious" r="5" /></svg>
    <svg x=${at(b.p50)} y="14" overflow="visible"><circle class="likely" r="5" /></svg>
  </svg>`;
}

const APART = 0.45; // of the width: dates closer than that run into each other

/** @param {{range: Range}} props */
function Ticks({ range }) {
  const share = (/** @type {number} */ t) => (t - range.from) / (range.to - range.from),
    list = /** @type {number[]} */ ([]);
  for (const t of ticks(range.from, range.to, 4).list)
    if (list.length === 0 || share(t) - share(list[list.length - 1]) > APART) list.push(t);
  const anchor = (/** @type {number} */ x) => (x < 0.08 ? "start" : x > 0.92 ? "end" : "middle");
  return html`<svg class="date-ticks" width="100%" height="16" aria-hidden="true">
    ${list.map(
      (t, i) =>
        html`<text
          key=${t}
          class=${i % 2 ? "odd" : ""}
          x=${`${100 * share(t)}%`}
          y="12"
          text-anchor=${anchor(share(t))}>
          ${tickText(t, true)}
        </text>`,
    )}
  </svg>`;
}

/** @param {{b: ForecastBatch}} props */
function State({ b }) {
  const held = b.state === "held" && html`<${Mark} kind="held">${say("state.held")}<//>`;
  if (b.late === "now" || b.late === "likely")
    return html`
      <${Mark} kind=${b.late === "now" ? "late" : "soon"}>${say("ahead.late." + b.late)}<//> ${held}
    `;
  return html`${b.late === "risk" && html`<${Hint}>${say("ahead.late.risk")}<//>`} ${held}`;
}

/** @param {ForecastBatch} b */
const slackText = (b) =>
  b.slack_s === null ? say("none") : (b.slack_s < 0 ? "−" : "") + span(Math.abs(b.slack_s) * 1000);

/** @param {{b: ForecastBatch, range: Range}} props */
function Row({ b, range }) {
  /** @type {(key: string, v: unknown, test?: string) => unknown} */
  const cell = (key, v, test) => html`<td data-label=${say(key)} data-test=${test}>${v}</td>`;
  const waits = b.waits_for && b.waits_s >= 60;
  return html`<tr data-test="date-row" data-card=${b.card} data-late=${b.late}>
    ${cell("head.batch", html`<${BatchLink} row=${b} />`)}
    ${cell("head.part", html`<span class="unbroken">${b.part}</span> <small>${b.part_name}</small>`)}
    ${cell(
      "head.due",
      html`
        <span class="unbroken">${b.due ? dateText(b.due) : say("due.none")}</span>
        <small>${b.customer}</small>
      `,
    )}
    ${cell(
      "ahead.chance",
      html`<b>${b.late === "now" ? wholePercent(0) : chanceText(b.on_time)}</b>`,
      "chance",
    )}
    ${cell("ahead.p50", html`<${Day} t=${b.p50} />`, "p50")}
    ${cell("ahead.p85", html`<b><${Day} t=${b.p85} /></b>`, "p85")}
    <td class="wide">${b.p50 && html`<${Strip} b=${b} range=${range} />`}</td>
    ${cell("ahead.slack", slackText(b), "slack")}
    ${cell(
      "ahead.waits-for",
      html`
        ${waits ? html`${b.waits_for} <small>${span(b.waits_s * 1000)}</small>` : !b.place && say("none")}
        ${b.operations_left === 0 && html` <small>${say("ahead.all-done")}</small>`}
        ${b.place > 0 && html` <small>${say("ahead.place", b.place, b.work_centre)}</small>`}
      `,
      "waits-for",
    )}
    <td class="late-cell"><${State} b=${b} /></td>
  </tr>`;
}

/** @type {(keyof ForecastBatch)[]} */
const csvHead = [
  "card",
  "works_order",
  "line",
  "part",
  "customer",
  "due",
  "on_time",
  "p50",
  "p85",
  "p95",
  "slack_s",
  "late",
  "waits_for",
  "waits_s",
  "place",
  "work_centre",
  "next_operation",
  "operations_left",
  "work_s",
];

/** @param {{centres: string[], shown: number, all: number}} props */
function Find({ centres, shown, all }) {
  const { find = "", needs: need = "", centre = "" } = chosen.value;
  return html`<div class="tools" data-test="filters">
    <label>
      ${say("waits.find")}
      <input
        type="search"
        value=${find}
        data-test="dates-find"
        onInput=${(/** @type {Input} */ e) => choose({ find: e.target.value }, { replace: true })}
      />
    </label>
    <label>
      ${say("ahead.show")}
      <select data-test="needs" onChange=${(/** @type {Input} */ e) => choose({ needs: e.target.value })}>
        ${["", ...needs].map(
          (k) =>
            html`<option key=${k} value=${k} selected=${k === need}>
              ${say("ahead.show." + (k || "all"))}
            </option>`,
        )}
      </select>
    </label>
    <label>
      ${say("ahead.waits-for")}
      <select data-test="centre" onChange=${(/** @type {Input} */ e) => choose({ centre: e.target.value })}>
        <option value="" selected=${!centre}>${say("ahead.any-centre")}</option>
        ${centres.map((k) => html`<option key=${k} value=${k} selected=${k === centre}>${k}</option>`)}
      </select>
    </label>
    ${shown < all && html`<p class="soft" data-test="shown">${say("ahead.shown", shown, all)}</p>`}
  </div>`;
}

const Key = () => html`<p class="line-key">
  ${["likely", "cautious", "due-mark"].map(
    (k) =>
      html`<span key=${k}>
        <svg class="dates" width="20" height="24" aria-hidden="true">
          <g transform="translate(10 14)">
            ${k === "due-mark"
              ? html`<path class=${k} d="M0 9V-13M-5 -13H5L0 -6Z" />`
              : html`<circle class=${k} r="5" />`}
          </g>
        </svg>
        ${say("ahead.key." + k)}
      </span>`,
  )}
</p>`;

/**
 * Dates lists the batches of a forecast.
 * @param {{f: Forecast}} props
 */
export function Dates({ f }) {
  const list = f.batches.filter((b) => fits(b, chosen.value)),
    range = rangeOf(f.batches, ms(f.as_of)),
    centres = [...new Set(f.batches.map((b) => b.waits_for).filter(Boolean))].sort();
  const heads = ["head.batch", "head.part", "head.due", "ahead.chance", "ahead.p50", "ahead.p85"];
  return html`<section data-test="dates-section">
    <${Find} centres=${centres} shown=${list.length} all=${f.batches.length} />
    ${list.length === 0
      ? html`<p class="empty" data-test="nothing-found">
          ${say(f.batches.length ? "ahead.nothing-found" : "ahead.no-batches")}
        </p>`
      : html`
          <${Key} />
          <table class="dates-table stack">
            <thead>
              <tr>
                ${heads.map((k) => html`<th key=${k} scope="col">${say(k)}</th>`)}
                <td class="wide"><${Ticks} range=${range} /></td>
                <th scope="col">${say("ahead.slack")}</th>
                <th scope="col">${say("ahead.waits-for")}</th>
                <td></td>
              </tr>
            </thead>
            <tbody>${list.map((b) => html`<${Row} key=${b.card} b=${b} range=${range} />`)}</tbody>
          </table>
        `}
    <p class="deeds">
      <${CsvButton} name="ahead" head=${csvHead} rows=${() => list.map((b) => csvHead.map((k) => b[k]))} />
    </p>
  </section>`;
}

/**
 * summaryText counts what needs someone.
 * @param {Forecast} f
 */
export const summaryText = (f) =>
  [
    count("ahead.n", f.batches.length),
    ...["now", "likely", "risk"]
      .map(/** @returns {[string, number]} */ (k) => [k, f.batches.filter((b) => b.late === k).length])
      .filter(([, n]) => n > 0)
      .map(([k, n]) => count("ahead.sum." + k, n)),
  ].join(" · ");
