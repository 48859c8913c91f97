// Cost, or machine minutes, of a good piece over the batch size, which is drawn
// by its logarithm.
import { html, useSignal } from "../../lib/vendor/ui.js";
import { LineKey, Lines, steps } from "../../lib/charts.js";
import { CsvButton } from "../../lib/csv.js";
import { say } from "../../lib/words.js";
import { lineOf, num, Scroll, title, whole } from "./text.js";

/**
 * @typedef {import("./state.js").Schema} Schema
 * @typedef {import("./state.js").Comparison} Comparison
 * @typedef {import("./state.js").ComparedRoute} ComparedRoute
 * @typedef {import("../../lib/charts.js").Line} Line
 */

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
