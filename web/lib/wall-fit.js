// Bringing a board onto a wall screen whose type never shrinks: what has no room is left
// out or counted, pages turn only where they must, and nothing late is on a later page.
// All of it is arithmetic with widths and lines; what measures text is handed in.

/**
 * Width says how wide a text is, in px.
 * @typedef {(text: string, bold?: boolean) => number} Width
 */
/**
 * Spec is a column of a list: what it says of a row, and when it goes if there is no room
 * for all: the highest number first; 0 stays.
 * @template R
 * @typedef {object} Spec
 * @property {string} key
 * @property {(row: R) => string} [text]
 * @property {boolean} [bold]
 * @property {(row: R) => number} [wide] in px, of what is no text
 * @property {number} drop
 */
/**
 * Column is one that has room, w px wide.
 * @template R
 * @typedef {Spec<R> & {w: number}} Column
 */

const mostPages = 3;

/**
 * packLines says how many lines things of some widths take, side by side with a gap.
 * @param {number[]} widths
 * @param {number} room
 * @param {number} gap
 */
export function packLines(widths, room, gap) {
  let lines = 1,
    used = 0;
  for (const w of widths) {
    if (used > 0 && used + gap + w > room) {
      lines++;
      used = w;
    } else used += (used > 0 ? gap : 0) + w;
  }
  return lines;
}

/**
 * fitColumns chooses the columns of a list that fit side by side, and how wide each is:
 * as wide as its longest text.
 * @template R
 * @param {R[]} rows
 * @param {Spec<R>[]} specs
 * @param {number} room
 * @param {number} gap
 * @param {Width} width
 */
export function fitColumns(rows, specs, room, gap, width) {
  let used = specs
    .map((s) => ({ ...s, w: Math.ceil(Math.max(0, ...rows.map((r) => wideOf(s, r, width)))) }))
    .filter((s) => s.w > 0);
  const sum = () => used.reduce((n, s) => n + s.w + gap, -gap);
  while (sum() > room) {
    const least = used.reduce((a, b) => (b.drop > a.drop ? b : a), used[0]);
    if (!least || least.drop === 0) break;
    used = used.filter((s) => s !== least);
  }
  return { used, left: room - sum() };
}

/** @type {<R>(s: Spec<R>, row: R, width: Width) => number} */
function wideOf(s, row, width) {
  if (s.wide) return s.wide(row);
  const text = s.text?.(row);
  return text ? width(text, s.bold) : 0;
}

/**
 * across is how many columns of a width stand side by side.
 * @param {number} w
 * @param {number} room
 * @param {number} gap
 */
export const across = (w, room, gap) => Math.max(1, Math.floor((room + gap) / (w + gap)));

/**
 * Page is what stands on one page: rows of the first list, how many of it are only
 * counted, and rows of the second.
 * @template A, B
 * @typedef {{a: A[], more: number, b: B[]}} Page
 */

/**
 * namesAndCentres lays the worst batches (a, a line each) and then the work centres (b,
 * in columns under a heading). Centres that have no room are on further pages; batches
 * that have none are counted, unless there is a further page with room. What is late
 * stands on the first page, by name or in its centre's count.
 * @template {{late: boolean}} A
 * @template {{late: boolean}} B
 * @param {A[]} a
 * @param {B[]} b
 * @param {{lines: number, cols: number, head: number, count?: boolean}} room count says that
 *   batches without room are worth a line that counts them
 * @returns {Page<A, B>[]}
 */
export function namesAndCentres(a, b, { lines, cols, head, count = true }) {
  const high = (/** @type {number} */ n) => Math.ceil(n / cols);
  const free = lines - head,
    lateB = high(b.filter((x) => x.late).length);
  // No page turns where the first has room for all centres beside the worst batches.
  const names = Math.max(a.filter((x) => x.late).length, Math.min(a.length, 2));
  const all = high(b.length);
  const leastB = all + names <= free ? all : Math.min(all, Math.max(lateB, Math.floor(free / 2)));
  let forA = Math.min(a.length, Math.max(0, free - leastB));
  const onFirst = Math.min(all, free - forA);
  // A line for the count of the others; where no batch has room, the head counts them.
  const counted = count && forA > 0 && forA < a.length;
  if (counted) forA--;
  /** @type {Page<A, B>[]} */
  const pages = [{ a: a.slice(0, forA), more: 0, b: b.slice(0, onFirst * cols) }];
  // What is late is never on a later page: its centre counts it on this one.
  let restA = a.slice(forA).filter((x) => !x.late),
    restB = b.slice(onFirst * cols);
  if (counted) pages[0].more = a.length - forA;
  while (restB.length > 0 && pages.length < mostPages) {
    const n = Math.min(high(restB.length), free);
    const forRest = Math.max(0, Math.min(restA.length, free - n));
    pages.push({ a: restA.slice(0, forRest), more: 0, b: restB.slice(0, n * cols) });
    restA = restA.slice(forRest);
    restB = restB.slice(n * cols);
  }
  return pages;
}

