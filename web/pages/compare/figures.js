// The figures of the routes side by side, and the cost of a piece by batch size.
import { html, useSignal } from "../../lib/vendor/ui.js";
import { Interval, LineKey, Lines, steps } from "../../lib/charts.js";
import { CsvButton } from "../../lib/csv.js";
import { say } from "../../lib/words.js";
import { hours, lineOf, minutes, money, num, percent, Sample, Scroll, title, whole } from "./text.js";

/**
 * @typedef {import("./state.js").Schema} Schema
 * @typedef {import("./state.js").Comparison} Comparison
 * @typedef {import("./state.js").ComparedRoute} ComparedRoute
 * @typedef {import("../../lib/charts.js").Line} Line
 * @typedef {"minutes" | "cost" | "yield" | "setup"} FigureName
 * @typedef {Exclude<keyof Schema["ComparedResult"], "lead_is" | "unrated">} ResultName
 * PieceCost is what is shown of a good piece.
 * @typedef {"machine_cost" | "labour_cost" | "handling_cost" | "material_cost" | "outside_cost" |
 *   "scrap_cost"} PieceCost
 * Row is a figure: key, unit, a route's number, its text, whether it stands out, its class.
 * @typedef {[string, string | undefined, (r: ComparedRoute) => number | null,
 *   (x: number | null) => string, boolean?, string?]} Row
 */

// The figures of the routes side by side: those with intervals as marks on one
// scale, and all of them as a table.

/**
 * estimateOf is a figure of the i-th route, with its interval where it has one.
 * @param {Comparison} v
 * @param {number} i
 * @param {FigureName} figure
 * @returns {Schema["ComparedValue"]}
 */
function estimateOf(v, i, figure) {
  const a = v.against[i === 0 ? 0 : i - 1],
    f = a && a.figures.find((x) => x.figure === figure);
  if (f) return i === 0 ? f.first : f.second;
  const r = v.routes[i].result;
  return {
    value: { minutes: r.each_min, cost: r.each_cost, yield: r.yield, setup: r.setup_min }[figure],
    low: null,
    high: null,
  };
}

const ends = /** @type {const} */ (["low", "high"]);

/**
 * spanOf is what a figure without an interval may be by its assumptions.
 * @param {ComparedRoute} r
 * @param {FigureName} figure
 */
function spanOf(r, figure) {
  const each = (/** @type {"low" | "high"} */ k) =>
    r.steps
      .filter((s) => !s.outside || figure === "yield")
      .map((s) => (figure === "yield" ? s.yield : s.setup_min)[k]);
  if (figure === "yield") return ends.map((k) => each(k).reduce((a, b) => a * b, 1));
  if (figure === "setup") return ends.map((k) => each(k).reduce((a, b) => a + b, 0));
  return figure === "cost" ? r.cost_range : r.minutes_range;
}

/** @param {{v: Comparison, figure: FigureName, text: (x: number | null) => string}} props */
function Estimates({ v, figure, text }) {
  const list = v.routes.map((r, i) => {
    const e = estimateOf(v, i, figure),
      s = spanOf(r, figure),
      known = e.low !== null;
    return {
      r,
      i,
      e,
      known,
      low: known ? e.low : s.length && s[1] > s[0] ? s[0] : null,
      high: known ? e.high : s.length && s[1] > s[0] ? s[1] : null,
    };
  });
  const all = list.flatMap((x) => [x.e.value, x.low, x.high]).filter((x) => x !== null);
  const low = Math.min(...all),
    high = Math.max(...all),
    room = Math.max((high - low) * 0.06, Math.abs(high) * 0.01, 1e-9);
  const few = (/** @type {ComparedRoute} */ r) =>
    r.batches > 0 && r.batches < v.few_for_interval
      ? say("compare.few-for-interval", r.batches, v.few_for_interval)
      : "";
  const why = (/** @type {typeof list[number]} */ x) =>
    x.known
      ? say("compare.in95", text(x.low), text(x.high))
      : [few(x.r), x.low === null ? "" : say("compare.in-range", text(x.low), text(x.high))]
          .filter(Boolean)
          .join("; ") || say("compare.no-interval");
  return html`<div class="estimates" data-test=${"figure-" + figure}>
    <h3>${say("compare.f." + figure)}</h3>
    ${list.map(
      (x) => html`<div key=${x.i} class="estimate">
        <span><${Sample} i=${x.i} /> ${title(x.r)}</span>
        <b data-test="estimate">${text(x.e.value)}</b>
        <${Interval}
          value=${x.e.value}
          low=${x.low}
          high=${x.high}
          from=${low - room}
          to=${high + room}
          label=${`${title(x.r)}: ${text(x.e.value)}, ${why(x)}`}
        />
        <small>${why(x)}</small>
      </div>`,
    )}
  </div>`;
}

