// One operation against its plan: each batch as a dot over time, and as a line of a
// table.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get } from "../../lib/api.js";
import { dotKeys } from "../../lib/charts.js";
import { CsvButton } from "../../lib/csv.js";
import { At, BatchLink } from "../../lib/marks.js";
import { me, start } from "../../lib/shell.js";
import { ticks } from "../../lib/strip.js";
import { full, seconds, span, tickText } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";
import { deviationText, Rests, timeText, Times, WaitTimes } from "./rows.js";

/**
 * @typedef {import("../../lib/types.js").Schema["PaceOperation"]} Answer
 * @typedef {import("../../lib/types.js").Schema["PaceBatch"]} Batch
 * @typedef {import("./rows.js").Op} Op
 * @typedef {import("./rows.js").Figures} Figures
 * @typedef {(v: number) => number} Place
 * Point is a batch as a dot: x in ms, y in seconds.
 * @typedef {{x: number, y: number, card: string, href: string, title: string}} Point
 */

// Dots over time against a plan: each batch one dot, which leads to it.

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
function Plot({ name, title, points, plan, s }) {
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

// The batches behind an operation of the pace board, each with the way to its
// visits and their scans.

const most = 30; // rows at first

/**
 * visitLink leads to a visit on its batch's page.
 * @param {Batch} b
 * @param {string} visit
 */
const visitLink = (b, visit) => `/batch/${encodeURIComponent(b.card)}#visit-${encodeURIComponent(visit)}`;

/**
 * against says by how much a time differs from its plan.
 * @param {number | null} s
 * @param {number} plan
 */
function against(s, plan) {
  if (!(plan > 0) || s === null || !(s > 0)) return "";
  const d = Math.round((s / plan - 1) * 100);
  return d === 0 ? say("pace.even") : say(d > 0 ? "pace.over" : "pace.under", Math.abs(d));
}

const heads = ["batch", "ended", "machines", "setup", "made", "piece", "wait", "visits"];

/** @param {{b: Batch, row: Op, why?: boolean, test: string}} props */
function Row({ b, row, why, test }) {
  const cell = (/** @type {string} */ name, /** @type {unknown} */ content) =>
    html`<td class=${"b-" + name} data-label=${say("pace.batch." + name)}>${content}</td>`;
  const setup = b.setups ? b.setup_s / b.setups : 0;
  return html`<tr data-test=${test} data-card=${b.card}>
    ${cell("batch", html`<${BatchLink} row=${b} />`)}
    ${cell("ended", b.ended ? html`<${At} t=${b.ended} />` : say("none"))}
    ${cell("machines", [...new Set(b.machines)].join(", "))}
    ${cell(
      "setup",
      html`
        ${setup > 0 ? timeText(setup) : say("none")}${" "}
        ${!why && html`<small>${against(setup, row.plan_setup_s)}</small>`}
      `,
    )}
    ${cell("made", b.made)}
    ${cell(
      "piece",
      html`
        ${b.piece_s === null ? say("none") : timeText(b.piece_s)}${" "}
        <small>${against(b.piece_s, row.plan_piece_s)}</small>
      `,
    )}
    ${cell(
      "wait",
      html`
        ${b.wait_s === null ? say("none") : seconds(b.wait_s)}${" "}
        ${b.wait_s !== null &&
        b.worked_s !== null &&
        b.wait_s - b.worked_s > 60 &&
        html`<small>${say("pace.open", seconds(b.worked_s))}</small>`}
      `,
    )}
    ${cell(
      "visits",
      html`
        ${why &&
        html`
          <span data-test="pace-why">
            ${[...new Set(b.why)].map((w) => say("pace.why." + w)).join(", ")}
          </span> `}
        ${b.visits.map(
          (v, i) =>
            html`
              <a key=${v} class="visit-link" data-test="pace-visit" href=${visitLink(b, v)}>
                ${say("pace.visit", b.machines[i])}
              </a> `,
        )}
      `,
    )}
  </tr>`;
}

/** @param {{list: Batch[], row: Op, why?: boolean, test: string}} props */
function BatchTable({ list, row, why, test }) {
  const all = useSignal(false);
  if (list.length === 0) return html`<p class="empty">${say("pace.no-batches")}</p>`;
  return html`
    <table class="behind stack">
      <thead>
        <tr>
          ${heads.map(
            (h) =>
              html`<th key=${h} class=${"b-" + h} scope="col">
                ${say(h === "visits" && why ? "pace.batch.why" : "pace.batch." + h)}
              </th>`,
          )}
        </tr>
      </thead>
      <tbody>
        ${(all.value ? list : list.slice(0, most)).map(
          (b) => html`<${Row} key=${b.card} b=${b} row=${row} why=${why} test=${test} />`,
        )}
      </tbody>
    </table>
    ${!all.value &&
    list.length > most &&
    html`<p class="deeds">
      <button
        data-test="pace-more"
        onClick=${() => {
          all.value = true;
        }}>
        ${count("pace.more-batches", list.length - most)}
      </button>
    </p>`}
  `;
}

const csvHead = [
  "card",
  "works_order",
  "ended",
  "machines",
  "setup_s",
  "setups",
  "made",
  "run_s",
  "piece_s",
  "wait_s",
  "worked_s",
  "left_out",
  "why",
  "visits",
];
/** @param {Batch} b */
const csvRow = (b) => [
  b.card,
  b.works_order || "",
  b.ended,
  b.machines.join(" "),
  b.setup_s,
  b.setups,
  b.made,
  b.run_s,
  b.piece_s,
  b.wait_s,
  b.worked_s,
  b.left_out,
  b.why.join(" "),
  b.visits.join(" "),
];

// One operation of a route revision: the batches behind its line on the pace
// board, down to their visits.

/** @param {{r: Op}} props */
function Facts({ r }) {
  const fact = (/** @type {string} */ name, /** @type {unknown} */ content) =>
    html`<div><dt>${say("pace.head." + name)}</dt><dd data-test=${"fact-" + name}>${content}</dd></div>`;
  return html`<dl class="op-facts">
    ${fact("setup", html`<${Times} name="setup" planned=${r.plan_setup_s} s=${r.setup} />`)}
    ${fact("piece", html`<${Times} name="piece" planned=${r.plan_piece_s} s=${r.piece} />`)}
    ${fact("wait", html`<${WaitTimes} wait=${r.wait} worked=${r.worked} />`)}
    ${fact(
      "against",
      html`
        <b>${deviationText(r)}</b>
        <small> ${r.plan_s > 0 && say("pace.together", span(r.plan_s * 1000), span(r.actual_s * 1000))}
        </small>
        <small> <${Rests} row=${r} /></small>
      `,
    )}
  </dl>`;
}

/**
 * @param {Batch[]} list
 * @param {(b: Batch) => number | null} value
 */
const dots = (list, value) =>
  list.flatMap((b) => {
    const y = value(b) ?? 0,
      visit = b.visits.at(-1);
    if (b.left_out || !b.ended || visit === undefined || !(y > 0)) return [];
    return {
      x: Date.parse(b.ended),
      y,
      card: b.card,
      href: visitLink(b, visit),
      title: `${b.works_order || b.card}, ${full(b.ended)}: ${timeText(y)}`,
    };
  });

/** @param {{a: Answer}} props */
function Operation({ a }) {
  const r = a.row,
    kept = a.batches.filter((b) => !b.left_out),
    out = a.batches.filter((b) => b.left_out);
  const name = [r.part, r.route_rev, r.operation].join("-");
  return html`
    <p><a class="back" href="/pace">${say("pace.back")}</a></p>
    <div class="top"><h1>${r.part} ${r.part_name && html`<span class="soft">${r.part_name}</span>`}</h1></div>
    <p class="summary">
      ${say("operation.of", r.operation)}, ${say("pace.route", r.route_rev)}, ${r.work_centre}${" "}
      <span class="soft">${say("pace.days", a.days)}</span>
    </p>
    <section><${Facts} r=${r} /></section>
    <section>
      <${Plot}
        name="piece"
        title=${say("pace.plot.piece")}
        points=${dots(a.batches, (b) => b.piece_s)}
        plan=${r.plan_piece_s}
        s=${r.piece}
      />
      <${Plot}
        name="setup"
        title=${say("pace.plot.setup")}
        points=${dots(a.batches, (b) => (b.setups ? b.setup_s / b.setups : 0))}
        plan=${r.plan_setup_s}
        s=${r.setup}
      />
    </section>
    <section>
      <div class="top">
        <h2>${count("pace.behind", kept.length)}</h2>
        <${CsvButton} name=${"pace-" + name} head=${csvHead} rows=${() => a.batches.map(csvRow)} />
      </div>
      <${BatchTable} list=${kept} row=${r} test="pace-batch" />
    </section>
    <section data-test="left-out">
      <h2>${count("pace.left-out-of", out.length)}</h2>
      <p class="soft">${say("pace.left-out.how")}</p>
      ${out.length > 0 && html`<${BatchTable} list=${out} row=${r} why test="pace-left" />`}
    </section>
  `;
}

function OperationPage() {
  const answer = useSignal(/** @type {Answer | null} */ (null)),
    problem = useSignal("");
  useEffect(() => {
    get(`/api/v1/pace/operation?${location.search.slice(1)}`)
      .then((a) => {
        answer.value = a;
        document.title = say("title", `${a.row.part} ${say("operation.of", a.row.operation)}`);
      })
      .catch((err) => {
        problem.value = err.message;
      });
  }, []);
  if (problem.value)
    return html`
      <p><a class="back" href="/pace">${say("pace.back")}</a></p>
      <h1>${say("pace.title")}</h1>
      <p class="empty" data-test="failed">${problem.value}</p>
    `;
  return answer.value
    ? html`<${Operation} a=${answer.value} />`
    : html`<p class="soft">${say("loading")}</p>`;
}

start(() => (me.value ? html`<${OperationPage} />` : null));
