// Families out of a list of batches: who was split from whom, and what became of
// the pieces.
import { html } from "../../lib/vendor/ui.js";
import { BatchLink, Hint, Mark } from "../../lib/marks.js";
import { number } from "../../lib/numbers.js";
import { dateText, dayOf, full } from "../../lib/times.js";
import { count, say, stateWord } from "../../lib/words.js";
import { Measurements } from "./measurements.js";

/**
 * @typedef {import("../../lib/_types.js").Schema["Traced"]} Traced
 * @typedef {Traced & {depth: number}} Member depth is how often it was split off
 * @typedef {{root: string, batches: Member[], pieces: Record<string, number>}} Family
 */

/**
 * familiesOf orders batches by family, a parent before its children; the
 * families keep the order in which they came, the newest first.
 * @param {Traced[]} list
 * @returns {Family[]}
 */
export function familiesOf(list) {
  /** @type {Map<string, Traced[]>} */
  const by = new Map();
  for (const b of list) by.set(b.root, [...(by.get(b.root) || []), b]);
  return [...by].map(([root, members]) => ({ root, batches: ordered(members), pieces: pieces(members) }));
}

/** @param {Traced[]} members */
function ordered(members) {
  const cards = new Set(members.map((b) => b.card));
  /** @type {Member[]} */
  const out = [];
  const put = (/** @type {Traced} */ b, /** @type {number} */ depth) => {
    out.push({ ...b, depth });
    members
      .filter((c) => c.parent === b.card)
      .sort((a, c) => Date.parse(a.released) - Date.parse(c.released))
      .forEach((c) => put(c, depth + 1));
  };
  members.filter((b) => !cards.has(b.parent ?? "")).forEach((b) => put(b, 0));
  return out;
}

/**
 * @template B
 * @param {B[]} list
 * @param {(b: B) => number} f
 */
const total = (list, f) => list.reduce((n, b) => n + f(b), 0);
/** @param {Traced} b */
const left = (b) => total(b.deliveries, (d) => d.pieces);
/** @param {Traced} b */
const isOpen = (b) => b.state !== "done" && b.state !== "cancelled";

/**
 * pieces is where those of some batches are. What was started is that of the
 * batches that were not split from another of them.
 * @param {Traced[]} list
 */
function pieces(list) {
  const cards = new Set(list.map((b) => b.card));
  const known = {
    started: total(
      list.filter((b) => !cards.has(b.parent ?? "")),
      (b) => b.started,
    ),
    good: total(list, (b) => b.good),
    delivered: total(list, left),
    stock: total(list, (b) => b.stock),
    scrap: total(list, (b) => b.scrap),
    review: total(list, (b) => b.review),
    missing: total(list, (b) => b.missing),
    concession: total(list, (b) => b.concession),
  };
  return {
    ...known,
    floor: list.some(isOpen)
      ? Math.max(0, known.started - known.scrap - known.missing - known.delivered - known.stock)
      : 0,
  };
}

// One family: its material on the left, its batches with their operations in the
// middle, indented where they were split off, and what left on the right.

/** @param {string} t */
const day = (t) => html`<time datetime=${t} title=${full(t)}>${dateText(dayOf(t))}</time>`;

/** @param {{o: Traced["operations"][number]}} props */
function Operation({ o }) {
  const where = o.machines.length ? o.machines.join(", ") : o.work_centre;
  return html`<li class=${o.outside ? "op outside" : "op"} data-test="trace-op">
    <b>${o.operation}</b> ${o.outside ? say("trace.outside", where) : where}: ${number(o.good)}
    ${o.concession > 0 && html`, ${count("op.concession", o.concession)}`}
  </li>`;
}

/**
 * became is what the pieces were in the end; of those joined to another batch,
 * only what was lost before.
 * @param {Traced} b
 */
function became(b) {
  const good = !b.joined_to && (b.good > 0 || !isOpen(b)) && say("count.good", number(b.good));
  return [
    good,
    b.scrap > 0 && say("count.scrap", number(b.scrap)),
    b.missing > 0 && say("count.missing", number(b.missing)),
  ]
    .filter(Boolean)
    .join(", ");
}

