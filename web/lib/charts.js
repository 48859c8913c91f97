// Charts drawn to scale as SVG: bars of a distribution, and points and lines over
// time. Each has a label in words; its table stands beside it on the page.
import { html } from "./vendor/ui.js";

/**
 * Place turns a value into a place along an axis, Texts a value into its words.
 * @typedef {(v: number) => number} Place
 * @typedef {(v: number) => string} Texts
 * @typedef {{from: number, to: number, n: number, title: string}} Bin
 * @typedef {{x: number, y: number, title: string, href: string, mark?: string}} Point
 * @typedef {{name: string, points: [number, number][], dash?: string}} Line
 * @typedef {{at: number, text: string}} Change
 */

/** @type {(v: number) => string} */
const pc = (v) => `${v * 100}%`;
const nice = [1, 2, 2.5, 5, 10];

/**
 * steps are some four to seven round values from zero to a top.
 * @param {number} top
 * @param {number} [unit]
 */
export function steps(top, unit = 1) {
  if (!(top > 0)) return [0];
  const raw = top / unit / 6,
    power = 10 ** Math.floor(Math.log10(raw));
  const step = (nice.find((n) => n * power >= raw) ?? 10) * power * unit;
  const out = [];
  for (let v = 0; v <= top * 1.0001; v += step) out.push(v);
  return out;
}

/** @param {{ticks: number[], at: Place, text: Texts, bottom: number}} props */
function Axis({ ticks, at, text, bottom }) {
  return html`${ticks.map(
    (v, i) => html`<g key=${v} class=${i % 2 ? "tick odd" : "tick"}>
      <line x1=${pc(at(v))} x2=${pc(at(v))} y1="0" y2=${bottom} />
      <text
        x=${pc(at(v))}
        y=${bottom + 15}
        text-anchor=${at(v) < 0.02 ? "start" : at(v) > 0.98 ? "end" : "middle"}>
        ${text(v)}
      </text>
    </g>`,
  )}`;
}

/**
 * Bars draws {from, to, n, title} as a distribution; marks are {at, label} upon
 * it, below one another so that they can be read.
 * @param {{
 *   bars: Bin[], text: Texts, marks?: {at: number, label: string}[], label: string, high?: number,
 *   unit?: number
 * }} props
 */
export function Bars({ bars, text, marks = [], label, high = 150, unit }) {
  if (bars.length === 0) return null;
  const first = bars[0].from,
    last = bars[bars.length - 1].to,
    most = Math.max(1, ...bars.map((b) => b.n));
  const at = (/** @type {number} */ v) => (v - first) / (last - first),
    flip = (/** @type {{at: number, label: string}} */ m) => at(m.at) > (m.label.length > 14 ? 0.5 : 0.75),
    top = 16 + 15 * marks.length;
  return html`<svg class="chart" role="img" aria-label=${label} width="100%" height=${top + high + 22}>
    <title>${label}</title>
    <g transform=${`translate(0 ${top})`}>
      <${Axis} ticks=${steps(last, unit)} at=${at} text=${text} bottom=${high} />
      ${bars.map(
        (b) =>
          html`<rect
            key=${b.from}
            class="bar"
            data-test="bin"
            x=${pc(at(b.from))}
            width=${`calc(${pc(at(b.to) - at(b.from))} - 2px)`}
            y=${high - (b.n / most) * high}
            height=${(b.n / most) * high}>
            <title>${b.title}</title>
          </rect>`,
      )}
      ${marks.map(
        (m, i) => html`<g key=${m.label} class="mark-line">
          <line x1=${pc(at(m.at))} x2=${pc(at(m.at))} y1=${-top + 14 + i * 15} y2=${high} />
          <text
            x=${pc(at(m.at))}
            dx=${flip(m) ? -5 : 5}
            y=${-top + 14 + i * 15}
            dy="4"
            text-anchor=${flip(m) ? "end" : "start"}>
            ${m.label}
          </text>
        </g>`,
      )}
    </g>
  </svg>`;
}

const foot = 24,
  head = 8; // px: where the texts of the axis stand, and above it all

/**
 * Labels are the values at the left of a plot.
 * @param {{list: number[], y: Place, text: Texts, high: number, more: number}} props
 */
function Labels({ list, y, text, high, more }) {
  return html`<svg class="labels" width="100%" height=${more + high + foot} aria-hidden="true">
    ${list.map(
      (v) => html`<text key=${v} x="100%" dx="-6" y=${more + y(v) + 4} text-anchor="end">${text(v)}</text>`,
    )}
  </svg>`;
}

/**
 * nextDot is the dot that a key leads to, of n in a row; null for another key.
 * @param {string} key
 * @param {number} i
 * @param {number} n
 */
export function nextDot(key, i, n) {
  const to = { ArrowRight: i + 1, ArrowLeft: i - 1, Home: 0, End: n - 1 }[key];
  return to === undefined ? null : Math.max(0, Math.min(n - 1, to));
}

