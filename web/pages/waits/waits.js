// The waits board: a page to work with, or with ?wall=1 a wall screen.
import { html, useComputed, useSignal } from "../../lib/vendor/ui.js";
import { boards, inOrder, LinkState, openBoard, totals, totalsText } from "../../lib/board.js";
import { tick } from "../../lib/clock.js";
import { CsvButton } from "../../lib/csv.js";
import { chosen } from "../../lib/filters.js";
import { Find } from "../../lib/form.js";
import { isNarrowed, Narrow, narrowed } from "../../lib/narrow.js";
import { needsOf, worstFirst } from "../../lib/needs.js";
import { hasThings } from "../../lib/ready.js";
import { failed, me, start } from "../../lib/shell.js";
import { loadShop } from "../../lib/shop.js";
import { span } from "../../lib/times.js";
import { isWall, onReopen, startWall } from "../../lib/wall.js";
import { WallSettings } from "../../lib/wall-settings.js";
import { why, whyText } from "../../lib/why.js";
import { count, say } from "../../lib/words.js";
import { columns, Idle, Line } from "./line.js";
import { Wall } from "./wall.js";

const { about, rows } = boards.waits;

/**
 * @typedef {import("./line.js").Row} Row
 * @typedef {import("./line.js").Centre} Centre
 */

// The waits board as a page to work with: what needs someone first, then per work centre
// what is worked on and which batches wait, in the order of the rule; one line a batch,
// all of them in the same columns.

const fields = /** @type {const} */ (["card", "part", "part_name", "works_order", "machine", "work_centre"]);

/**
 * @param {Row} row
 * @param {string} text
 */
function matches(row, text) {
  const words = text.toLowerCase().split(/\s+/).filter(Boolean);
  const all = fields.map((f) => (row[f] || "").toLowerCase()).join(" ");
  return words.every((w) => all.includes(w));
}

/**
 * byCentre groups rows under the shop's work centres; centres that only rows
 * name (outside work, say) follow.
 * @param {import("../../lib/_types.js").Schema["Centre"][]} centres
 * @param {Row[]} list
 */
function byCentre(centres, list) {
  /** @type {Map<string, Centre>} */
  const out = new Map();
  for (const c of centres) out.set(c.work_centre, { ...c, waits: [], works: [] });
  for (const r of list) {
    const c = out.get(r.work_centre) ?? { work_centre: r.work_centre, machines: [], waits: [], works: [] };
    out.set(r.work_centre, c);
    c[r.kind === "wait" ? "waits" : "works"].push(r);
  }
  for (const c of out.values()) c.waits = inOrder(c.waits);
  return [...out.values()];
}

/**
 * Group is a part of the table, with a heading over all columns.
 * @param {{test: string, centre?: string, title: string, sub: string, children?: unknown}} props
 */
const Group = ({ test, centre, title, sub, children }) => html`<tbody data-test=${test} data-centre=${centre}>
  <tr class="group">
    <th colspan=${columns.length} scope="rowgroup"><h2>${title} <span class="soft">${sub}</span></h2></th>
  </tr>
  ${children}
</tbody>`;

/** @param {{c: Centre, today: string, filtered: boolean, minute: number}} props */
function Centre({ c, today, filtered, minute }) {
  const pieces = c.waits.reduce((n, r) => n + r.pieces, 0),
    none = filtered ? "waits.none-found" : "waits.none";
  const usual = c.usual && c.usual.n >= 20 ? say("waits.usual", span(c.usual.p50_s * 1000)) : "";
  const sub = [
    c.waits.length ? count("waits.here", c.waits.length, count("pieces", pieces)) : say(none),
    !filtered && usual,
  ].filter(Boolean);
  return html`<${Group} test="centre" centre=${c.work_centre} title=${c.work_centre} sub=${sub.join("; ")}>
    ${c.works.map(
      (r) => html`<${Line} key=${r.key} row=${r} today=${today} minute=${minute} test="work-row" />`,
    )}
    ${!filtered && html`<${Idle} c=${c} minute=${minute} />`}
    ${c.waits.map(
      (r) => html`<${Line} key=${r.key} row=${r} today=${today} minute=${minute} test="wait-row" />`,
    )}
  <//>`;
}