/** @param {{b: Member, q: string, operations: boolean}} props */
function Batch({ b, q, operations }) {
  const joined = Math.max(0, b.started - b.scrap - b.missing);
  const mine = [b.card, b.works_order].some((x) => x && x.toLowerCase() === q.toLowerCase());
  return html`<div
    class=${`traced depth-${Math.min(4, b.depth)}${mine ? " asked-for" : ""}`}
    data-test="traced"
    data-card=${b.card}>
    ${b.parent &&
    b.depth > 0 &&
    html`<p class="soft">${say("trace.split", number(b.started), b.parent)} ${day(b.released)}</p>`}
    <p>
      <${BatchLink} row=${b} />${" "}
      <span>
        ${say(
          "trace.what",
          b.part,
          b.part_name || "",
          say("revs", b.drawing_rev || say("none"), b.route_rev),
        )}
      </span>
    </p>
    <p>
      ${b.customer &&
      html`<span>${b.customer}${b.order_line ? ", " + say("trace.line", b.order_line) : ""}. </span>`}
      ${count("trace.started-n", b.started)} ${day(b.released)}; ${became(b)}${" "}
      ${isOpen(b) && html`<${Hint}>${stateWord(b.state)}<//>`}${" "}
      ${b.review > 0 && html`<${Mark} kind="ask">${say("trace.in-review", number(b.review))}<//>`}
    </p>
    ${b.concessions.length > 0 &&
    html`<ul class="conceded" data-test="conceded">
      ${b.concessions.map(
        (c, i) =>
          html`<li key=${i}>
            ${say("trace.conceded", number(c.pieces), c.operation, c.reference, dateText(dayOf(c.at)))}
          </li>`,
      )}
    </ul>`}
    <${Measurements} b=${b} />
    ${operations &&
    b.operations.length > 0 &&
    html`<ol class="op-line" data-test="op-line">
      ${b.operations
        .filter((o) => o.good > 0 || !b.joined_to)
        .map((o) => html`<${Operation} key=${o.operation} o=${o} />`)}
    </ol>`}
    ${b.joined_to &&
    html`<p class="soft" data-test="trace-joined">
      ${say("trace.joined", number(joined), b.joined_to)} ${b.ended ? day(b.ended) : ""}
    </p>`}
  </div>`;
}

/** @param {{b: Traced}} props */
function Out({ b }) {
  const nothing = b.deliveries.length === 0 && b.stock === 0;
  if (b.joined_to) return null;
  return html`<ul class="out" data-test="out">
    ${b.deliveries.map(
      (d, i) =>
        html`<li key=${i}>
          <b>${number(d.pieces)}</b> ${say("trace.on", dateText(dayOf(d.at)))}${" "}
          ${d.note ? html`<a href=${"/trace?q=" + encodeURIComponent(d.note)}>${d.note}</a>` : ""}
        </li>`,
    )}
    ${b.stock > 0 && html`<li><b>${number(b.stock)}</b> ${say("trace.to-stock")}</li>`}
    ${nothing && html`<li class="soft">${say(isOpen(b) ? "trace.on-floor" : "trace.nothing-left")}</li>`}
  </ul>`;
}

/** @param {{f: Family, q: string, operations: boolean}} props */
export function Family({ f, q, operations }) {
  const lots = [...new Set(f.batches.flatMap((b) => b.material_lots))];
  return html`<div class="family" data-test="family">
    <div class="lots">
      <small>${say("fact.lots")}</small>
      ${lots.length === 0
        ? html`<span class="soft">${say("trace.no-lot")}</span>`
        : lots.map(
            (x) =>
              html`<a
                key=${x}
                class=${x.toLowerCase() === q.toLowerCase() ? "lot asked-for" : "lot"}
                href=${"/trace?q=" + encodeURIComponent(x)}>
                ${x}
              </a>`,
          )}
    </div>
    <div class="members">
      ${f.batches.map(
        (b) =>
          html`<div class="member" key=${b.card}>
            <${Batch} b=${b} q=${q} operations=${operations} />
            <${Out} b=${b} />
          </div>`,
      )}
    </div>
  </div>`;
}
