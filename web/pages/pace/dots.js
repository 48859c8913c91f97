// Dots over time against a plan: each batch one dot, which leads to it.
import { html } from "../../lib/vendor/ui.js";
import { dotKeys } from "../../lib/charts.js";
import { ticks } from "../../lib/strip.js";
import { tickText } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";
import { timeText } from "./rows.js";

/**
 * @typedef {import("./rows.js").Figures} Figures
 * @typedef {(v: number) => number} Place
 * Point is a batch as a dot: x in ms, y in seconds.
 * @typedef {{x: number, y: number, card: string, href: string, title: string}} Point
 */

const high = 200,
  foot = 24,
  head = 10; // px
const steps = [
  1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 28800, 86400, 172800, 604800,
];

/**
 * ceiling is the top of the scale: all of it where that is not far above the
 * rest; else what lies far out is drawn at the edge, as pointing further up.
 * @param {number[]} values
 * @param {number} plan
 * @param {Figures} s
 */
function ceiling(values, plan, s) {
  const most = Math.max(...values, plan),
    usual = Math.max(plan * 1.3, s.p75_s + 3 * (s.p75_s - s.p25_s), s.p50_s * 1.6);
  return (most <= usual * 1.25 ? most : usual) * 1.05 || 1;
}

/** @param {{from: number, to: number, top: number, y: Place}} props */
function Grid({ from, to, top, y }) {
  const { step, list } = ticks(from, to, 8),
    pc = (/** @type {number} */ v) => `${((v - from) / Math.max(1, to - from)) * 100}%`;
  const rise = steps.find((x) => top / x <= 4) ?? steps[steps.length - 1],
    lines = [];
  for (let v = 0; v <= top; v += rise) lines.push(v);
  return html`
    ${lines.map((v) => html`<line key=${"y" + v} class="grid" x1="0" x2="100%" y1=${y(v)} y2=${y(v)} />`)}
    ${list.map(
      (x, i) => html`<g key=${x} class=${i % 2 ? "tick odd" : "tick"}>
        <line x1=${pc(x)} x2=${pc(x)} y1=${head} y2=${head + high} />
        <text
          x=${pc(x)}
          y=${head + high + 18}
          text-anchor=${i === 0 ? "start" : i === list.length - 1 ? "end" : "middle"}>
          ${tickText(x, step >= 86400e3)}
        </text>
      </g>`,
    )}
  `;
}

/** @param {{top: number, y: Place}} props */
function Labels({ top, y }) {
  const rise = steps.find((x) => top / x <= 4) ?? steps[steps.length - 1],
    lines = [];
  for (let v = 0; v <= top; v += rise) lines.push(v);
  return html`<svg class="labels" width="100%" height=${head + high + foot} aria-hidden="true">
    ${lines.map(
      (v) => html`<text key=${v} x="100%" dx="-6" y=${y(v) + 4} text-anchor="end">${timeText(v)}</text>`,
    )}
  </svg>`;
}

/** @param {{p: Point, x: string, top: number, y: Place, stop: boolean}} props */
const Dot = ({ p, x, top, y, stop }) => html`<a
  href=${p.href}
  tabindex=${stop ? "0" : "-1"}
  data-test="dot"
  data-card=${p.card}
  aria-label=${p.title}>
  <title>${p.title}</title>
  ${p.y > top
    ? html`<svg x=${x} y=${head} overflow="visible"><path class="dot" d="M0 -6 6 5H-6Z" /></svg>`
    : html`<circle class="dot" cx=${x} cy=${y(p.y)} r="5" />`}
</a>`;

/**
 * Plot draws points {x (ms), y (s), card, href, title} over time, with the plan
 * as a broken line and the actual time, the mean of all, as a whole one.
 * @param {{name: string, title: string, points: Point[], plan: number, s: Figures}} props
 */
export function Plot({ name, title, points, plan, s }) {
  if (points.length === 0) return null;
  const top = ceiling(
      points.map((p) => p.y),
      plan,
      s,
    ),
    y = (/** @type {number} */ v) => head + high - (Math.min(v, top) / top) * high;
  const from = Math.min(...points.map((p) => p.x)),
    to = Math.max(...points.map((p) => p.x), from + 3600e3);
  const pc = (/** @type {number} */ v) => `${((v - from) / (to - from)) * 100}%`,
    out = points.filter((p) => p.y > top).length;
  return html`<figure class="plot" data-test=${"plot-" + name}>
    <figcaption>
      <h3>${title}</h3>
      <span class="key">
        <svg width="34" height="12" aria-hidden="true">
          <line class="plan" x1="0" x2="34" y1="6" y2="6" />
        </svg>
        ${plan > 0 ? say("pace.planned", timeText(plan)) : say("pace.unplanned")}
      </span>
      <span class="key">
        <svg width="34" height="12" aria-hidden="true">
          <line class="mean" x1="0" x2="34" y1="6" y2="6" />
        </svg>
        ${say("pace.actual", timeText(s.mean_s))}
      </span>
      ${out > 0 &&
      html`<span class="key">
        <svg width="14" height="12" aria-hidden="true"><path class="dot" d="M7 0 13 11H1Z" /></svg>
        ${count("pace.far-out", out)}
      </span>`}
    </figcaption>
    <${Labels} top=${top} y=${y} />
    <svg
      class="field"
      width="100%"
      height=${head + high + foot}
      role="group"
      aria-label=${title}
      onKeyDown=${dotKeys}>
      <${Grid} from=${from} to=${to} top=${top} y=${y} />
      ${points.map((p, i) => html`<${Dot} key=${i} p=${p} x=${pc(p.x)} top=${top} y=${y} stop=${i === 0} />`)}
      ${plan > 0 && html`<line class="plan" x1="0" x2="100%" y1=${y(plan)} y2=${y(plan)} />`}
      <line class="mean" x1="0" x2="100%" y1=${y(s.mean_s)} y2=${y(s.mean_s)} />
    </svg>
  </figure>`;
}
