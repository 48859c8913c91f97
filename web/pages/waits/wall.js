// The waits board as a wall screen: the batches that need someone by name, the worst
// first, then a line for each work centre: how many wait, how long the oldest, and what is
// wrong with them. From far it says less of each, never smaller.
import { html } from "../../lib/vendor/ui.js";
import { boards, inOrder, totals } from "../../lib/board.js";
import { conditions, needsOf, needText, urgent, worstFirst } from "../../lib/needs.js";
import { coarse } from "../../lib/times.js";
import { across, fitColumns, namesAndCentres, namesOf } from "../../lib/wall-fit.js";
import { Box, gridOf, headLine, linesFor, WallLines } from "../../lib/wall.js";
import { hotSpec, legend, More, WallPages } from "../../lib/wall-page.js";
import { beyondMarks, why } from "../../lib/why.js";
import { count, say } from "../../lib/words.js";

const { about } = boards.waits;

/**
 * @template R
 * @typedef {import("../../lib/wall-fit.js").Spec<R>} Spec
 */
/**
 * @template R
 * @typedef {import("../../lib/wall-fit.js").Column<R>} Column
 */
/**
 * @typedef {import("./line.js").Row} Row
 * @typedef {import("../../lib/wall.js").Glass} Glass
 * @typedef {{row: Row, kind: string, late: boolean, name: string, beside: string}} Batch
 * @typedef {{name: string, n: number, oldest: number, kinds: Record<string, number>}} Summed
 * @typedef {Summed & {late: boolean}} Centre
 * @typedef {ReturnType<typeof centreColumns>} Columns
 * @typedef {ReturnType<typeof layOut>} Laid
 * @typedef {import("../../lib/wall-fit.js").Page<Batch, Centre>} Page
 */

/**
 * batchesOf lists the batches that need someone, each once, the worst first; and what else
 * waits, in the order of the rule, for a wall with room.
 * @param {Row[]} list
 * @param {Glass} g
 * @param {number} t
 */
function batchesOf(list, g, t) {
  const named = namesOf(list);
  /** @type {Set<string>} */
  const seen = new Set();
  const once = (/** @type {Row} */ r) => !seen.has(r.card) && seen.add(r.card);
  /** @type {(row: Row) => Batch} */
  const batch = (row) => {
    const kind = needsOf(row, t)[0] ?? "";
    return { row, kind, late: kind === "late", ...named(row) };
  };
  const wanted = (/** @type {Row} */ r) => needsOf(r, t).some((k) => !g.far || urgent.includes(k));
  const needy = worstFirst(list.filter(wanted), t).filter(once).map(batch);
  const others = g.far
    ? []
    : inOrder(list.filter((r) => r.kind === "wait"))
        .filter(once)
        .map(batch);
  return { needy, others };
}

/**
 * whyOf says why a batch waits, in so many sentences as have room.
 * @param {Batch} batch
 * @param {number} t
 * @param {number} room
 * @param {import("../../lib/wall-fit.js").Width} width
 */
function whyOf({ row }, t, room, width) {
  const said = beyondMarks(why(row, about.value?.lines[row.work_centre], t), t);
  for (let n = said.length; n > 0; n--) {
    const text = said.slice(0, n).join(", ");
    if (width(text) <= room) return text;
  }
  return "";
}

/**
 * batchColumns chooses what is said of each batch: of all alike, or from far of each what
 * fits.
 * @param {Batch[]} list
 * @param {Glass} g
 * @param {number} t
 * @returns {(x: Batch) => Column<Batch>[]}
 */
