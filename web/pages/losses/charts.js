// The control chart of what was lost, batch by batch, and yields by operation.
import { html } from "../../lib/vendor/ui.js";
import { Interval, Plot } from "../../lib/charts.js";
import { CsvButton } from "../../lib/csv.js";
import { choose, chosen } from "../../lib/filters.js";
import { BatchLink } from "../../lib/marks.js";
import { number, percent, tidy } from "../../lib/numbers.js";
import { dateText, dayOf, tickText } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";

// The control chart of what was lost, batch by batch: limits that are as wide as
// batches differ, signals in words, and what changed on the part.

const rules = {
  "one beyond 3 sigma": "losses.rule.beyond3",
  "two of three beyond 2 sigma": "losses.rule.two",
  "four of five beyond 1 sigma": "losses.rule.four",
  "run on one side": "losses.rule.run",
};

// changesOf are the first batches of each route and drawing of the one part that
// is charted; those of the first batch are where it began, not a change.
function changesOf(points) {
  const out = [];
  for (const [field, word] of [
    ["route_rev", "losses.change.route"],
    ["drawing_rev", "losses.change.drawing"],
  ]) {
    const seen = new Set(points.slice(0, 1).map((p) => p[field]));
    points.forEach((p, i) => {
      if (seen.has(p[field])) return;
      seen.add(p[field]);
      out.push({ at: i - 0.5, i, text: say(word, p[field], dateText(dayOf(p.ended * 1000))) });
    });
  }
  return out.sort((a, b) => a.at - b.at);
}

// rare reports whether so little was lost that limits say nothing: less than a
// piece a batch in the mean, where most batches lose none. Common practice, no
// source.
const rare = (chart) => chart.points.reduce((n, p) => n + p.lost, 0) < chart.points.length;

// signalsOf gathers the rules that each batch completes.
function signalsOf(chart) {
  if (rare(chart)) return [];
  const by = new Map();
  for (const s of chart.signals) by.set(s.point, [...(by.get(s.point) || []), s]);
  return [...by].map(([i, list]) => ({
    i,
    p: chart.points[i],
    above: list[0].above,
    text: list.map((s) => say(rules[s.rule] || s.rule)).join("; "),
  }));
}

// inRow puts batches that follow one another and signal the same into one line.
function inRow(list) {
  const out = [];
  for (const s of list) {
    const before = out.at(-1);
    if (before && before.last.i === s.i - 1 && before.text === s.text && before.above === s.above)
      before.last = s;
    else out.push({ first: s, last: s, text: s.text, above: s.above });
  }
  return out;
}

const named = (s) =>
  html`
    <a href=${"/batch/" + s.p.card}>${s.p.works_order || s.p.card}</a> ${dateText(dayOf(s.p.ended * 1000))}
  `;

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

const what = (l) =>
  say("losses.kind." + (l.kind === "stop" ? "scrap" : l.kind)) +
  (l.operation ? " " + say("losses.of-operation", l.operation) : "") +
  (l.machine ? " " + say("at.machine", l.machine) : "");

