// A lead time to scale: as a strip of its parts from the release on, and added up as
// one bar.
import { html } from "./vendor/ui.js";
import { moment, span, tickText, zoneOffset } from "./times.js";
import { say } from "./words.js";

// A batch's time from its release on, cut into the parts that were scanned or
// shown: transport, waiting, set-up, first-off, run, stop, outside.

/**
 * @typedef {import("./_types.js").Schema["Batch"]} Batch
 * @typedef {Batch["visits"][number]} Visit
 * @typedef {import("./_types.js").Parts} Parts
 */

/**
 * Segment is a part of the strip, in ms.
 * @typedef {object} Segment
 * @property {string} kind
 * @property {number} from
 * @property {number} to
 * @property {string} [reason]
 * @property {boolean} [inferred]
 * @property {boolean} [open] it goes on
 * @property {Visit} [visit]
 */

/** @type {(t: string | null | undefined) => number} */
const ms = (t) => (t ? Date.parse(t) : NaN);

/**
 * segments lists {kind, from, to, lane, visit, open, inferred}; times in ms.
 * Visits that overlap lie in lanes of their own.
 * @param {Batch} batch
 * @param {number} t
 */
function segments(batch, t) {
  const start = ms(batch.released);
  /** @type {(Segment & {lane: number})[]} */
  const out = [];
  /** @type {number[]} */
  const lanes = [];
  const visits = batch.visits
    .map((v) => ({ v, spans: v.spans.map((s) => ({ ...s, from: ms(s.from), to: s.to ? ms(s.to) : t })) }))
    .map((x) => ({
      ...x,
      begun: x.spans.length ? Math.min(...x.spans.map((s) => s.from)) : ms(x.v.finished) || t,
    }))
    .sort((a, b) => a.begun - b.begun);
  for (const { v, spans, begun } of visits) {
    const before = beforeParts(v, begun, start);
    const first = Math.min(begun, ...before.map((s) => s.from));
    const end = Math.max(begun, ms(v.finished) || 0, ...spans.map((s) => s.to));
    let lane = lanes.findIndex((free) => free <= first + 1000);
    if (lane < 0) lane = lanes.push(0) - 1;
    lanes[lane] = end;
    for (const s of [
      ...before,
      ...spans.map((s) => ({
        kind: s.kind,
        from: s.from,
        to: s.to,
        reason: s.reason,
        inferred: s.inferred,
        open: !v.finished && s.to === t,
      })),
    ]) {
      if (s.to > s.from) out.push({ ...s, lane, visit: v });
    }
  }
  const last = Math.max(start, ...out.map((s) => s.to));
  const working = batch.visits.some((v) => v.state !== "finished");
  if (!working && !["done", "cancelled"].includes(batch.state) && t > last)
    out.push({ kind: "between", from: last, to: t, lane: 0, open: true });
  return {
    from: start,
    to: Math.max(last, out.length ? Math.max(...out.map((s) => s.to)) : t),
    lanes: Math.max(1, lanes.length),
    list: out,
  };
}

/**
 * beforeParts are the parts of a visit before anything was begun.
 * @param {Visit} v
 * @param {number} begun
 * @param {number} start
 */
function beforeParts(v, begun, start) {
  if (v.transport_s === null || v.transport_s === undefined) {
    const s = (v.between_s || 0) * 1000;
    return s > 0 ? [{ kind: "between", from: Math.max(start, begun - s), to: begun }] : [];
  }
  const arrived = ms(v.arrived),
    out = [];
  if (v.transport_s > 0)
    out.push({ kind: "transport", from: Math.max(start, arrived - v.transport_s * 1000), to: arrived });
  if (begun > arrived) out.push({ kind: "queue", from: arrived, to: begun, open: v.state === "waiting" });
  return out;
}

// The lead-time strip: a batch's time from release on, to scale. Work is high
// and dark, waiting is low and light; patterns tell them apart without colour.

const high = 54,
  axis = 22; // px: a lane, the axis
