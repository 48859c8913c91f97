// The ground from far: a cell for each work centre, as they lie to each other in the hall;
// hollow where nothing is wrong, and with the mark of the worst where something is.
import { html } from "../../lib/vendor/ui.js";
import { Box } from "../../lib/wall.js";
import { conditions, needsOf, urgent } from "../../lib/needs.js";
import { schematic } from "../../lib/wall-fit.js";
import { count } from "../../lib/words.js";

/**
 * @typedef {import("./walks.js").Place} Place
 * @typedef {{key: string, waits: number, works: number, kinds: Record<string, number>,
 *   places: Place[]}} Centre
 * @typedef {Centre & {x: number, y: number, need: number, worst: string | undefined}} Cell
 */

const gap = 0.4; // em, as in ground.css
const inset = 0.42; // em: a cell's padding and border, both sides
const high = 1.12; // lines that a cell takes with its border

/**
 * cellsOf adds places up by their work centre: how many wait, what is wrong, and where its
 * middle is.
 * @param {Place[]} places
 * @param {number} t
 * @param {boolean} far
 * @returns {Cell[]}
 */
export function cellsOf(places, t, far) {
  /** @type {Map<string, Centre>} */
  const by = new Map();
  for (const p of places) {
    const kinds = needsOf(p, t).filter((k) => !far || urgent.includes(k));
    const c = by.get(p.work_centre) ?? { key: p.work_centre, waits: 0, works: 0, kinds: {}, places: [] };
    by.set(p.work_centre, c);
    c.waits += p.waits;
    c.works += p.works;
    c.places.push(p);
    for (const k of kinds) c.kinds[k] = (c.kinds[k] || 0) + amount(p, k);
  }
  const mid = (/** @type {Centre} */ c, /** @type {"x_m" | "y_m"} */ k) =>
    c.places.reduce((n, p) => n + p[k], 0) / c.places.length;
  return [...by.values()].map((c) => {
    const worst = conditions.find((k) => c.kinds[k]);
    return {
      ...c,
      x: mid(c, "x_m"),
      y: mid(c, "y_m"),
      worst,
      need: (worst ? (conditions.length - conditions.indexOf(worst)) * 1e4 : 0) + c.waits + c.works / 10,
    };
  });
}

/**
 * amount is how many batches of a place a condition holds of, where that is known.
 * @param {Place} p
 * @param {string} k
 */
const amount = (p, k) =>
  /** @type {Record<string, number>} */ ({
    late: p.late + (p.work_late ? 1 : 0),
    held: p.held,
    ask: p.asks + (p.state === "firstoff" ? 1 : 0),
  })[k] || 1;

/**
 * layCells lays the cells out on a screen; turned where the hall is wide and the screen
 * high, or the other way round.
 * @param {Cell[]} cells
 * @param {import("../../lib/wall.js").Glass} g
 * @param {number} lines
 */
export function layCells(cells, g, lines) {
  const spread = (/** @type {"x" | "y"} */ k) =>
    Math.max(...cells.map((c) => c[k])) - Math.min(...cells.map((c) => c[k]));
  const turn = cells.length > 1 && spread("x") >= spread("y") !== g.w > g.h;
  const wide = (/** @type {Cell} */ c) =>
    g.width(c.key) +
    (c.waits ? g.width(String(c.waits), true) + 0.25 * g.px : 0) +
    (c.worst ? 0.95 * g.px : 0) +
    inset * g.px;
  const rows = Math.max(1, Math.floor(lines / high));
  const put = cells.map((c) => ({
    ...c,
    w: Math.min(Math.ceil(wide(c)), g.w),
    ...(turn ? { x: -c.y, y: c.x } : {}),
  }));
  return { ...schematic(put, { w: g.w, rows, gap: gap * g.px }), rows };
}

/** @param {{laid: ReturnType<typeof layCells>}} props */
export function Cells({ laid }) {
  return html`<div
    class="cells"
    data-test="wall-cells"
    style=${{
      gridTemplateColumns: laid.cols.map((w) => `minmax(${Math.floor(w)}px, 1fr)`).join(" "),
      gridTemplateRows: `repeat(${laid.rows}, 1fr)`,
    }}>
    ${laid.at.map(
      ({ c, col, row }) => html`<div
        key=${c.key}
        class=${c.worst ? "cell needs" : "cell"}
        style=${{ gridColumn: col + 1, gridRow: row + 1 }}
        data-test="wall-cell"
        data-centre=${c.key}
        data-waits=${c.waits}
        data-late=${c.kinds.late || 0}>
        ${c.worst && html`<${Box} kind=${c.worst} />`}
        <span>${c.key}</span>
        ${c.waits > 0 && html`<b>${c.waits}</b>`}
      </div>`,
    )}
  </div>`;
}

/**
 * Left counts the work centres that have no cell.
 * @param {{left: Cell[]}} props
 */
export const Left = ({ left }) =>
  html`<p class="cells-left" data-test="wall-others">${count("wall.more", left.length)}</p>`;