function batchColumns(list, g, t) {
  const gap = 0.5 * g.px,
    today = about.value?.today ?? "",
    name = Math.max(0, ...list.map((x) => g.width(x.name, true)));
  /** @type {Spec<Batch>[]} */
  const specs = [
    { key: "mark", wide: () => 1.1 * g.px, drop: 0 },
    hotSpec(g),
    { key: "name", text: (x) => x.name, wide: () => name, bold: true, drop: 0 },
    { key: "beside", text: (x) => (g.w < 40 * g.px ? tail(x.beside) : x.beside), drop: 1 },
    { key: "need", text: (x) => (x.kind ? needText(x.kind, x.row, today, t) : ""), drop: 2 },
    { key: "at", text: (x) => x.row.machine || x.row.work_centre, drop: 3 },
    { key: "gone", text: (x) => coarse(t - Date.parse(x.row.since)), drop: 4 },
  ];
  if (g.far || g.w < 24 * g.px) return (x) => fitColumns([x], specs, g.w, gap, g.width).used;
  const { used, left } = fitColumns(list, specs, g.w, gap, g.width),
    room = left - gap;
  if (room > 6 * g.px) used.push({ key: "why", text: (x) => whyOf(x, t, room, g.width), w: room, drop: 9 });
  return () => used;
}

/**
 * tail is what tells a card from others of its works order, where all of it is too long.
 * @param {string} beside
 */
const tail = (beside) => (beside.length > 6 ? beside.slice(-4) : beside);

/** @param {Batch} x */
const dataOf = (x) => ({ "data-test": "wall-worst", "data-card": x.row.card, "data-late": x.late ? 1 : 0 });

/**
 * centresOf lists the work centres at which something waits or needs someone, the worst
 * first.
 * @param {Row[]} list
 * @param {number} t
 */
function centresOf(list, t) {
  /** @type {Map<string, Summed>} */
  const by = new Map();
  for (const r of list) {
    const c = by.get(r.work_centre) ?? { name: r.work_centre, n: 0, oldest: Infinity, kinds: {} };
    by.set(r.work_centre, c);
    if (r.kind === "wait") {
      c.n++;
      c.oldest = Math.min(c.oldest, Date.parse(r.since));
    }
    for (const k of needsOf(r, t).slice(0, 1)) c.kinds[k] = (c.kinds[k] || 0) + 1;
  }
  const rank = (/** @type {Centre} */ c) => {
    const k = conditions.findIndex((x) => c.kinds[x]);
    return k < 0 ? conditions.length : k;
  };
  return [...by.values()]
    .filter((c) => c.n > 0 || Object.keys(c.kinds).length > 0)
    .map((c) => ({ ...c, late: (c.kinds.late || 0) > 0 }))
    .sort(
      (a, b) =>
        rank(a) - rank(b) || (b.kinds.late || 0) - (a.kinds.late || 0) || a.oldest - b.oldest || b.n - a.n,
    );
}

/** @param {Glass} g */
const gapOf = (g) => 0.35 * g.px; // between the parts of a centre, as in wall.css
const apart = 0.7; // em between columns, as in wall.css

/**
 * centreColumns chooses what is said of each work centre, and in how many columns. From
 * far that is two, where the longest name fits; how long the oldest waits goes where a line
 * has no room for all.
 * @param {Centre[]} list
 * @param {Glass} g
 * @param {number} t
 */
function centreColumns(list, g, t) {
  const marks = (/** @type {Centre} */ c) =>
    conditions.filter((k) => c.kinds[k] && (!g.far || k === "late")).slice(0, g.far ? 1 : 2);
  /** @type {Spec<Centre>[]} */
  const specs = [
    { key: "name", text: (c) => c.name, bold: !g.far, drop: 0 },
    { key: "n", text: (c) => String(c.n), bold: true, drop: 0 },
    { key: "oldest", text: (c) => (c.n ? coarse(t - c.oldest) : ""), drop: 1 },
    {
      key: "marks",
      wide: (c) => marks(c).reduce((w, k) => w + g.width(String(c.kinds[k])) + 1.45 * g.px, 0),
      drop: 0,
    },
  ];
  const sum = (/** @type {Column<Centre>[]} */ used) => used.reduce((n, s) => n + s.w + gapOf(g), -gapOf(g));
  if (!g.far) {
    const { used } = fitColumns(list, specs, g.w, gapOf(g), g.width);
    return {
      of: /** @type {(c: Centre) => Column<Centre>[]} */ (() => used),
      marks,
      cols: across(sum(used), g.w, apart * g.px),
    };
  }
  const half = (g.w - apart * g.px) / 2;
  const cols = list.every((c) => fitColumns([c], specs, half, gapOf(g), g.width).left >= 0) ? 2 : 1;
  const room = cols === 2 ? half : g.w;
  return {
    of: (/** @type {Centre} */ c) => fitColumns([c], specs, room, gapOf(g), g.width).used,
    marks,
    cols,
  };
}