/**
 * rowsOf are all figures.
 * @param {Comparison} v
 * @returns {Row[]}
 */
function rowsOf(v) {
  const c = v.costs.currency;
  /** @type {(k: PieceCost) => Row[2]} */
  const each = (k) => (r) => (r.result.good > 0 ? r.result[k] / r.result.good : null);
  /** @type {(k: ResultName) => Row[2]} */
  const is = (k) => (r) => r.result[k];
  /** @type {Row[3]} */
  const m = (x) => num(x, 2);
  /** @type {Row[]} */
  const rows = [
    ["started", "", is("started"), whole],
    ["good-of", "", is("good"), (x) => num(x, 1)],
    ["start", "", (r) => r.start, whole],
    ["surplus", "", (r) => r.start_surplus, (x) => num(x, 1)],
    ["start-batches", "", (r) => r.start_batches, (n) => (n ? whole(n) : say("compare.start.planned"))],
    ["setups", "", is("setups"), whole],
    ["clampings", "", is("clampings"), whole],
    ["trips", "", is("trips"), (x) => num(x, 1)],
    ["metres", "m", is("metres"), whole],
    ["stores_m", "m", is("stores_m"), whole, false, "part"],
    ["dock_m", "m", is("dock_m"), whole, false, "part"],
    ["outside_m", "m", is("outside_m"), whole, false, "part"],
    ["yield", "", is("yield"), percent],
    ["per-clamping", "", is("yield_per_clamping"), percent],
    ["setup_min", "min", is("setup_min"), whole],
    ["run_min", "min", is("run_min"), whole],
    ["stop_min", "min", is("stop_min"), whole],
    ["each_min", "min", is("each_min"), m, true],
    ["each_cost", c, is("each_cost"), m, true],
    ["machine", c, each("machine_cost"), m, false, "part"],
    ["labour", c, each("labour_cost"), m, false, "part"],
    ["handling", c, each("handling_cost"), m, false, "part"],
    ["material", c, each("material_cost"), m, false, "part"],
    ["outside", c, each("outside_cost"), m, false, "part"],
    ["scrap", c, each("scrap_cost"), m, false, "part"],
    ["cost", c, is("cost"), m],
    ["one_off", c, (r) => r.one_off, whole],
    ["lead", "h", is("lead_h"), hours, true],
    ["lead85", "h", is("lead_high_h"), hours],
    ["wip", "", is("wip"), (x) => num(x, 2)],
  ];
  return rows.filter(([k]) => !["start", "surplus", "start-batches"].includes(k) || v.good > 0);
}

/** @param {{v: Comparison}} props */
function Table({ v }) {
  const rows = rowsOf(v);
  const csv = () => rows.map(([k, unit, of]) => [say("compare.row." + k, v.good), unit, ...v.routes.map(of)]);
  return html`
    <${Scroll}>
      <table class="compare" data-test="figures">
        <thead>
          <tr>
            <td></td>
            ${v.routes.map((r, i) => html`<th key=${i} class="n"><${Sample} i=${i} /> ${title(r)}</th>`)}
          </tr>
        </thead>
        <tbody>
          ${rows.map(
            ([k, unit, of, text, strong, part]) => html`<tr
              key=${k}
              class=${[strong && "strong", part].filter(Boolean).join(" ")}
              data-test=${"row-" + k}>
              <th scope="row">
                ${say("compare.row." + k, v.good)}
                ${unit && unit !== "h" && html` <small>${unit}</small>`}
              </th>
              ${v.routes.map(
                (r, i) =>
                  html`<td key=${i} class="n">
                    ${text(of(r))}
                    ${k === "lead" ? html` <small>${say("compare.lead." + r.result.lead_is)}</small>` : ""}
                  </td>`,
              )}
            </tr>`,
          )}
        </tbody>
      </table>
    <//>
    <${CsvButton} name="comparison" head=${["figure", "unit", ...v.routes.map(title)]} rows=${csv} />
  `;
}

