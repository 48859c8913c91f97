// A wall screen that lists batches: its pages, which turn by themselves, with the head and
// the foot around them; and what both boards say of a batch alike.
import { html, useComputed } from "./vendor/ui.js";
import { stale } from "./board.js";
import { tick } from "./clock.js";
import { Foot, glass, Head, useScreen, useTurning } from "./wall.js";
import { count, say } from "./words.js";

/**
 * @typedef {import("./wall.js").Glass} Glass
 */

/**
 * WallPages lays a board out and shows one of its pages. layOut gives the pages, the marks
 * that need a legend, and what its view needs; said is what stands in the head of a page, and
 * view what stands on it.
 * @template {keyof import("./board.js").Boards} N
 * @template P
 * @template {{pages: P[], kinds: string[]}} L
 * @param {{
 *   board: import("./board.js").Live<N>,
 *   layOut: (g: Glass, list: import("./board.js").RowOf<N>[], t: number) => L,
 *   said: (laid: L, g: Glass, page: number, of: number) => string[],
 *   view: (laid: L, page: P, g: Glass, t: number) => unknown,
 * }} props
 */
export function WallPages({ board, layOut, said, view }) {
  const g = useScreen(glass),
    turned = useTurning();
  const t = useComputed(() => Math.floor(tick.value / 10000) * 10000);
  if (!board.about.value) return html`<p class="wall-out">${stale() || say("loading")}</p>`;
  const laid = layOut(g, Object.values(board.rows.value), t.value),
    of = laid.pages.length,
    at = turned % of;
  return html`<div class=${"wall-board" + (g.far ? " far" : "")}>
    <${Head} said=${said(laid, g, at + 1, of)} />
    <div class="wall-rows" data-test="wall-rows" data-page=${at + 1} data-pages=${of}>
      ${view(laid, laid.pages[at], g, t.value)}
    </div>
    <${Foot} kinds=${laid.kinds} />
  </div>`;
}

/**
 * More says how many there are that have no room.
 * @param {{n: number}} props
 */
export const More = ({ n }) =>
  n > 0 ? html`<p class="wall-line" data-test="wall-more">${count("wall.more", n)}</p>` : null;

/**
 * hotSpec is the column of the mark of hot batches, where there are any.
 * @param {Glass} g
 * @returns {import("./wall-fit.js").Spec<{row: {hot?: boolean}}>}
 */
export const hotSpec = (g) => ({ key: "hot", wide: (x) => (x.row.hot ? 1.1 * g.px : 0), drop: 1 });

/**
 * legend is the marks that stand without a word, and hot where a batch is that. From far
 * the legend has no room for it.
 * @param {Glass} g
 * @param {string[]} kinds
 * @param {{row: {hot?: boolean}}[]} list
 */
export const legend = (g, kinds, list) => (!g.far && list.some((x) => x.row.hot) ? ["hot", ...kinds] : kinds);