/**
 * runsAndRest lays rows (a) onto pages, a line each, and what there is beside them (b, of
 * some lines each under a heading) onto what is left of the last. What is needy comes
 * first in a.
 * @template {{late: boolean}} A
 * @template {{lines: number}} B
 * @param {A[]} a
 * @param {B[]} b
 * @param {{lines: number, head: number}} room
 * @returns {Page<A, B>[]}
 */
export function runsAndRest(a, b, { lines, head }) {
  const late = a.filter((x) => x.late);
  // More that is late than one page has lines: the last line counts the others.
  const first = late.length > lines ? late.slice(0, lines - 1) : a.slice(0, lines);
  /** @type {Page<A, B>[]} */
  const pages = [{ a: first, more: Math.max(0, late.length - first.filter((x) => x.late).length), b: [] }];
  let rest = a.filter((x) => !x.late && !first.includes(x));
  while (rest.length > 0 && pages.length < mostPages) {
    pages.push({ a: rest.slice(0, lines), more: 0, b: [] });
    rest = rest.slice(lines);
  }
  const last = pages[pages.length - 1];
  let room = lines - last.a.length - (last.more > 0 ? 1 : 0) - head;
  for (const x of b) {
    if (x.lines > room) break;
    last.b.push(x);
    room -= x.lines;
  }
  return pages;
}

/**
 * namesOf says how batches are named: by the works order, and where several cards have
 * the same one, by what tells them apart beside it: the part, or else the card.
 * @template {{card: string, works_order?: string, part: string}} R
 * @param {R[]} list
 */
export function namesOf(list) {
  /** @type {Map<string, Map<string, string>>} */
  const orders = new Map();
  for (const r of list) {
    if (!r.works_order) continue;
    if (!orders.has(r.works_order)) orders.set(r.works_order, new Map());
    orders.get(r.works_order)?.set(r.card, r.part);
  }
  return (/** @type {R} */ r) => {
    const cards = orders.get(r.works_order ?? "");
    if (!cards || cards.size < 2) return { name: r.works_order || r.card, beside: "" };
    const parts = new Set(cards.values());
    return { name: r.works_order ?? "", beside: parts.size === cards.size ? r.part : r.card };
  };
}

/**
 * Cell is a work centre at a place of the shop, in metres.
 * @typedef {{key: string, x: number, y: number, w: number, need: number}} Cell
 */

/**
 * schematic lays cells out in columns and rows as they lie to each other, without one on
 * another: as many columns as have room, and where that is too little, those with the
 * least need are left out. It gives for each cell its column and row, and each column's
 * width.
 * @template {Cell} C
 * @param {C[]} cells
 * @param {{w: number, rows: number, gap: number}} room
 */
export function schematic(cells, { w, rows, gap }) {
  let shown = [...cells];
  for (;;) {
    for (let cols = shown.length; cols > 0; cols--) {
      if (cols * rows < shown.length) break;
      const bands = inBands(shown, cols, rows),
        wide = bands.map((band) => Math.max(...band.map((c) => c.w)));
      if (wide.reduce((n, x) => n + x + gap, -gap) <= w)
        return { cols: wide, at: bands.flatMap((band, col) => inRows(band, rows, col, cells)), shown };
    }
    if (shown.length <= 1) return { cols: [w], at: shown.map((c) => ({ c, col: 0, row: 0 })), shown };
    const least = shown.reduce((a, b) => (b.need < a.need ? b : a));
    shown = shown.filter((c) => c !== least);
  }
}

/**
 * inBands cuts cells into columns from left to right, at the widest gaps between them that
 * leave no column with more cells than rows.
 * @template {Cell} C
 * @param {C[]} cells
 * @param {number} cols
 * @param {number} rows
 */
function inBands(cells, cols, rows) {
  const list = [...cells].sort((a, b) => a.x - b.x || a.y - b.y);
  /** @type {C[][]} */
  const bands = [];
  let i = 0;
  for (let c = 0; c < cols; c++) {
    const after = cols - c - 1; // columns that must each get at least one cell
    const most = Math.min(rows, list.length - i - after),
      least = Math.max(1, list.length - i - after * rows);
    let best = least;
    for (let n = least; n <= most; n++) {
      const gap = (/** @type {number} */ k) => (list[i + k]?.x ?? Infinity) - list[i + k - 1].x;
      if (gap(n) > gap(best)) best = n;
    }
    if (after === 0) best = list.length - i;
    bands.push(list.slice(i, i + best));
    i += best;
  }
  return bands;
}

/**
 * inRows gives the cells of a column their rows from top to bottom, as high as they lie in
 * the shop.
 * @template {Cell} C
 * @param {C[]} band
 * @param {number} rows
 * @param {number} col
 * @param {C[]} all
 */
function inRows(band, rows, col, all) {
  const ys = all.map((c) => c.y),
    top = Math.min(...ys),
    high = Math.max(1e-9, Math.max(...ys) - top);
  const list = [...band].sort((a, b) => a.y - b.y || a.x - b.x);
  let next = 0;
  return list.map((c, i) => {
    const wanted = Math.round(((c.y - top) / high) * (rows - 1));
    const row = Math.min(Math.max(wanted, next), rows - (list.length - i));
    next = row + 1;
    return { c, col, row };
  });
}
