// Labels beside marks: where each fits, and what it says.
import { openAt } from "../../lib/board.js";
import { now } from "../../lib/clock.js";
import { elapsed } from "../../lib/times.js";
import { textWidth } from "../../lib/wall-size.js";
import { count, say, stateWord } from "../../lib/words.js";

/**
 * @typedef {import("./walks.js").Place} Place
 * @typedef {{x: number, y: number, w: number, h: number}} Box
 * @typedef {"start" | "middle" | "end"} Side
 * @typedef {Box & {level: number, side: Side}} Laid
 * @typedef {{x1: number, y1: number, x2: number, y2: number, w: number}} Line
 * Mark is what a label stands beside: sizes go from the shortest label to the fullest; badge is
 * what sticks out of its upper right corner, px.
 * @typedef {{key: string, x: number, y: number, r: number, rank: number, sizes: {w: number, h: number}[],
 *   badge?: number}} Mark
 * @typedef {{text: string, bold?: boolean, chip?: string, warn?: boolean}} Text a line of a label
 */

// Labels beside marks, so that none lies on another or on a mark. Every place
// first gets its shortest label, those that matter most first; then, in the same
// order, a fuller one where there is room.

const gap = 3; // px between a mark and its label

const apart = 6; // px between two labels, side by side

/** @type {(a: Box, b: Box, by?: number) => boolean} */
const meets = (a, b, by = 0) =>
  a.x < b.x + b.w + by && b.x < a.x + a.w + by && a.y < b.y + b.h && b.y < a.y + a.h;

/**
 * around lists where a box of w by h may stand beside a mark: right, left, below
 * and above first.
 * @param {Mark} m
 * @param {number} w
 * @param {number} h
 * @returns {Box[]}
 */
function around(m, w, h) {
  const r = m.r + gap;
  return [
    [m.x + r, m.y - h / 2],
    [m.x - r - w, m.y - h / 2],
    [m.x - w / 2, m.y + r],
    [m.x - w / 2, m.y - r - h],
    [m.x + r, m.y + r / 2],
    [m.x + r, m.y - r / 2 - h],
    [m.x - r - w, m.y + r / 2],
    [m.x - r - w, m.y - r / 2 - h],
    [m.x - m.r, m.y + r],
    [m.x - m.r, m.y - r - h],
    [m.x + m.r - w, m.y + r],
    [m.x + m.r - w, m.y - r - h],
  ].map(([x, y]) => ({ x, y, w, h }));
}

/**
 * crosses reports whether a line {x1, y1, x2, y2, w} goes through a box (Liang and
 * Barsky's clipping).
 * @param {Box} b
 * @param {Line} l
 */
function crosses(b, l) {
  const x0 = b.x - l.w,
    y0 = b.y - l.w,
    x1 = b.x + b.w + l.w,
    y1 = b.y + b.h + l.w;
  let t0 = 0,
    t1 = 1;
  for (const [p, q] of [
    [l.x1 - l.x2, l.x1 - x0],
    [l.x2 - l.x1, x1 - l.x1],
    [l.y1 - l.y2, l.y1 - y0],
    [l.y2 - l.y1, y1 - l.y1],
  ]) {
    if (p === 0 && q < 0) return false;
    if (p < 0) t0 = Math.max(t0, q / p);
    if (p > 0) t1 = Math.min(t1, q / p);
  }
  return t0 <= t1;
}

/**
 * sideOf says towards which side of its mark a label stands, for its text to begin
 * there.
 * @param {Mark} m
 * @param {Box} b
 * @returns {Side}
 */
const sideOf = (m, b) =>
  b.x >= m.x
    ? "start"
    : b.x + b.w <= m.x
      ? "end"
      : Math.abs(b.x + b.w / 2 - m.x) < 2
        ? "middle"
        : b.x + b.w / 2 > m.x
          ? "start"
          : "end";

/** @type {(m: Mark) => Box} */
const blockOf = (m) => ({
  x: m.x - m.r - 1,
  y: m.y - m.r - 1 - (m.badge || 0),
  w: 2 * m.r + 2 + (m.badge || 0),
  h: 2 * m.r + 2 + (m.badge || 0),
});

/**
 * inOrder lists the marks that are on the screen, those that matter most first.
 * @template {Mark} M
 * @param {M[]} marks
 * @param {number} width
 * @param {number} height
 */
function inOrder(marks, width, height) {
  const seen = marks.filter((m) => m.x > -m.r && m.y > -m.r && m.x < width + m.r && m.y < height + m.r);
  return seen.sort((a, b) => b.rank - a.rank || (a.key < b.key ? -1 : 1));
}

/**
 * place lays labels out. A mark is {key, x, y, r, rank, sizes: [{w, h}, ...]}, sizes
 * from the shortest label to the fullest; badge is what sticks out of its upper
 * right corner, px. Short labels keep off the lines where they can, the fullest
 * never lies on one. It gives a map from the key to {x, y, w, h, level, side}; what
 * has no room has none.
 * @param {Mark[]} marks
 * @param {number} width
 * @param {number} height
 * @param {Line[]} [lines]
 */
