// Labels beside marks: where each fits, and what it says.
import { openAt } from "../../lib/board.js";
import { now } from "../../lib/clock.js";
import { elapsed } from "../../lib/times.js";
import { textWidth } from "../../lib/wall-size.js";
import { count, say, stateWord } from "../../lib/words.js";

// Labels beside marks, so that none lies on another or on a mark. Every place
// first gets its shortest label, those that matter most first; then, in the same
// order, a fuller one where there is room.

const gap = 3; // px between a mark and its label

const apart = 6; // px between two labels, side by side

const meets = (a, b, by = 0) =>
  a.x < b.x + b.w + by && b.x < a.x + a.w + by && a.y < b.y + b.h && b.y < a.y + a.h;

// around lists where a box of w by h may stand beside a mark: right, left, below
// and above first.
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

// crosses reports whether a line {x1, y1, x2, y2, w} goes through a box (Liang and
// Barsky's clipping).
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

// sideOf says towards which side of its mark a label stands, for its text to begin
// there.
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

const blockOf = (m) => ({
  x: m.x - m.r - 1,
  y: m.y - m.r - 1 - (m.badge || 0),
  w: 2 * m.r + 2 + (m.badge || 0),
  h: 2 * m.r + 2 + (m.badge || 0),
});

// inOrder lists the marks that are on the screen, those that matter most first.
function inOrder(marks, width, height) {
  const seen = marks.filter((m) => m.x > -m.r && m.y > -m.r && m.x < width + m.r && m.y < height + m.r);
  return seen.sort((a, b) => b.rank - a.rank || (a.key < b.key ? -1 : 1));
}

// place lays labels out. A mark is {key, x, y, r, rank, sizes: [{w, h}, ...]}, sizes
// from the shortest label to the fullest; badge is what sticks out of its upper
// right corner, px. Short labels keep off the lines where they can, the fullest
// never lies on one. It gives a map from the key to {x, y, w, h, level, side}; what
// has no room has none.
export function place(marks, width, height, lines = []) {
  const blocks = marks.map(blockOf),
    order = inOrder(marks, width, height),
    out = new Map();
  const inside = (b) => b.x >= 0 && b.y >= 0 && b.x + b.w <= width && b.y + b.h <= height;
  const free = (b, own) =>
    inside(b) &&
    !blocks.some((x) => meets(b, x)) &&
    ![...out].some(([k, x]) => k !== own && meets(b, x, apart));
  const clear = (b) => !lines.some((l) => crosses(b, l));
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

// placeOver lays one label each out where room is scarce: a label may cover marks
// that matter less, and these then have none. It gives the labels by their keys and
// the keys that are covered.
export function placeOver(marks, width, height) {
  const out = new Map(),
    covered = new Set(),
    order = inOrder(marks, width, height);
  const inside = (b) => b.x >= 0 && b.y >= 0 && b.x + b.w <= width && b.y + b.h <= height;
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

const gone = (t) => elapsed(now() - Date.parse(t));

function doing(p) {
  if (p.state === "free") return openAt(p.work_centre, now()).open ? "" : say("ground.closed");
  const more = p.works > 1 ? " " + say("ground.more", p.works - 1) : "";
  return `${stateWord(p.state)} ${p.works_order || p.card}, ${gone(p.since)}${more}`;
}

const briefly = (p) => (p.state === "free" ? doing(p) : `${stateWord(p.state)} ${gone(p.since)}`);

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

// labelOf gives the lines of a label: level 0 is the short name, 1 with how many
// wait in a box, 2 what goes on in few words, 3 everything.
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

// chipWidth is the room of a number in its box beside the name.
export const chipWidth = (text) => Math.ceil(textWidth(text, px, true)) + 8;
export const nameWidth = (l) => Math.ceil(textWidth(l.text, px, l.bold)) + 2;
const widthOf = (l) => nameWidth(l) + (l.chip ? chipWidth(l.chip) + 4 : 0);
const sizeOf = (lines) => ({ w: Math.max(...lines.map(widthOf)), h: lines.length * line });

export const labelText = {
  line,
  base,
  sizes: (p) => [0, 1, 2, 3].map((l) => sizeOf(labelOf(p, l))),
  // spoken is all of it in one sentence, for those who do not see the map and for
  // places whose label has no room.
  spoken: (p) =>
    [
      `${p.machine}${p.name ? " " + p.name : ""}`,
      doing(p) || say("machine.free"),
      ...lying(p).map((l) => l.text),
    ].join(". "),
};
