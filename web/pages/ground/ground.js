// The ground: a page to work with, or with ?wall=1 a wall screen, where the map fills
// all and names what fits.
import { html, useComputed, useMemo } from "../../lib/vendor/ui.js";
import { boards, openBoard, stale } from "../../lib/board.js";
import { tick } from "../../lib/clock.js";
import { conditions, needsOf } from "../../lib/needs.js";
import { failed, me, start } from "../../lib/shell.js";
import { loadShop } from "../../lib/shop.js";
import { textWidth } from "../../lib/wall-size.js";
import {
  Foot,
  glass,
  Head,
  headLine,
  isWall,
  linesFor,
  onReopen,
  startWall,
  useScreen,
} from "../../lib/wall.js";
import { count, say } from "../../lib/words.js";
import { Cells, cellsOf, layCells, Left } from "./cells.js";
import { placeOver } from "./labels.js";
import { Aisles, Hall, needs, NeedShape, Walks } from "./map.js";
import { GroundPage, pointsOf } from "./page.js";
import { opacity } from "./plan-draft.js";
import { toPx, wholeView } from "./view.js";
import { followWalks, pathOf, places, stretches, weekLegs } from "./walks.js";

const { about } = boards.ground;

/**
 * @typedef {import("./walks.js").Board} Board
 * @typedef {import("./walks.js").Place} Place
 * @typedef {import("./walks.js").Leg} Leg
 * @typedef {import("./labels.js").Box} Box
 * @typedef {import("./map.js").Plan & {turn?: boolean}} Plan turned, where the map is
 * @typedef {import("../../lib/wall.js").Glass} Glass
 * @typedef {NonNullable<ReturnType<typeof layMap>>} LaidMap
 * @typedef {import("./cells.js").Cell} Cell
 * @typedef {{said: string[], kinds: string[], map?: LaidMap, cells?: ReturnType<typeof layCells>,
 *   left?: Cell[]}} Laid
 */

// The ground as a wall screen: the map fills it, each place says its name and how many
// wait there, in type of the set size. Where that has no room, the busiest places are named
// and the others counted. From far, and where a place that needs someone has no room for
// its name, there is a cell for each work centre instead.

/**
 * parts is how much room the parts of a label take, in px: its shape where it has
 * one, the name, and the number that waits in a box of its own.
 * @param {Place} p
 * @param {number} px
 */
function parts(p, px) {
  const shape = needs(p) ? px * 0.85 : px * 0.08,
    name = Math.ceil(textWidth(p.machine, px, true));
  const box = p.waits ? Math.ceil(textWidth(String(p.waits), px, true)) + px * 0.3 : 0;
  return { shape, name, box, w: shape + name + (box ? px * 0.2 + box : 0) + px * 0.08 };
}

// fit lays out the labels that have room; the busiest first, after those that need
// a person.
const lineHeight = 1.2; // em, of a label

/**
 * @param {Place[]} list
 * @param {import("./view.js").View} v
 * @param {number} px
 * @param {number} w
 * @param {number} h
 */
function fit(list, v, px, w, h) {
  const marks = list.map((p) => {
    const [x, y] = toPx(v, p.x_m, p.y_m);
    return {
      key: p.machine,
      x,
      y,
      r: px * 0.2,
      rank: (needs(p) ? 1e6 : 0) + p.waits * 100 + p.works,
      sizes: [{ w: parts(p, px).w, h: px * lineHeight }],
    };
  });
  return { marks, ...placeOver(marks, w, h) };
}

/** @param {{p: Place, b: Box, px: number}} props */
function Label({ p, b, px }) {
  const need = needs(p),
    r = parts(p, px),
    base = px * 0.97,
    x = r.shape + r.name + px * 0.2;
  return html`<g
    class=${need ? "wall-label needs" : "wall-label"}
    data-test="wall-place"
    data-place=${p.machine}
    data-waits=${p.waits}
    transform=${`translate(${b.x} ${b.y})`}
    font-size=${px}>
    ${need &&
    html`
      <rect class="back" width=${b.w} height=${b.h} rx=${px * 0.05} />
      <${NeedShape} kind=${need} size=${px * 0.7} at=${[px * 0.45, b.h / 2]} />
    `}
    <text class=${p.waits || need ? "" : "idle"} x=${r.shape} y=${base}>${p.machine}</text>
    ${p.waits > 0 &&
    html`
      <rect class="chip" x=${x} y=${px * 0.1} width=${r.box} height=${b.h - px * 0.2} rx=${px * 0.08} />
      <text class="in-chip" x=${x + px * 0.15} y=${base}>${p.waits}</text>
    `}
  </g>`;
}

/**
 * turned gives the ground a quarter turn, where the hall is wide and the screen high
 * or the other way round, so that it fills the screen.
 * @param {Glass} props
 * @param {Place[]} list
 * @param {Plan} plan
 * @param {Leg[]} legs
 */
function turned({ w, h }, list, plan, legs) {
  const points = pointsOf(list, plan),
    spread = (/** @type {number} */ i) =>
      Math.max(...points.map((p) => p[i])) - Math.min(...points.map((p) => p[i]));
  if (points.length < 2 || w > h === spread(0) >= spread(1)) return { list, plan, legs };
  /**
   * @template {{x_m: number, y_m: number}} O
   * @param {O} o
   */
  const point = (o) => ({ ...o, x_m: -o.y_m, y_m: o.x_m });
  const path = (/** @type {string} */ text) =>
    pathOf(text)
      .map(([x, y]) => `${-y},${x}`)
      .join(" ");
  return {
    list: list.map(point),
    plan: { ...plan, turn: true, corners: plan.corners.map(point) },
    legs: legs.map((l) => ({ ...l, path: path(l.path) })),
  };
}

