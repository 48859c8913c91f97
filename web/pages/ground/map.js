// The map of the ground: marks of places, walks as lines, labels.
import { html, useMemo } from "../../lib/vendor/ui.js";
import { now } from "../../lib/clock.js";
import { shapes as marks } from "../../lib/marks.js";
import { needsOf } from "../../lib/needs.js";
import { chipWidth, labelOf, labelText, place as layLabels, nameWidth } from "./labels.js";
import { toPx } from "./view.js";
import { mostTrips, thickness } from "./walks.js";

/**
 * @typedef {import("./walks.js").Place} Place
 * @typedef {import("./walks.js").Stretch} Stretch
 * @typedef {import("./labels.js").Laid} Laid
 * @typedef {import("./labels.js").Text} Text
 * @typedef {import("./labels.js").Line & {set: number, trips: number, long: number, ux: number,
 *   uy: number}} Lane
 * @typedef {import("./view.js").Point} Point
 * @typedef {import("./view.js").View} View
 * @typedef {import("../../lib/_types.js").Schema["Plan"]} Plan
 */

// The mark of a place: a square with the shape of what goes on there. Grey is
// normal; what stands still or is late has the warning colour, and a shape.

/**
 * Shapes in a box from -8 to 8.
 * @type {Record<string, string>}
 */
const shapes = {
  running: "M-4-6 7 0-4 6Z",
  setting: "M-6-6H6V-3H-6Z M-6 3H6V6H-6Z",
  firstoff: "M0-7 7 0 0 7-7 0Z",
  ready: "M-4-6 7 0-4 6Z M-2-2.8V2.8L3 0Z",
  stopped: "M-6-6H6V6H-6Z",
  outside: "M-6 6V4L2-4H-3V-6H6V3H4V-2L-4 6Z",
  free: "M-3-1H3V1H-3Z",
};

export const states = ["running", "setting", "firstoff", "ready", "stopped", "outside", "free"];
export const markSize = 11; // half of the square, px

/** @param {{state: string}} props */
export const StateShape = ({ state }) => html`<path fill-rule="evenodd" d=${shapes[state] || shapes.free} />`;

/**
 * needs is the worst of what needs someone in a place; empty is nothing.
 * @param {Place} p
 */
export const needs = (p) => needsOf(p, now())[0] ?? "";

/**
 * NeedShape is the mark of what needs someone, of a size in px, around 0,0.
 * @param {{kind: string, size: number, at: Point, cls?: string}} props
 */
export const NeedShape = ({ kind, size, at, cls }) =>
  html`<path
    class=${cls}
    fill-rule="evenodd"
    d=${marks[kind]}
    transform=${`translate(${at.map((x) => x - size / 2).join(" ")}) scale(${size / 16})`}
  />`;

/** @type {Record<string, string>} */
const own = { stopped: "stop", firstoff: "ask" }; // the mark of the state is that of the condition

/**
 * isNeedy says that a state needs someone by itself.
 * @param {string} state
 */
export const isNeedy = (state) => state in own;

/**
 * PlaceMark is drawn around 0,0.
 * @param {{p: Place}} props
 */
export function PlaceMark({ p }) {
  const s = markSize,
    need = needs(p);
  return html`<g class=${"mark-of" + (isNeedy(p.state) ? " needs" : "")}>
    <rect x=${-s} y=${-s} width=${2 * s} height=${2 * s} rx="2" />
    <${StateShape} state=${p.state} />
    ${need &&
    need !== own[p.state] &&
    html`<g class="badge">
      <rect x=${s - 8} y=${-s - 8} width="16" height="16" />
      <${NeedShape} kind=${need} size=${12} at=${[s, -s]} />
    </g>`}
  </g>`;
}

// The map of the ground: the hall underneath, aisles as quiet lines, the walks over
// them, and the places with their labels.

const aisleMetres = 1.6; // how wide an aisle is drawn

/**
 * ends gives the points of aisles by their names.
 * @type {(plan: Plan, places: Place[]) => Map<string, Point>}
 */
const ends = (plan, places) => {
  const at = new Map();
  for (const c of plan.corners || []) at.set(c.corner, [c.x_m, c.y_m]);
  for (const p of places) at.set(p.machine, [p.x_m, p.y_m]);
  return at;
};

/**
 * Hall is the picture of the hall; turn gives it a quarter turn to the right.
 * @param {{picture: Plan["picture"], v: View, opacity: number, turn?: boolean}} props
 */