/** @param {{c: Centre, columns: Columns, far: boolean}} props */
function Centre({ c, columns, far }) {
  const used = columns.of(c);
  return html`<div
    class="wall-centre"
    style=${far ? {} : { gridTemplateColumns: gridOf(used) }}
    data-test="wall-centre"
    data-centre=${c.name}
    data-waits=${c.n}
    data-late=${c.kinds.late || 0}>
    ${used.map((s) =>
      s.key === "marks"
        ? html`<span key="marks">
            ${columns.marks(c).map((k) => html`<${Box} key=${k} kind=${k} n=${c.kinds[k]} />`)}
          </span>`
        : html`<span
            key=${s.key}
            class=${[s.bold && "bold", s.key !== "name" && "end"].filter(Boolean).join(" ")}
            data-part=${s.key}>
            ${s.text?.(c)}
          </span>`,
    )}
  </div>`;
}

/** @param {{list: Centre[], columns: Columns, far: boolean}} props */
const Centres = ({ list, columns, far }) =>
  html`<div
    class="wall-centres"
    style=${{
      gridTemplateColumns: `repeat(${columns.cols}, minmax(0, 1fr))`,
      gridTemplateRows: `repeat(${Math.ceil(list.length / columns.cols)}, var(--line))`,
    }}>
    ${list.map((c) => html`<${Centre} key=${c.name} c=${c} columns=${columns} far=${far} />`)}
  </div>`;

/**
 * headOf is what the head says; late are batches, at work or waiting.
 * @param {Glass} g
 * @param {Row[]} list
 * @param {number} page
 * @param {number} of
 */
function headOf(g, list, page, of) {
  const late = new Set(list.filter((r) => r.late).map((r) => r.card)).size,
    said = [count("wall.waits", totals(list).waits), ...(late > 0 ? [count("wall.late", late)] : [])];
  return [...headLine(g, said), ...(of > 1 ? [say("of", page, of)] : [])];
}

/**
 * @param {Glass} g
 * @param {Row[]} list
 * @param {number} t
 */
function layOut(g, list, t) {
  const { needy, others } = batchesOf(list, g, t),
    centres = centresOf(list, t),
    columns = centreColumns(centres, g, t);
  const marks = conditions.filter((k) => centres.some((c) => columns.marks(c).includes(k))),
    kinds = legend(g, marks, [...needy, ...others]);
  const lines = linesFor(g, headOf(g, list, 3, 3), kinds);
  const pages = namesAndCentres(needy, centres, { lines, cols: columns.cols, head: 1, count: !g.far });
  const [first] = pages,
    free = lines - 1 - first.a.length - Math.ceil(first.b.length / columns.cols);
  if (pages.length === 1 && first.more === 0) first.a.push(...others.slice(0, free));
  return { list, columns, kinds, pages };
}

/** @type {(laid: Laid, page: Page, g: Glass, t: number) => unknown} */
const view = ({ columns }, page, g, t) => html`
  <${WallLines} list=${page.a} columns=${batchColumns(page.a, g, t)} data=${dataOf} />
  <${More} n=${page.more} />
  ${page.b.length > 0
    ? html`<h2>${say("wall.centres")}</h2><${Centres} list=${page.b} columns=${columns} far=${g.far} />`
    : html`<p>${say("waits.none")}</p>`}
`;

/** @type {(laid: Laid, g: Glass, page: number, of: number) => string[]} */
const said = ({ list }, g, page, of) => headOf(g, list, page, of);

export const Wall = () =>
  html`<${WallPages} board=${boards.waits} layOut=${layOut} said=${said} view=${view} />`;