/** @param {{v: Comparison}} props */
export function Figures({ v }) {
  const c = v.costs.currency;
  return html`<section>
    <h2>${say("compare.figures", v.size)}</h2>
    <div class="estimates-grid">
      <${Estimates} v=${v} figure="cost" text=${(/** @type {number | null} */ x) => money(x, c)} />
      <${Estimates} v=${v} figure="minutes" text=${minutes} />
      <${Estimates} v=${v} figure="yield" text=${percent} />
      <${Estimates} v=${v} figure="setup" text=${minutes} />
    </div>
    <p class="soft">${say("compare.units")}</p>
    <${Table} v=${v} />
  </section>`;
}

// Cost, or machine minutes, of a good piece over the batch size, which is drawn
// by its logarithm.

const marks = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000];
const high = 260,
  foot = 24;

/**
 * topOf is the highest value that is drawn: the flat ends take up the lower
 * part, and what happens at the marked sizes is seen.
 * @param {Line[]} lines
 * @param {number[]} sizes
 */
function topOf(lines, sizes) {
  const at = (/** @type {Line} */ l, /** @type {number} */ q) =>
    (l.points.find(([s]) => s >= q) || l.points.at(-1) || [0, 0])[1];
  return Math.max(
    ...lines.map((l) => 2.2 * (l.points.at(-1) || [0, 0])[1]),
    ...sizes.flatMap((q) => lines.map((l) => 1.25 * at(l, q))),
    1e-9,
  );
}

/**
 * @param {{
 *   lines: Line[], breaks: Schema["Crossing"][], size: number, text: (v: number) => string,
 *   label: string
 * }} props
 */
function Chart({ lines, breaks, size, text, label }) {
  const last = marks[marks.length - 1],
    x = (/** @type {number} */ q) => Math.log(q) / Math.log(last),
    top = topOf(lines, [size, ...breaks.map((b) => b.size)]),
    y = (/** @type {number} */ v) => high * (1 - v / top),
    pc = (/** @type {number} */ v) => `${100 * v}%`;
  const up = [
      { at: size, text: say("compare.this-batch", whole(size)) },
      ...breaks.map((b) => ({ at: b.size, text: say("compare.equal-at", whole(b.size)) })),
    ].filter((m) => m.at >= 1 && m.at <= last),
    head = 8 + 16 * up.length;
  return html`
    <figure class="chart-figure">
      <svg class="labels" width="100%" height=${head + high + foot} aria-hidden="true">
        ${steps(top).map(
          (v) =>
            html`<text key=${v} x="100%" dx="-6" y=${head + y(v) + 4} text-anchor="end">${text(v)}</text>`,
        )}
      </svg>
      <svg
        class="chart"
        data-test="curve"
        role="img"
        aria-label=${label}
        width="100%"
        height=${head + high + foot}>
        <title>${label}</title>
        <g transform=${`translate(0 ${head})`}>
          ${steps(top).map(
            (v) => html`<g key=${v} class="tick"><line x1="0" x2="100%" y1=${y(v)} y2=${y(v)} /></g>`,
          )}
          ${marks.map(
            (q, i) =>
              html`<g key=${q} class=${i % 2 ? "tick odd" : "tick"}>
                <line x1=${pc(x(q))} x2=${pc(x(q))} y1="0" y2=${high} />
                <text
                  x=${pc(x(q))}
                  y=${high + 17}
                  text-anchor=${i === 0 ? "start" : i === marks.length - 1 ? "end" : "middle"}>
                  ${whole(q)}
                </text>
              </g>`,
          )}
          <${Lines} lines=${lines} x=${x} y=${y} high=${high} clip />
          ${up.map(
            (m, i) => html`<g
              key=${i}
              class=${i === 0 ? "change" : "mark-line"}
              data-test=${i === 0 ? "this-batch" : "break"}>
              <line x1=${pc(x(m.at))} x2=${pc(x(m.at))} y1=${-head + 12 + i * 16} y2=${high} />
              <text
                x=${pc(x(m.at))}
                dx=${x(m.at) > 0.5 ? -5 : 5}
                y=${-head + 14 + i * 16}
                text-anchor=${x(m.at) > 0.5 ? "end" : "start"}>
                ${m.text}
              </text>
            </g>`,
          )}
        </g>
      </svg>
    </figure>
    <p class="axis-name">${say("compare.axis")}</p>
    <${LineKey} lines=${lines} />
  `;
}