export function Hall({ picture, v, opacity, turn }) {
  if (!picture) return null;
  const way = turn ? [0, v.k, -v.k, 0] : [v.k, 0, 0, v.k];
  return html`<image
    class="hall"
    href=${"/api/v1/ground/pictures/" + picture.ref}
    x=${picture.x_m}
    y=${picture.y_m}
    width=${picture.width_m}
    height=${picture.height_m}
    transform=${`matrix(${way.join(" ")} ${-v.x * v.k} ${-v.y * v.k})`}
    preserveAspectRatio="none"
    opacity=${opacity}
  />`;
}

/** @param {{plan: Plan, places: Place[], v: View}} props */
export function Aisles({ plan, places, v }) {
  const at = ends(plan, places),
    width = Math.max(4, Math.min(18, aisleMetres * v.k));
  return html`<g class="aisles" stroke-width=${width}>
    ${(plan.aisles || []).map((a, i) => {
      const p = at.get(a.from),
        q = at.get(a.to);
      if (!p || !q) return null;
      const [x1, y1] = toPx(v, ...p),
        [x2, y2] = toPx(v, ...q);
      return html`<line key=${i} x1=${x1} y1=${y1} x2=${x2} y2=${y2} />`;
    })}
  </g>`;
}

/**
 * lanes gives the lines of a stretch: each direction on its right-hand side, a
 * second route outside the first.
 * @param {Stretch} s
 * @param {View} v
 * @param {number} most
 * @param {number} widest
 */
function lanes(s, v, most, widest) {
  /** @type {Lane[]} */
  const out = [];
  for (const dir of /** @type {const} */ (["there", "back"])) {
    const [from, to] = dir === "there" ? [s.a, s.b] : [s.b, s.a];
    let off = 1;
    s.sets.forEach((set, i) => {
      if (!set[dir]) return;
      const w = thickness(set[dir], most, widest),
        [x1, y1] = toPx(v, ...from),
        [x2, y2] = toPx(v, ...to);
      const long = Math.hypot(x2 - x1, y2 - y1) || 1,
        ux = (x2 - x1) / long,
        uy = (y2 - y1) / long;
      const dx = -uy * (off + w / 2),
        dy = ux * (off + w / 2);
      out.push({
        set: i,
        trips: set[dir],
        w,
        long,
        ux,
        uy,
        x1: x1 + dx,
        y1: y1 + dy,
        x2: x2 + dx,
        y2: y2 + dy,
      });
      off += w + 1.5;
    });
  }
  return out;
}

/** @param {Lane} l */
const arrow = (l) => {
  const size = Math.max(5, l.w * 0.9),
    mx = (l.x1 + l.x2) / 2,
    my = (l.y1 + l.y2) / 2;
  const tip = [mx + l.ux * size, my + l.uy * size],
    back = [mx - l.ux * size, my - l.uy * size];
  const left = [back[0] - l.uy * size, back[1] + l.ux * size],
    right = [back[0] + l.uy * size, back[1] - l.ux * size];
  return `M${tip}L${left}L${right}Z`;
};

/** @param {{s: Stretch, v: View, most: number, widest: number, lit: boolean}} props */
function Stretch({ s, v, most, widest, lit }) {
  const list = lanes(s, v, most, widest);
  const [x1, y1] = toPx(v, ...s.a),
    [x2, y2] = toPx(v, ...s.b);
  const trips = list.reduce((n, l) => n + l.trips, 0),
    wide = Math.max(22, ...list.map((l) => 2 * l.w + 6));
  return html`<g
    class=${lit ? "stretch lit" : "stretch"}
    data-stretch=${s.key}
    data-trips=${trips}
    data-test="stretch">
    ${list.map(
      (l, i) => html`<g key=${i} class=${"walk set" + l.set}>
        <line x1=${l.x1} y1=${l.y1} x2=${l.x2} y2=${l.y2} stroke-width=${l.w} />
        ${l.long > 34 && html`<path d=${arrow(l)} />`}
      </g>`,
    )}
    <line class="reach" x1=${x1} y1=${y1} x2=${x2} y2=${y2} stroke-width=${wide} />
  </g>`;
}

/**
 * Walks draws the stretches of one set of legs or of two; lit are the keys of legs
 * that stand out.
 * @param {{list: Stretch[], two?: boolean, v: View, lit?: Set<string> | null, widest: number}} props
 */