/**
 * dotKeys makes the dots of a chart one tab stop, the first with tabindex 0 and
 * the others -1: arrow keys go from dot to dot as they lie, Home and End to the
 * ends.
 * @param {KeyboardEvent} e
 */
export function dotKeys(e) {
  const chart = /** @type {Element} */ (e.currentTarget),
    left = (/** @type {Element} */ a) => a.getBoundingClientRect().left,
    dots = [...chart.querySelectorAll("a[tabindex]")].sort((a, b) => left(a) - left(b)),
    i = dots.indexOf(/** @type {Element} */ (document.activeElement)),
    to = i < 0 ? null : nextDot(e.key, i, dots.length);
  if (to === null) return;
  e.preventDefault();
  dots[i].setAttribute("tabindex", "-1");
  dots[to].setAttribute("tabindex", "0");
  /** @type {SVGAElement} */ (dots[to]).focus();
}

/**
 * Dot is a point; one that signals has another shape.
 * @param {{p: Point, x: string, y: number, stop: boolean}} props
 */
const Dot = ({ p, x, y, stop }) => html`<a
  href=${p.href}
  tabindex=${stop ? "0" : "-1"}
  data-test="point"
  data-mark=${p.mark || ""}
  aria-label=${p.title}>
  <title>${p.title}</title>
  ${p.mark
    ? html`<svg x=${x} y=${y} overflow="visible">
        <path class=${"dot " + p.mark} d="M0 -8 8 0 0 8-8 0Z" />
      </svg>`
    : html`<circle class="dot" cx=${x} cy=${y} r="3.5" />`}
</a>`;

/**
 * Lines draws lines as wide as its parent; x gives parts of the width, y pixels.
 * @param {{lines: Line[], x: Place, y: Place, high: number, clip?: boolean}} props
 */
export const Lines = ({ lines, x, y, high, clip }) => html`<svg
  class=${clip ? "clip" : undefined}
  x="0"
  y="0"
  width="100%"
  height=${high}
  viewBox=${`0 0 1000 ${high}`}
  preserveAspectRatio="none">
  ${lines.map(
    (l) =>
      html`<polyline
        key=${l.name}
        class=${"line " + (l.dash || "")}
        points=${l.points.map(([a, b]) => `${x(a) * 1000},${y(b)}`).join(" ")}
      />`,
  )}
</svg>`;

/**
 * Changes are upright strokes with what changed written above, one below another.
 * @param {{changes: Change[], x: Place, more: number, high: number}} props
 */
function Changes({ changes, x, more, high }) {
  return html`${changes.map(
    (c, i) => html`<g key=${c.text} class="change" data-test="change">
      <line x1=${pc(x(c.at))} x2=${pc(x(c.at))} y1=${8 + i * 15} y2=${more + high} />
      <text
        x=${pc(x(c.at))}
        dx=${x(c.at) > 0.5 ? -5 : 5}
        y=${12 + i * 15}
        text-anchor=${x(c.at) > 0.5 ? "end" : "start"}>
        ${c.text}
      </text>
    </g>`,
  )}`;
}

/**
 * LineKey says which line is which.
 * @param {{lines: Line[]}} props
 */
export const LineKey = ({ lines }) =>
  html`<p class="line-key">
    ${lines.map(
      (l) =>
        html`<span key=${l.name}>
          <svg class="chart" width="34" height="10" aria-hidden="true">
            <line class=${"line " + (l.dash || "")} x1="0" x2="34" y1="5" y2="5" />
          </svg>
          ${l.name}
        </span>`,
    )}
  </p>`;

/**
 * Plot draws points {x, y, title, href, mark} and lines {name, points: [[x, y]],
 * dash} over time, between from and to, and from zero up. xs are {at, text};
 * changes are {at, text}, marked across the plot.
 * @param {{
 *   points?: Point[], lines?: Line[], changes?: Change[], from: number, to: number, top?: number,
 *   xs: Change[], text: Texts, label: string, high?: number, unit?: number
 * }} props
 */
export function Plot({
  points = [],
  lines = [],
  changes = [],
  from,
  to,
  top,
  xs,
  text,
  label,
  high = 220,
  unit,
}) {
  const all = [...points.map((p) => p.y), ...lines.flatMap((l) => l.points.map((p) => p[1]))];
  const most = top || Math.max(1e-9, ...all) * 1.05,
    x = (/** @type {number} */ v) => (v - from) / Math.max(1, to - from),
    y = (/** @type {number} */ v) => high * (1 - Math.min(v, most) / most);
  const more = head + 15 * changes.length,
    list = steps(most, unit);
  return html`
    <figure class="chart-figure">
      <${Labels} list=${list} y=${y} text=${text} high=${high} more=${more} />
      <svg
        class="chart"
        role="group"
        aria-label=${label}
        width="100%"
        height=${more + high + foot}
        onKeyDown=${dotKeys}>
        <title>${label}</title>
        <g transform=${`translate(0 ${more})`}>
          ${list.map(
            (v) => html`<g key=${v} class="tick"><line x1="0" x2="100%" y1=${y(v)} y2=${y(v)} /></g>`,
          )}
          ${xs.map(
            (t, i) =>
              html`<text
                key=${t.at}
                class=${i % 2 ? "odd" : ""}
                x=${pc(x(t.at))}
                y=${high + 16}
                text-anchor=${x(t.at) < 0.03 ? "start" : x(t.at) > 0.97 ? "end" : "middle"}>
                ${t.text}
              </text>`,
          )}
          ${points.map(
            (p, i) => html`<${Dot} key=${i} p=${p} x=${pc(x(p.x))} y=${y(p.y)} stop=${i === 0} />`,
          )}
          <${Lines} lines=${lines} x=${x} y=${y} high=${high} />
        </g>
        <${Changes} changes=${changes} x=${x} more=${more} high=${high} />
      </svg>
    </figure>
    ${lines.length > 0 && html`<${LineKey} lines=${lines} />`}
  `;
}