export function place(marks, width, height, lines = []) {
  const blocks = marks.map(blockOf),
    order = inOrder(marks, width, height);
  /** @type {Map<string, Laid>} */
  const out = new Map();
  const inside = (/** @type {Box} */ b) => b.x >= 0 && b.y >= 0 && b.x + b.w <= width && b.y + b.h <= height;
  const free = (/** @type {Box} */ b, /** @type {string} */ own) =>
    inside(b) &&
    !blocks.some((x) => meets(b, x)) &&
    ![...out].some(([k, x]) => k !== own && meets(b, x, apart));
  const clear = (/** @type {Box} */ b) => !lines.some((l) => crosses(b, l));
  const levels = Math.max(0, ...marks.map((m) => m.sizes.length));
  for (let level = 0; level < levels; level++) {
    for (const m of order) {
      const size = m.sizes[level];
      if (!size || (level > 0 && !out.has(m.key))) continue;
      const boxes = around(m, size.w, size.h).filter((b) => free(b, m.key));
      const box = boxes.find(clear) || (level < 2 ? boxes[0] : null);
      if (box) out.set(m.key, { ...box, level, side: sideOf(m, box) });
    }
  }
  return out;
}

/**
 * placeOver lays one label each out where room is scarce: a label may cover marks
 * that matter less, and these then have none. It gives the labels by their keys and
 * the keys that are covered.
 * @param {Mark[]} marks
 * @param {number} width
 * @param {number} height
 */
export function placeOver(marks, width, height) {
  /** @type {Map<string, Box>} */
  const out = new Map();
  /** @type {Set<string>} */
  const covered = new Set();
  const order = inOrder(marks, width, height);
  const inside = (/** @type {Box} */ b) => b.x >= 0 && b.y >= 0 && b.x + b.w <= width && b.y + b.h <= height;
  for (const m of order) {
    if (covered.has(m.key)) continue;
    const others = order
      .filter((o) => o !== m && !covered.has(o.key))
      .map((o) => ({ key: o.key, fixed: out.has(o.key), block: blockOf(o) }));
    const found = around(m, m.sizes[0].w, m.sizes[0].h)
      .filter(inside)
      .filter((b) => ![...out.values()].some((x) => meets(b, x, apart)))
      .map((b) => ({ b, under: others.filter((o) => meets(b, o.block)) }))
      .filter((x) => !x.under.some((o) => o.fixed))
      .sort((p, q) => p.under.length - q.under.length)[0];
    if (!found) continue;
    out.set(m.key, found.b);
    for (const o of found.under) covered.add(o.key);
  }
  return { boxes: out, covered };
}

// What the label of a place says, from its short name alone to all of it.

const px = 14,
  line = 18,
  base = 14;

/** @param {string} [t] */
const gone = (t = "") => elapsed(now() - Date.parse(t));

/** @param {Place} p */
function doing(p) {
  if (p.state === "free") return openAt(p.work_centre, now()).open ? "" : say("ground.closed");
  const more = p.works > 1 ? " " + say("ground.more", p.works - 1) : "";
  return `${stateWord(p.state)} ${p.works_order || p.card}, ${gone(p.since)}${more}`;
}

/** @param {Place} p */
const briefly = (p) => (p.state === "free" ? doing(p) : `${stateWord(p.state)} ${gone(p.since)}`);

/** @param {Place} p */
function lying(p) {
  if (p.waits === 0) return [];
  const late = p.late > 0 ? ", " + count("waits.late", p.late) : "",
    held = p.held > 0 ? ", " + count("waits.held", p.held) : "";
  return [
    {
      text: `${count("ground.wait", p.waits)}, ${say("ground.oldest", gone(p.oldest))}${late}${held}`,
      warn: Boolean(late || held),
    },
  ];
}

/**
 * labelOf gives the lines of a label: level 0 is the short name, 1 with how many
 * wait in a box, 2 what goes on in few words, 3 everything.
 * @param {Place} p
 * @param {number} level
 * @returns {Text[]}
 */
export function labelOf(p, level) {
  const name = { text: p.machine, bold: true };
  if (level === 0) return [name];
  if (level === 1) return p.waits ? [{ ...name, chip: String(p.waits) }] : [name];
  const d = level === 2 ? briefly(p) : doing(p);
  if (level === 2)
    return [
      { ...name, chip: p.waits ? String(p.waits) : "" },
      ...(d ? [{ text: d, warn: ["stopped", "firstoff"].includes(p.state) }] : []),
    ];
  return [name, ...(d ? [{ text: d, warn: ["stopped", "firstoff"].includes(p.state) }] : []), ...lying(p)];
}

/**
 * chipWidth is the room of a number in its box beside the name.
 * @param {string} text
 */
export const chipWidth = (text) => Math.ceil(textWidth(text, px, true)) + 8;
/** @param {Text} l */
export const nameWidth = (l) => Math.ceil(textWidth(l.text, px, l.bold)) + 2;
/** @param {Text} l */
const widthOf = (l) => nameWidth(l) + (l.chip ? chipWidth(l.chip) + 4 : 0);
/** @param {Text[]} lines */
const sizeOf = (lines) => ({ w: Math.max(...lines.map(widthOf)), h: lines.length * line });

export const labelText = {
  line,
  base,
  sizes: (/** @type {Place} */ p) => [0, 1, 2, 3].map((l) => sizeOf(labelOf(p, l))),
  // spoken is all of it in one sentence, for those who do not see the map and for
  // places whose label has no room.
  spoken: (/** @type {Place} */ p) =>
    [
      `${p.machine}${p.name ? " " + p.name : ""}`,
      doing(p) || say("machine.free"),
      ...lying(p).map((l) => l.text),
    ].join(". "),
};