export function Walks({ list, two, v, lit, widest }) {
  const most = mostTrips(list);
  /** @param {Stretch} s */
  const isLit = (s) => Boolean(lit && s.sets.some((x) => x.legs.some((k) => lit.has(k))));
  return html`<g class=${"walks" + (two ? " two" : "")}>
    ${list.map(
      (s) => html`<${Stretch} key=${s.key} s=${s} v=${v} most=${most} widest=${widest} lit=${isLit(s)} />`,
    )}
  </g>`;
}

/**
 * linesOf is where walks lie, for the labels to keep off.
 * @param {Stretch[]} list
 * @param {View} v
 */
const linesOf = (list, v) =>
  list.map((s) => {
    const [x1, y1] = toPx(v, ...s.a),
      [x2, y2] = toPx(v, ...s.b);
    return { x1, y1, x2, y2, w: 3 };
  });

/** @param {{p: Place, box: Laid}} props */
function Label({ p, box }) {
  const x = { start: 1, middle: box.w / 2, end: box.w - 1 }[box.side];
  return html`<g
    class="label"
    data-place=${p.machine}
    transform=${`translate(${box.x} ${box.y})`}
    text-anchor=${box.side}>
    ${labelOf(p, box.level).map(
      (l, i) => html`<g key=${i}>
        ${l.warn &&
        html`<rect
          class="warned"
          x="-2"
          y=${i * labelText.line}
          width=${box.w + 4}
          height=${labelText.line}
        />`}
        ${l.chip
          ? html`<${Chip} l=${l} box=${box} />`
          : html`<text
              class=${(l.bold ? "name" : "") + (l.warn ? " on-warn" : "")}
              x=${x}
              y=${i * labelText.line + labelText.base}>
              ${l.text}
            </text>`}
      </g>`,
    )}
  </g>`;
}

/**
 * Chip is a name with the number that waits in a box after it.
 * @param {{l: Text & {chip: string}, box: Laid}} props
 */
function Chip({ l, box }) {
  const c = chipWidth(l.chip),
    long = nameWidth(l) + 4 + c,
    x = { start: 0, middle: (box.w - long) / 2, end: box.w - long }[box.side];
  return html`<g text-anchor="start">
    <text class="name" x=${x + 1} y=${labelText.base}>${l.text}</text>
    <rect class="chip" x=${x + long - c} y="1" width=${c} height=${labelText.line - 2} rx="2" />
    <text class="in-chip" x=${x + long - c + 4} y=${labelText.base}>${l.chip}</text>
  </g>`;
}

/**
 * rank says whose label matters most: the open place, what a person must look at,
 * then the busiest.
 * @param {Place} p
 * @param {string} open
 */
const rankOf = (p, open) => (p.machine === open ? 1e9 : 0) + (needs(p) ? 1e6 : 0) + p.waits * 100 + p.works;

/**
 * Places draws marks and labels. list is the stretches of the walks, box the size of
 * the map; minute makes times move.
 * @param {{places: Place[], list: Stretch[], v: View, box: import("./view.js").Size, open: string,
 *   minute: number}} props
 */
export function Places({ places, list, v, box, open, minute }) {
  const marks = useMemo(
    () =>
      places.map((p) => {
        const [x, y] = toPx(v, p.x_m, p.y_m);
        return {
          key: p.machine,
          x,
          y,
          r: markSize,
          badge: needs(p) ? 7 : 0,
          rank: rankOf(p, open),
          sizes: labelText.sizes(p),
        };
      }),
    [places, v, open, minute],
  );
  const boxes = useMemo(() => layLabels(marks, box.w, box.h, linesOf(list, v)), [marks, list, box.w, box.h]);
  return html`<g class="places">
    ${places.map(
      (p, i) => html`<g
        key=${p.machine}
        class=${p.machine === open ? "place open" : "place"}
        data-test="place"
        data-place=${p.machine}
        data-waits=${p.waits}
        data-state=${p.state}
        data-level=${boxes.get(p.machine)?.level ?? "none"}
        tabindex="0"
        role="button"
        aria-label=${labelText.spoken(p)}>
        <title>${labelText.spoken(p)}</title>
        <g transform=${`translate(${marks[i].x} ${marks[i].y})`}>
          <rect class="reach" x="-22" y="-22" width="44" height="44" />
          <${PlaceMark} p=${p} />
        </g>
      </g>`,
    )}
    <g aria-hidden="true">
      ${places.map(
        (p) => boxes.has(p.machine) && html`<${Label} key=${p.machine} p=${p} box=${boxes.get(p.machine)} />`,
      )}
    </g>
  </g>`;
}