// Planned and actual as two marks on one scale: a hollow mark for the plan, a
// solid one for what is. What goes past the plan is drawn thick.

/** @type {(v: number, top: number) => string} */
const at = (v, top) => `${(Math.min(v, top) / top) * 100}%`;

/** @param {{x: string}} props */
const Planned = ({ x }) =>
  html`<svg x=${x} y="15" overflow="visible"><path class="planned" d="M0 0V-13M-5 -13H5L0 -6Z" /></svg>`;

/**
 * Scale draws both from zero; the two numbers have one unit. label says it all
 * in words.
 * @param {{planned: number, actual: number, label: string}} props
 */
export function Scale({ planned, actual, label }) {
  const top = Math.max(planned, actual, 1e-9);
  const over = actual > planned && planned > 0;
  const p = at(planned, top),
    a = at(actual, top);
  return html`<svg
    class=${over ? "scale over" : "scale"}
    role="img"
    aria-label=${label}
    width="100%"
    height="22">
    <title>${label}</title>
    <line class="axis" x1="0" x2="100%" y1="15" y2="15" />
    <line class="so-far" x1="0" x2=${over ? p : a} y1="15" y2="15" />
    ${over && html`<line class="past" x1=${p} x2=${a} y1="15" y2="15" />`}
    ${planned > 0 && html`<${Planned} x=${p} />`}
    <circle class="actual" cx=${a} cy="15" r="5" />
  </svg>`;
}

/**
 * Spread draws what was done many times against one plan: the actual time as
 * the solid mark, and the middle half of all as a bar, where there are enough of
 * them to say so. second is a further median on the same scale, drawn as a
 * short stroke (a wait in working time under the wait as it was).
 * @param {{
 *   planned: number, low: number, mid: number, high: number, half?: boolean, second: number, label: string
 * }} props
 */
export function Spread({ planned, low, mid, high, half, second, label }) {
  const top = Math.max(planned, half ? high : mid, 1e-9);
  return html`<svg class="scale" role="img" aria-label=${label} width="100%" height="22">
    <title>${label}</title>
    <line class="axis" x1="0" x2="100%" y1="15" y2="15" />
    ${half &&
    html`<line class="half" data-test="half" x1=${at(low, top)} x2=${at(high, top)} y1="15" y2="15" />`}
    ${planned > 0 && html`<${Planned} x=${at(planned, top)} />`}
    ${second >= 0 &&
    html`<svg x=${at(second, top)} y="15" overflow="visible"><line class="second" y1="-7" y2="7" /></svg>`}
    <circle class="actual" cx=${at(mid, top)} cy="15" r="5" />
  </svg>`;
}

// A value with its 95 % interval as a mark on a line, to a scale that the rows of
// a table share.

/**
 * Interval draws from low to high, the value as a solid mark, and a plan, if
 * any, as a hollow one. One without an interval is the mark alone.
 * @param {{
 *   value?: number | null, low?: number | null, high?: number | null, plan?: number, from: number,
 *   to: number, label: string
 * }} props
 */
export function Interval({ value, low, high, plan, from, to, label }) {
  const at = (/** @type {number} */ v) =>
    `${(Math.min(1, Math.max(0, (v - from) / (to - from))) * 100).toFixed(2)}%`;
  const known = typeof low === "number" && typeof high === "number";
  return html`<svg class="interval" role="img" aria-label=${label} width="100%" height="24">
    <title>${label}</title>
    <line class="axis" x1="0" x2="100%" y1="14" y2="14" />
    ${known &&
    html`
      <line class="range" data-test="range" x1=${at(low)} x2=${at(high)} y1="14" y2="14" />
      ${[low, high].map((v, i) => html`<line key=${i} class="end" x1=${at(v)} x2=${at(v)} y1="8" y2="20" />`)}
    `}
    ${plan !== undefined &&
    html`<svg x=${at(plan)} y="14" overflow="visible">
      <path class="plan" d="M0 8V-12M-5 -12H5L0 -5Z" />
    </svg>`}
    ${value !== null && value !== undefined && html`<circle class="value" cx=${at(value)} cy="14" r="4" />`}
  </svg>`;
}