/**
 * top and height of each kind within a lane
 * @type {Record<string, [number, number]>}
 */
const shapes = {
  between: [30, 8],
  queue: [30, 8],
  transport: [32, 4],
  closed: [30, 8],
  outside: [22, 16],
  setup: [14, 24],
  firstoff: [22, 16],
  run: [14, 24],
  stop: [22, 16],
};
export const kinds = [
  "transport",
  "queue",
  "between",
  "setup",
  "firstoff",
  "run",
  "stop",
  "closed",
  "outside",
];
const steps = [5, 15, 30, 60, 120, 240, 480, 1440, 2880, 10080, 20160, 43200].map((m) => m * 60000);

/**
 * ticks are round times of the shop's clock between two moments.
 * @param {number} from
 * @param {number} to
 * @param {number} most
 */
export function ticks(from, to, most) {
  const step = steps.find((s) => (to - from) / s <= most) ?? steps[steps.length - 1];
  const shift = zoneOffset(from),
    out = [];
  for (let t = Math.ceil((from + shift) / step) * step - shift; t <= to; t += step) out.push(t);
  return { step, list: out };
}

export const Patterns = () => html`<defs>
  <pattern id="p-setup" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
    <rect width="6" height="6" class="p-back" />
    <rect width="2.5" height="6" class="p-ink" />
  </pattern>
  <pattern id="p-firstoff" width="5" height="5" patternUnits="userSpaceOnUse">
    <rect width="5" height="5" class="p-back" />
    <rect x="1" y="1" width="2" height="2" class="p-ink" />
  </pattern>
  <pattern id="p-stop" width="6" height="6" patternUnits="userSpaceOnUse">
    <rect width="6" height="6" class="p-back" />
    <path d="M0 0 6 6M6 0 0 6" class="p-line" />
  </pattern>
  <pattern id="p-closed" width="8" height="8" patternUnits="userSpaceOnUse">
    <rect width="8" height="8" class="p-back" />
    <rect x="3" width="1.5" height="8" class="p-edge" />
  </pattern>
  <pattern id="p-transport" width="6" height="4" patternUnits="userSpaceOnUse">
    <rect width="3" height="4" class="p-ink" />
  </pattern>
</defs>`;

/** @param {{kind: string, x: string, y: number, width: string, title?: string}} props */
const Block = ({ kind, x, y, width, title }) => html`<rect
  class=${"seg " + kind}
  data-test="segment"
  data-kind=${kind}
  x=${x}
  y=${y + shapes[kind][0]}
  width=${width}
  height=${shapes[kind][1]}>
  ${title && html`<title>${title}</title>`}
</rect>`;

/** @param {Segment} s */
function describe(s) {
  const where = s.visit ? say("strip.at", s.visit.operation, s.visit.machine) : "";
  return [
    say("part." + s.kind),
    span(s.to - s.from),
    where,
    `${moment(s.from)} – ${s.open ? say("now") : moment(s.to)}`,
  ]
    .filter(Boolean)
    .join(", ");
}

/**
 * Strip draws a batch at the moment t.
 * @param {{batch: Batch, t: number}} props
 */