/**
 * Needy lists what needs someone, the worst first; each stands under its work centre too.
 * @param {{list: Row[], today: string, minute: number}} props
 */
function Needy({ list, today, minute }) {
  const worst = worstFirst(
    list.filter((r) => needsOf(r, minute).length > 0),
    minute,
  );
  return html`<${Group}
    test="needs-someone"
    title=${say("waits.needs")}
    sub=${worst.length ? count("waits.needs.n", worst.length) : say("waits.needs.none")}>
    ${worst.map(
      (r) => html`<${Line} key=${r.key} row=${r} today=${today} minute=${minute} test="need-row" centre />`,
    )}
  <//>`;
}

const csvHead = /** @type {const} */ ([
  "kind",
  "work_centre",
  "machine",
  "place",
  "card",
  "works_order",
  "part",
  "part_name",
  "operation",
  "state",
  "pieces",
  "good",
  "of",
  "since",
  "due",
  "priority",
  "late",
  "reason",
  "not_ready",
]);

/**
 * csvRow ends with what needs someone about it, and why it waits, as the page says it.
 * @param {Row} r
 * @param {number} t
 */
const csvRow = (r, t) => [
  ...csvHead.map((k) => r[k] ?? ""),
  needsOf(r, t).join(" "),
  whyText(why(r, about.value?.lines[r.work_centre], t), t),
];

/** @param {{list: Row[]}} props */
function Summary({ list }) {
  return html`<p class="summary" data-test="summary">${totalsText(totals(list))}</p>`;
}

/** @param {{text: {value: string}, list: Row[], shown: Row[]}} props */
function Tools({ text, list, shown }) {
  return html`<div class="tools">
    <${Find} label=${say("waits.find")} test="filter" text=${text} />
    <${Narrow} list=${list} />
    <${WallSettings} />
    ${shown.length > 0 &&
    html`<${CsvButton}
      name="waits"
      head=${[...csvHead, "needs", "why"]}
      rows=${() => shown.map((r) => csvRow(r, tick.value))}
    />`}
  </div>`;
}

function WaitsPage() {
  const text = useSignal("");
  const list = useComputed(() => Object.values(rows.value));
  const minute = useComputed(() => Math.floor(tick.value / 30000) * 30000);
  if (!about.value)
    return html`<h1>${say("waits.title")}</h1><${LinkState} /><p class="soft">${say("loading")}</p>`;
  const fits = narrowed(list.value, chosen.value),
    filtered = Boolean(text.value.trim()) || isNarrowed(chosen.value),
    shown = text.value.trim() ? fits.filter((r) => matches(r, text.value)) : fits;
  let centres = byCentre(about.value.centres || [], shown);
  if (filtered) centres = centres.filter((c) => c.waits.length + c.works.length);
  const props = { today: about.value?.today ?? "", filtered, minute: minute.value };
  return html`
    <div class="top"><h1>${say("waits.title")}</h1><${LinkState} /></div>
    <${Summary} list=${list.value} />
    <p class="soft">
      ${say("waits.rule")} ${hasThings() ? say("waits.rule.ready") : ""}
      ${about.value.calendar ? "" : say("waits.calendar")}
    </p>
    <${Tools} text=${text} list=${list.value} shown=${shown} />
    ${centres.length === 0
      ? html`<p class="empty">${say(filtered ? "waits.nothing-found" : "waits.empty")}</p>`
      : html`<table class="waits">
          <thead>
            <tr>
              ${columns.map((h) => html`<th key=${h} class=${"w-" + h} scope="col">${say("head." + h)}</th>`)}
            </tr>
          </thead>
          <${Needy} list=${shown} ...${props} />
          ${centres.map((c) => html`<${Centre} key=${c.work_centre} c=${c} ...${props} />`)}
        </table>`}
  `;
}

// The waits board: a page to work with, or with ?wall=1 a wall screen.

if (isWall()) {
  startWall(Wall, "waits");
} else {
  start(WaitsPage).then(() => {
    if (!me.value) return;
    loadShop().catch(failed);
    openBoard({ onReopen });
  });
}