/**
 * drawn are the points of a route's curve that have a value.
 * @param {ComparedRoute} r
 * @param {"each_cost" | "each_min"} k
 */
const drawn = (r, k) =>
  r.curve.flatMap(
    /** @returns {Line["points"]} */
    (p) => (p[k] === null ? [] : [[p.size, p[k]]]),
  );

/** @param {{v: Comparison}} props */
export function Curve({ v }) {
  const by = useSignal("cost"),
    k = by.value === "cost" ? "each_cost" : "each_min",
    unit = by.value === "cost" ? v.costs.currency : "min";
  const lines = v.routes.map((r, i) => ({ name: title(r), dash: lineOf(i), points: drawn(r, k) }));
  const breaks = v.against.flatMap((a) => (by.value === "cost" ? a.breaks_by_cost : a.breaks_by_minutes));
  const said = v.answer.filter((a) => a.about === (by.value === "cost" ? "breaks" : "minute-breaks"));
  const at = marks.map((q) => [
    q,
    ...v.routes.map((r) => {
      const p = r.curve.find((c) => c.size >= q);
      return p ? p[k] : null;
    }),
  ]);
  const rows = () =>
    v.routes[0].curve.map((p, i) => [
      p.size,
      ...v.routes.map((r) => r.curve[i].each_cost),
      ...v.routes.map((r) => r.curve[i].each_min),
    ]);
  return html`<section data-test="curve-section">
    <h2>${say("compare.curve." + by.value, v.costs.currency)}</h2>
    <p class="deeds">
      ${["cost", "minutes"].map(
        (m) =>
          html`<button
            key=${m}
            aria-pressed=${by.value === m}
            data-test=${"curve-" + m}
            onClick=${() => {
              by.value = m;
            }}>
            ${say("compare.by." + m)}
          </button>`,
      )}
    </p>
    <${Chart}
      lines=${lines}
      breaks=${breaks}
      size=${v.size}
      text=${(/** @type {number} */ x) => num(x, x < 10 && x % 1 ? 1 : 0)}
      label=${say("compare.curve." + by.value, v.costs.currency) + ". " + said.map((s) => s.say).join(" ")}
    />
    ${said.map((s, i) => html`<p key=${i} data-test="break-words">${s.say}</p>`)}
    <details>
      <summary>${say("table")}</summary>
      <${Scroll}>
        <table>
          <thead>
            <tr>
              <th class="n">${say("compare.axis")}</th>
              ${v.routes.map((r, i) => html`<th key=${i} class="n">${title(r)}, ${unit}</th>`)}
            </tr>
          </thead>
          <tbody>
            ${at.map(
              (row) =>
                html`<tr key=${row[0]}>
                  <th scope="row" class="n">${whole(row[0])}</th>
                  ${row.slice(1).map((x, i) => html`<td key=${i} class="n">${num(x, 2)}</td>`)}
                </tr>`,
            )}
          </tbody>
        </table>
      <//>
      <${CsvButton}
        name="batch-size"
        head=${[
          "pieces",
          ...v.routes.map((r) => `${title(r)}, ${v.costs.currency}`),
          ...v.routes.map((r) => `${title(r)}, min`),
        ]}
        rows=${rows}
      />
    </details>
  </section>`;
}