export function Strip({ batch, t }) {
  const g = segments(batch, t),
    length = Math.max(1, g.to - g.from);
  const pc = (/** @type {number} */ v) => `${((v - g.from) / length) * 100}%`,
    wide = (/** @type {Segment} */ s) => `${((s.to - s.from) / length) * 100}%`;
  const { step, list } = ticks(g.from, g.to, 8);
  const bottom = g.lanes * high,
    label = say("strip.label", span(length), moment(g.from));
  const seen = new Set();
  return html`<figure class="strip" data-test="strip">
    <svg role="img" aria-label=${label} width="100%" height=${bottom + axis}>
      <${Patterns} />
      ${list.map(
        (x, i) =>
          html`<g key=${x} class=${i % 2 ? "tick odd" : "tick"}>
            <line x1=${pc(x)} x2=${pc(x)} y1="0" y2=${bottom} />
            <text
              x=${pc(x)}
              y=${bottom + 16}
              text-anchor=${x - g.from < length * 0.04
                ? "start"
                : x - g.from > length * 0.94
                  ? "end"
                  : "middle"}>
              ${tickText(x, step >= 86400e3)}
            </text>
          </g>`,
      )}
      ${g.list.map(
        (s, i) =>
          html`<${Block}
            key=${i}
            kind=${s.kind}
            x=${pc(s.from)}
            width=${wide(s)}
            y=${s.lane * high}
            title=${describe(s)}
          />`,
      )}
      ${g.list.map(
        (s) =>
          s.visit &&
          shapes[s.kind][0] < 30 &&
          !seen.has(s.visit.visit) &&
          seen.add(s.visit.visit) &&
          html`<text
            class="op"
            key=${s.visit.visit}
            x=${pc(s.from)}
            y=${s.lane * high + 10}
            text-anchor=${s.from - g.from > length * 0.9 ? "end" : "start"}>
            ${s.visit.operation}
          </text>`,
      )}
    </svg>
    <figcaption>
      ${label}${" "}
      ${kinds.map(
        (k) =>
          html`<span class="key" key=${k}>
            <svg width="26" height="24" aria-hidden="true">
              <${Block} kind=${k} x="0" width="26" y=${-shapes[k][0] + (24 - shapes[k][1]) / 2} />
            </svg>
            ${say("part." + k)}
          </span>`,
      )}
    </figcaption>
  </figure>`;
}

// Where the days went: the parts of a lead time as one bar, to scale, in the
// forms of the lead-time strip.

export const order = ["run", "setup", "firstoff", "stop", "outside", "transport", "queue", "between"];

/** @param {Parts} parts */
export const sum = (parts) => order.reduce((n, k) => n + (parts[k + "_s"] || 0), 0);

/**
 * Segments are the parts of a bar one after the other, top of them on its full width; text
 * says how much a part is.
 * @param {{parts: [string, number][], top: number, y: number, high: number, test: string,
 *   text: (s: number) => string}} props
 */
export function Segments({ parts, top, y, high, test, text }) {
  let at = 0;
  return parts.map(([k, n]) => {
    const x = at;
    at += n;
    return (
      n > 0 &&
      html`<rect
        key=${k}
        class=${"seg " + k}
        data-test=${test}
        data-kind=${k}
        x=${`${(100 * x) / top}%`}
        width=${`${(100 * n) / top}%`}
        y=${y}
        height=${high}>
        <title>${say("part." + k)}: ${text(n)}</title>
      </rect>`
    );
  });
}

/**
 * PartsBar draws the parts; top is what the full width stands for, so that
 * several bars have one scale.
 * @param {{parts: Parts, top?: number, high?: number}} props
 */
export function PartsBar({ parts, top, high = 26 }) {
  const list = order.map((k) => /** @type {[string, number]} */ ([k, parts[k + "_s"] || 0])),
    text = (/** @type {number} */ s) => span(s * 1000);
  const label = list
    .filter(([, s]) => s > 0)
    .map(([k, s]) => `${say("part." + k)} ${text(s)}`)
    .join(", ");
  return html`<svg class="parts-bar" role="img" aria-label=${label} width="100%" height=${high}>
    <title>${label}</title>
    <${Patterns} />
    <${Segments}
      parts=${list}
      top=${top || sum(parts) || 1}
      y=${1}
      high=${high - 2}
      test="part"
      text=${text}
    />
  </svg>`;
}

// PartsKey names the forms.
export const PartsKey = () =>
  html`<p class="parts-key">
    ${order.map(
      (k) =>
        html`<span class="key" key=${k}>
          <svg width="26" height="16" aria-hidden="true">
            <rect class=${"seg " + k} x="0.5" y="1" width="25" height="14" />
          </svg>
          ${say("part." + k)}
        </span>`,
    )}
  </p>`;
