// The control chart of what was lost, batch by batch: limits that are as wide as
// batches differ, signals in words, and what changed on the part.
import { html } from "../../lib/vendor/ui.js";
import { Plot } from "../../lib/charts.js";
import { CsvButton } from "../../lib/csv.js";
import { chosen } from "../../lib/filters.js";
import { BatchLink } from "../../lib/marks.js";
import { percent, tidy } from "../../lib/numbers.js";
import { dateText, dayOf, tickText } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";

/**
 * @typedef {import("./measures.js").Losses} Losses
 * @typedef {NonNullable<Losses["chart"]>} Chart
 * @typedef {Chart["points"][number]} Point
 * @typedef {import("../../lib/charts.js").Line} Line
 * @typedef {{i: number, p: Point, above: boolean, text: string}} Signal what the i-th batch signals
 * @typedef {{first: Signal, last: Signal, text: string, above: boolean}} Run
 */

/** @type {Record<string, string>} */
const rules = {
  "one beyond 3 sigma": "losses.rule.beyond3",
  "two of three beyond 2 sigma": "losses.rule.two",
  "four of five beyond 1 sigma": "losses.rule.four",
  "run on one side": "losses.rule.run",
};

/**
 * changesOf are the first batches of each route and drawing of the one part that
 * is charted; those of the first batch are where it began, not a change.
 * @param {Point[]} points
 */
function changesOf(points) {
  /** @type {(import("../../lib/charts.js").Change & {i: number})[]} */
  const out = [];
  for (const field of /** @type {const} */ (["route_rev", "drawing_rev"])) {
    const word = field === "route_rev" ? "losses.change.route" : "losses.change.drawing";
    const seen = new Set(points.slice(0, 1).map((p) => p[field]));
    points.forEach((p, i) => {
      if (seen.has(p[field])) return;
      seen.add(p[field]);
      out.push({ at: i - 0.5, i, text: say(word, p[field], dateText(dayOf(p.ended * 1000))) });
    });
  }
  return out.sort((a, b) => a.at - b.at);
}

/**
 * rare reports whether so little was lost that limits say nothing: less than a
 * piece a batch in the mean, where most batches lose none. Common practice, no
 * source.
 * @param {Chart} chart
 */
const rare = (chart) => chart.points.reduce((n, p) => n + p.lost, 0) < chart.points.length;

/**
 * signalsOf gathers the rules that each batch completes.
 * @param {Chart} chart
 * @returns {Signal[]}
 */
function signalsOf(chart) {
  if (rare(chart)) return [];
  /** @type {Map<number, Chart["signals"]>} */
  const by = new Map();
  for (const s of chart.signals) by.set(s.point, [...(by.get(s.point) || []), s]);
  return [...by].map(([i, list]) => ({
    i,
    p: chart.points[i],
    above: list[0].above,
    text: list.map((s) => say(rules[s.rule] || s.rule)).join("; "),
  }));
}

/**
 * inRow puts batches that follow one another and signal the same into one line.
 * @param {Signal[]} list
 */
function inRow(list) {
  /** @type {Run[]} */
  const out = [];
  for (const s of list) {
    const before = out.at(-1);
    if (before && before.last.i === s.i - 1 && before.text === s.text && before.above === s.above)
      before.last = s;
    else out.push({ first: s, last: s, text: s.text, above: s.above });
  }
  return out;
}

/** @param {Signal} s */
const named = (s) =>
  html`
    <a href=${"/batch/" + s.p.card}>${s.p.works_order || s.p.card}</a> ${dateText(dayOf(s.p.ended * 1000))}
  `;

/** @param {{list: Signal[], chart: Chart}} props */
function Signals({ list, chart }) {
  const first = chart.points[0];
  if (rare(chart))
    return html`<p data-test="too-rare">
      ${count(
        "losses.rare",
        chart.points.reduce((n, p) => n + p.lost, 0),
        chart.points.length,
      )}
    </p>`;
  if (list.length === 0)
    return html`<p data-test="no-signals">
      ${say("losses.no-signals", dateText(dayOf(first.ended * 1000)), percent(chart.centre))}
    </p>`;
  return html`<ul class="signals" data-test="signals">
    ${inRow(list).map(
      (s) =>
        html`<li key=${s.first.i} data-test="signal">
          <svg class="shape signal-shape" viewBox="-9 -9 18 18" aria-hidden="true">
            <path d="M0 -8 8 0 0 8-8 0Z" />
          </svg>
          <span>
            ${named(s.first)}
            ${s.last !== s.first
              ? html` ${say("losses.until")} ${named(s.last)}`
              : html`, ${percent(s.first.p.value)}`}:${" "}
            ${say(s.above ? "losses.above" : "losses.below")}, ${s.text}
          </span>
        </li>`,
    )}
  </ul>`;
}

/** @param {Losses} l */
const what = (l) =>
  say("losses.kind." + (l.kind === "stop" ? "scrap" : l.kind)) +
  (l.operation ? " " + say("losses.of-operation", l.operation) : "") +
  (l.machine ? " " + say("at.machine", l.machine) : "");

