// The ground: a page to work with, or with ?wall=1 a wall screen, where the map fills
// all and names what fits.
import { html, useMemo } from "../../lib/vendor/ui.js";
import { about, openBoard, stale } from "../../lib/board.js";
import { Shape } from "../../lib/marks.js";
import { failed, me, start } from "../../lib/shell.js";
import { loadShop } from "../../lib/shop.js";
import { Foot, isWall, onReopen, startWall, typeSize, useScreen } from "../../lib/wall.js";
import { count, say } from "../../lib/words.js";
import { placeOver, textWidth } from "./labels.js";
import { Aisles, Hall, needs, Walks } from "./map.js";
import { GroundPage, pointsOf } from "./page.js";
import { opacity } from "./plan-draft.js";
import { toPx, wholeView } from "./view.js";
import { followWalks, pathOf, places, stretches, weekLegs } from "./walks.js";

// The ground as a wall screen: the map fills it, each place says its name and how
// many wait there, in type of the set size. Where that has no room, the busiest
// places are named and the others counted.

const lineHeight = 1.2; // em, as in wall.css

function measure() {
  const px = typeSize();
  const narrow = innerWidth / px < 19;
  const edge = Math.ceil(px * 0.5); // of a stale screen, on both sides
  return { px, w: innerWidth - edge, h: innerHeight - edge, bars: narrow ? 4 : 2 };
}

const shapeOf = { late: "M0-8 8 7H-8Z", held: "M-8-8H8V8H-8Z M-5-2V2H5V-2Z", stop: "M-7-7H7V7H-7Z" };

// parts is how much room the parts of a label take, in px: its shape where it has
// one, the name, and the number that waits in a box of its own.
function parts(p, px) {
  const shape = needs(p) ? px * 0.85 : px * 0.08,
    name = Math.ceil(textWidth(p.machine, px, true));
  const box = p.waits ? Math.ceil(textWidth(String(p.waits), px, true)) + px * 0.3 : 0;
  return { shape, name, box, w: shape + name + (box ? px * 0.2 + box : 0) + px * 0.08 };
}

// fit lays out the labels that have room; the busiest first, after those that need
// a person.
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
      <path
        fill-rule="evenodd"
        d=${shapeOf[need]}
        transform=${`translate(${px * 0.45} ${b.h / 2}) scale(${px / 24})`}
      />
    `}
    <text class=${p.waits || need ? "" : "idle"} x=${r.shape} y=${base}>${p.machine}</text>
    ${p.waits > 0 &&
    html`
      <rect class="chip" x=${x} y=${px * 0.1} width=${r.box} height=${b.h - px * 0.2} rx=${px * 0.08} />
      <text class="in-chip" x=${x + px * 0.15} y=${base}>${p.waits}</text>
    `}
  </g>`;
}

// turned gives the ground a quarter turn, where the hall is wide and the screen high
// or the other way round, so that it fills the screen.
function turned({ w, h }, list, plan, legs) {
  const points = pointsOf(list, plan),
    spread = (i) => Math.max(...points.map((p) => p[i])) - Math.min(...points.map((p) => p[i]));
  if (points.length < 2 || w > h === spread(0) >= spread(1)) return { list, plan, legs };
  const point = (o) => ({ ...o, x_m: -o.y_m, y_m: o.x_m });
  const path = (text) =>
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
 * layOut leaves a line for the count of the others, where there is anything to say
 * of them.
 * @returns {any}
 */
function layOut(list, plan, { px, w, h, bars }) {
  const high = Math.floor(h - bars * px * lineHeight - px * 0.3),
    pad = { x: px * 1.6, y: px * 1.3 };
  for (const lines of [0, 1]) {
    const room = high - lines * px * lineHeight,
      v = wholeView(pointsOf(list, plan), w, room, pad);
    const fitted = fit(list, v, px, w, room),
      left = list.filter((p) => !fitted.boxes.has(p.machine));
    const quiet = !left.some((p) => p.waits > 0 || needs(p));
    if (lines === 1 || quiet) return { v, left: quiet ? [] : left, room, ...fitted };
  }
}

function Board({ size, plan: given }) {
  const { px, w } = size,
    { list, plan, legs } = useMemo(
      () => turned(size, places.value, given, weekLegs.value),
      [size, places.value, given, weekLegs.value],
    );
  const { v, marks, boxes, covered, left, room } = useMemo(
    () => layOut(list, plan, size),
    [list, plan, size],
  );
  const walks = useMemo(() => stretches([legs]), [legs]);
  const shown = list
    .map((p, i) => ({ p, m: marks[i], b: boxes.get(p.machine) }))
    .filter((x) => !covered.has(x.p.machine));
  return html`
    <svg class="wall-map" data-test="wall-map" width=${w} height=${room}>
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
      ${shown
        .filter((x) => x.b)
        .map(({ p, b }) => html`<${Label} key=${p.machine} p=${p} b=${b} px=${px} />`)}
    </svg>
    ${left.length > 0 && html`<${Others} left=${left} />`}
  `;
}

function Others({ left }) {
  const sum = (k) => left.reduce((n, p) => n + p[k], 0),
    late = sum("late");
  return html`<p class="wall-others" data-test="wall-others">
    ${count("ground.others", left.length, sum("waits"))}
    ${late > 0 && html`, <${Shape} kind="late" /> ${count("waits.late", late)}`}
  </p>`;
}

function GroundWall() {
  const size = useScreen(measure);
  if (!about.value) return html`<p class="wall-out">${stale() || say("loading")}</p>`;
  const t = about.value.totals,
    plan = about.value.plan;
  return html`<div class=${"wall-board ground-wall" + (size.bars > 2 ? " narrow" : "")}>
    <div class="wall-head">
      <h1 data-test="wall-total">
        ${count("wall.waits", t.waits)}
        ${t.late ? ", " + count("wall.late", t.late) : ""}
      </h1>
    </div>
    <div class="wall-rows">
      ${places.value.length === 0
        ? html`<p class="wall-past" data-test="no-places">${say("ground.no-places")}</p>`
        : html`<${Board} size=${size} plan=${plan} />`}
    </div>
    <${Foot} kinds=${["late", "held", "stop"]} />
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