/**
 * layMap lays the map out, with a line for the count of the places that have no room for
 * their name, where there is anything to say of them; null where one of these needs
 * someone.
 * @param {Glass} g
 * @param {Plan} drawn
 * @param {number} lines
 */
function layMap(g, drawn, lines) {
  const { list, plan, legs } = turned(g, places.value, drawn, weekLegs.value);
  const pad = { x: g.px * 1.6, y: g.px * 1.3 },
    w = innerWidth;
  for (const others of [0, 1]) {
    const room = Math.floor((lines - others) * g.line),
      v = wholeView(pointsOf(list, plan), w, room, pad);
    const fitted = fit(list, v, g.px, w, room),
      left = list.filter((p) => !fitted.boxes.has(p.machine));
    if (left.some(needs)) return null;
    const quiet = !left.some((p) => p.waits > 0);
    if (others === 1 || quiet) return { list, plan, legs, v, w, room, left: quiet ? [] : left, ...fitted };
  }
  return null;
}

/** @param {{m: LaidMap, px: number}} props */
function Map({ m, px }) {
  const { list, plan, v, marks, boxes, covered } = m,
    walks = stretches([m.legs]);
  const shown = list
    .map((p, i) => ({ p, m: marks[i], b: boxes.get(p.machine) }))
    .filter((x) => !covered.has(x.p.machine));
  return html`<svg class="wall-map" data-test="wall-map" width=${m.w} height=${m.room}>
    <${Hall} picture=${plan.picture} turn=${plan.turn} v=${v} opacity=${opacity.value / 2} />
    <${Aisles} plan=${plan} places=${list} v=${v} />
    <${Walks} list=${walks} v=${v} widest=${px * 0.3} />
    ${shown.map(
      ({ p, m }) =>
        html`<rect
          key=${p.machine}
          class=${needs(p) ? "wall-mark needs" : "wall-mark"}
          x=${m.x - m.r}
          y=${m.y - m.r}
          width=${2 * m.r}
          height=${2 * m.r}
        />`,
    )}
    ${shown.filter((x) => x.b).map(({ p, b }) => html`<${Label} key=${p.machine} p=${p} b=${b} px=${px} />`)}
  </svg>`;
}

/** @param {{left: Place[]}} props */
const Others = ({ left }) =>
  html`<p class="wall-line cells-left" data-test="wall-others">
    ${count(
      "ground.others",
      left.length,
      left.reduce((n, p) => n + p.waits, 0),
    )}
  </p>`;

/**
 * layOut chooses between the map and the cells; said is what the head says, kinds what the
 * marks mean.
 * @param {Glass} g
 * @param {Pick<import("./walks.js").Board, "plan" | "totals">} board
 * @param {number} t
 * @returns {Laid}
 */
function layOut(g, { plan, totals }, t) {
  const list = places.value;
  const late = list.reduce((n, p) => n + (p.work_late ? 1 : 0), totals.late);
  const said = headLine(g, [
    count("wall.waits", totals.waits),
    ...(late > 0 ? [count("wall.late", late)] : []),
  ]);
  const drawn = conditions.filter((k) => list.some((p) => needsOf(p, t)[0] === k));
  const map = g.far ? null : layMap(g, plan, linesFor(g, said, drawn));
  if (map) return { said, kinds: drawn, map };
  const cells = cellsOf(list, t, g.far);
  const kinds = conditions.filter((k) => cells.some((c) => c.worst === k)),
    lines = linesFor(g, said, kinds);
  const all = layCells(cells, g, lines);
  const quiet = cells.filter((c) => !all.shown.some((x) => x.key === c.key) && c.waits > 0);
  return quiet.length === 0
    ? { said, kinds, cells: all, left: [] }
    : { said, kinds, cells: layCells(cells, g, lines - 1), left: quiet };
}

function GroundWall() {
  const g = useScreen(glass),
    t = useComputed(() => Math.floor(tick.value / 10000) * 10000);
  const laid = useMemo(
    () => (about.value && places.value.length > 0 ? layOut(g, about.value, t.value) : null),
    [g, t.value, about.value, places.value],
  );
  if (!about.value) return html`<p class="wall-out">${stale() || say("loading")}</p>`;
  if (!laid)
    return html`<div class="wall-board"><p data-test="no-places">${say("ground.no-places")}</p></div>`;
  return html`<div class=${"wall-board ground-wall" + (g.far ? " far" : "")}>
    <${Head} said=${laid.said} />
    <div class="wall-rows" data-test="wall-rows" data-page="1" data-pages="1">
      ${laid.map
        ? html`
            <${Map} m=${laid.map} px=${g.px} />
            ${laid.map.left.length > 0 && html`<${Others} left=${laid.map.left} />`}
          `
        : html`<${Cells} laid=${laid.cells} />`}
    </div>
    ${laid.left && laid.left.length > 0 && html`<${Left} left=${laid.left} />`}
    <${Foot} kinds=${laid.kinds} />
  </div>`;
}

// The ground board: a page to work with, or with ?wall=1 a wall screen.

if (isWall()) {
  startWall(GroundWall, "ground");
} else {
  start(GroundPage).then(() => {
    if (!me.value) return;
    loadShop().catch(failed);
    openBoard({ name: "ground", onReopen });
    followWalks();
  });
}