/**
 * @param {Chart} chart
 * @returns {Line[]}
 */
function lines(chart) {
  /** @type {(k: "high" | "low" | null) => [number, number][]} */
  const row = (k) => chart.points.map((p, i) => [i, k ? p[k] : chart.centre]);
  const centre = { name: say("losses.centre", percent(chart.centre)), dash: "solid", points: row(null) };
  if (rare(chart)) return [centre];
  return [
    centre,
    { name: say("losses.high"), dash: "limit", points: row("high") },
    ...(chart.points.some((p) => p.low > 0)
      ? [{ name: say("losses.low"), dash: "dotted", points: row("low") }]
      : []),
  ];
}

/** @param {Chart} chart */
function how(chart) {
  if (rare(chart)) return say("losses.chart.how.rare");
  const alike = chart.spread < 1.05;
  const spread = alike ? say("losses.chart.how.alike") : say("losses.chart.how", tidy(chart.spread));
  return `${spread} ${say("losses.chart.how.diamond", chart.rules)}`;
}

/**
 * Control is the chart with its words and its table.
 * @param {{l: Losses}} props
 */
export function Control({ l }) {
  const chart = l.chart;
  if (!chart || chart.points.length < 2)
    return html`<section>
      <h2>${say("losses.chart", what(l))}</h2>
      <p class="empty" data-test="no-chart">${say("losses.chart.few")}</p>
    </section>`;
  const one = new Set(chart.points.map((p) => p.part)).size === 1,
    signals = signalsOf(chart),
    marked = new Set(signals.map((s) => s.i));
  const changes = one ? changesOf(chart.points) : [],
    n = chart.points.length,
    step = Math.max(1, Math.ceil(n / 7));
  const points = chart.points.map((p, i) => ({
    x: i,
    y: p.value,
    href: "/batch/" + p.card,
    mark: marked.has(i) ? "signal" : "",
    title: [
      `${p.works_order || p.card}, ${tickText(p.ended * 1000, true)}:`,
      say("losses.share", p.lost, p.of, percent(p.value)),
    ].join(" "),
  }));
  const xs = chart.points
    .map((p, i) => ({ at: i, text: tickText(p.ended * 1000, true) }))
    .filter((_, i) => i % step === 0);
  const rows = () =>
    chart.points.map((p, i) => [
      p.card,
      p.works_order,
      new Date(p.ended * 1000).toISOString(),
      p.part,
      p.route_rev,
      p.drawing_rev,
      p.lost,
      p.of,
      p.value,
      p.low,
      chart.centre,
      p.high,
      signals
        .filter((s) => s.i === i)
        .map((s) => s.text)
        .join("; "),
    ]);
  return html`<section data-test="control">
    <h2>${say("losses.chart", what(l))}</h2>
    <${Plot}
      points=${points}
      lines=${lines(chart)}
      changes=${changes}
      from=${-0.5}
      to=${n - 0.5}
      xs=${xs}
      unit=${0.01}
      text=${(/** @type {number} */ v) => say("percent", tidy(100 * v))}
      label=${say("losses.chart.label", what(l), n)}
    />
    <${Signals} list=${signals} chart=${chart} />
    ${changes.length > 0 &&
    html`<p data-test="changes">${say("losses.changed")} ${changes.map((c) => c.text).join("; ")}.</p>`}
    <p class="soft">
      ${how(chart)} ${!one && !chosen.value.part ? say("losses.chart.all") : ""}${" "}
      ${n >= 100 ? count("losses.chart.newest", n) : ""}
    </p>
    <details>
      <summary>${say("table")}</summary>
      <table class="stack">
        <thead>
          <tr>
            ${[
              "head.batch",
              "losses.ended",
              "losses.revs",
              "losses.lost",
              "losses.share-of",
              "losses.limits",
            ].map((k) => html`<th key=${k}>${say(k)}</th>`)}
          </tr>
        </thead>
        <tbody>
          ${chart.points.map(
            (p, i) =>
              html`<tr key=${i}>
                <td data-label=${say("head.batch")}><${BatchLink} row=${p} /></td>
                <td data-label=${say("losses.ended")}>${dateText(dayOf(p.ended * 1000))}</td>
                <td data-label=${say("losses.revs")}>
                  ${say("revs", p.drawing_rev || say("none"), p.route_rev)}
                </td>
                <td data-label=${say("losses.lost")}>${say("of", p.lost, p.of)}</td>
                <td data-label=${say("losses.share-of")}>${percent(p.value)}</td>
                <td data-label=${say("losses.limits")}>${percent(p.low)} – ${percent(p.high)}</td>
              </tr>`,
          )}
        </tbody>
      </table>
      <p class="deeds">
        <${CsvButton}
          name="control-chart"
          head=${[
            "card",
            "works_order",
            "ended",
            "part",
            "route_rev",
            "drawing_rev",
            "lost",
            "started",
            "share",
            "low",
            "centre",
            "high",
            "signals",
          ]}
          rows=${rows}
        />
      </p>
    </details>
  </section>`;
}