function lines(chart) {
  const row = (k) => chart.points.map((p, i) => [i, typeof k === "string" ? p[k] : chart.centre]);
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

function how(chart) {
  if (rare(chart)) return say("losses.chart.how.rare");
  const alike = chart.spread < 1.05;
  const spread = alike ? say("losses.chart.how.alike") : say("losses.chart.how", tidy(chart.spread));
  return `${spread} ${say("losses.chart.how.diamond", chart.rules)}`;
}

// Control is the chart with its words and its table.
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
      text=${(v) => say("percent", tidy(100 * v))}
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

// What becomes of the pieces along the route: first-pass yield of each operation
// with its interval between batches, and what the whole route yields.

const counts = ["presented", "first_good", "scrap", "rework", "undecided", "concession", "assumed"];

const yieldText = (y) => (y.yield === null ? say("none") : percent(y.yield));
const inText = (y) =>
  y.low === null ? (y.yield === null ? "" : say("few")) : say("between.95", percent(y.low), percent(y.high));

// bottomOf is where the scale of a route begins: a round share under all of it.
function bottomOf(r) {
  const all = [r.rolled, r.final, ...r.steps.map((s) => s.first)]
    .flatMap((y) => [y.yield, y.low])
    .filter((v) => v !== null);
  return all.length ? Math.max(0, Math.floor(Math.min(...all) * 10 - 1e-9) / 10) : 0;
}

function Cells({ y, from }) {
  const label = [yieldText(y), inText(y)].filter(Boolean).join(", ");
  return html`
    <td class="yield" data-label=${say("yield.first")}><b>${yieldText(y)}</b> <small>${inText(y)}</small></td>
    <td class="wide">
      <${Interval} value=${y.yield} low=${y.low} high=${y.high} from=${from} to=${1} label=${label} />
    </td>
  `;
}

function Step({ r, s, from }) {
  const open = () =>
    choose({ part: r.part, route_rev: r.route_rev, operation: String(s.operation), by: "reason", key: "" });
  return html`<tr data-test="yield-step" data-operation=${s.operation}>
    <th scope="row">
      <button class="link" onClick=${open}>${s.operation}</button>${" "}
      <small>
        ${s.aside ? say("yield.aside") + ", " : ""}
        ${s.work_centre}
        ${s.clampings > 0 ? ", " + count("losses.clampings", s.clampings) : ""}
      </small>
    </th>
    <${Cells} y=${s.first} from=${from} />
    ${counts.map(
      (k) =>
        html`<td key=${k} class=${s[k] ? "n" : "n zero"} data-label=${say("yield." + k)}>
          ${number(s[k])}
        </td>`,
    )}
  </tr>`;
}

function Sum({ word, y, from, why }) {
  return html`<tr data-test=${"yield-" + word}>
    <th scope="row">${say("yield." + word)} <small>${why}</small></th>
    <${Cells} y=${y} from=${from} />
    <td colspan=${counts.length}></td>
  </tr>`;
}

const csvHead = [
  "part",
  "route_rev",
  "operation",
  "work_centre",
  "clampings",
  "first_pass_yield",
  "low_95",
  "high_95",
  "batches",
  "design_effect",
  ...counts,
];
const csvRows = (r) => [
  ...r.steps.map((s) => [
    r.part,
    r.route_rev,
    s.operation,
    s.work_centre,
    s.clampings,
    s.first.yield,
    s.first.low,
    s.first.high,
    s.first.batches,
    s.first.deff,
    ...counts.map((k) => s[k]),
  ]),
  ...["rolled", "final"].map((k) => [
    r.part,
    r.route_rev,
    k,
    "",
    "",
    r[k].yield,
    r[k].low,
    r[k].high,
    r[k].batches,
    r[k].deff,
  ]),
  [r.part, r.route_rev, "normalised", "", "", r.normalised],
];

function Route({ r }) {
  const from = bottomOf(r);
  return html`
    <table class="stack yields">
      <thead>
        <tr>
          <th>${say("head.operation")}</th>
          <th>${say("yield.first")}</th>
          <th class="ends"><span>${percent(from)}</span><span>${percent(1)}</span></th>
          ${counts.map((k) => html`<th key=${k} class="n">${say("yield." + k)}</th>`)}
        </tr>
      </thead>
      <tbody>
        ${r.steps.map((s) => html`<${Step} key=${s.operation} r=${r} s=${s} from=${from} />`)}
        <${Sum}
          word="rolled"
          y=${r.rolled}
          from=${from}
          why=${r.normalised === null
            ? say("yield.rolled.why")
            : say("yield.normalised", percent(r.normalised))}
        />
        <${Sum}
          word="final"
          y=${r.final}
          from=${from}
          why=${say("yield.final.why", number(r.good), number(r.started))}
        />
      </tbody>
    </table>
    <p class="deeds">
      <${CsvButton} name=${`yield-${r.part}-${r.route_rev}`} head=${csvHead} rows=${() => csvRows(r)} />
    </p>
  `;
}

// Pool is what parts named alike, made the same way, yield together: beside a part that
// was made too seldom for an interval of its own.
function Pool({ pool }) {
  return html`
    <h3>${say("pool.title", pool.name)}</h3>
    <p class="soft" data-test="yield-pool">
      ${count("pool.yields", pool.parts, pool.name, count("batches.n", pool.route.batches))}
    </p>
    <${Route} r=${{ ...pool.route, part: pool.name }} />
  `;
}

// Routes are all those of the selection: one part's in full, of many the rolled
// yield each, to be opened.
export function Routes({ l }) {
  if (l.routes.length === 0) return null;
  const whole = chosen.value.part || l.routes.length === 1;
  const name = (r) => say("yield.route", r.part, r.part_name || "", r.route_rev);
  return html`<section data-test="yields">
    <h2>${say("yield.title")}</h2>
    <p class="soft">${say("yield.how")}</p>
    ${l.routes.map((r) =>
      whole
        ? html`
            <h3 key=${r.part + r.route_rev}>${name(r)}, ${count("batches.n", r.batches)}</h3>
            <${Route} r=${r} />
          `
        : html`<details key=${r.part + "/" + r.route_rev} data-test="yield-route">
            <summary>
              <span>
                ${name(r)}, ${count("batches.n", r.batches)}: ${say("yield.rolled")} ${yieldText(r.rolled)}
                ${r.rolled.low === null ? "" : `, ${inText(r.rolled)}`}
              </span>
            </summary>
            <${Route} r=${r} />
          </details>`,
    )}
    ${l.pool && html`<${Pool} pool=${l.pool} />`}
  </section>`;
}
