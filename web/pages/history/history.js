// History: lead times, where the days went, and the batches.
import { html, useEffect } from "../../lib/vendor/ui.js";
import { Bars, Plot } from "../../lib/charts.js";
import { CsvButton } from "../../lib/csv.js";
import { choose, Filters, query, selection } from "../../lib/filters.js";
import { useAnswer } from "../../lib/form.js";
import { Figure } from "../../lib/marks.js";
import { fixed, number, percent } from "../../lib/numbers.js";
import { failed, me, start } from "../../lib/shell.js";
import { loadShop } from "../../lib/shop.js";
import { order, PartsBar, PartsKey, sum } from "../../lib/strip.js";
import { dateText, tickText } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";
import { OnFloor, Slowest } from "./past.js";
import { days, partOf } from "./spans.js";

/**
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {import("../../lib/charts.js").Line} Line
 * @typedef {import("./spans.js").HistoryView} HistoryView
 * @typedef {Schema["Quantiles"]} Quantiles
 */

/** @type {(lead: Quantiles, k: "p50" | "p80" | "p95") => number | null} */
const leadOf = (lead, k) => lead[/** @type {const} */ (`${k}_s`)];

/**
 * dayTick is a value of an axis: whole days without hours.
 * @param {number} s
 */
const dayTick = (s) => (s % 86400 === 0 ? say("span.d", s / 86400) : days(s));

/**
 * OnTime is the order lines that were due: late and short are two figures, and a
 * line may be both.
 * @param {{on: Schema["OnTime"]}} props
 */
function OnTime({ on }) {
  const of = (/** @type {number} */ n) => (on.lines ? say("of", n, on.lines) : say("none")),
    both = on.lines_late_and_short;
  const pieces = on.pieces ? say("history.on-time.pieces", percent(on.pieces_on_time / on.pieces)) : "";
  /** @type {(test: string, n: number, why: string) => unknown} */
  const figure = (test, n, why) =>
    html`<${Figure} test=${test} name=${say("history." + test)} value=${of(n)} why=${why} />`;
  return html`
    ${figure("on-time", on.lines_on_time, pieces)}
    ${figure("by-date", on.lines_by_date, on.lines ? say("history.by-date.why") : "")}
    ${figure("lines-late", on.lines_late, both ? count("history.late-and-short", both) : "")}
    ${figure("lines-short", on.lines_short, both ? count("history.late-and-short", both) : "")}
  `;
}

/** @param {number | null} x */
const part = (x) => (x === null ? say("none") : percent(x));

/**
 * Head is the figures, each with what it rests on.
 * @param {{h: HistoryView}} props
 */
function Head({ h }) {
  const l = h.lead,
    few = say("few");
  const inside = l.p50_in_s ? say("between.95", days(l.p50_in_s[0]), days(l.p50_in_s[1])) : l.n ? few : "";
  return html`
    <dl class="figures" data-test="figures">
      <${Figure} test="p50" name=${say("history.p50")} value=${days(l.p50_s)} why=${inside} />
      <${Figure}
        test="p80"
        name=${say("history.p80")}
        value=${days(l.p80_s)}
        why=${l.p80_s === null && l.n ? few : ""}
      />
      <${Figure}
        test="p85"
        name=${say("history.p85")}
        value=${days(l.p85_s)}
        why=${l.p85_s === null && l.n ? few : ""}
      />
      <${Figure}
        test="p95"
        name=${say("history.p95")}
        value=${days(l.p95_s)}
        why=${l.p95_s === null && l.n ? say("history.few95") : ""}
      />
      <${Figure}
        test="max"
        name=${say("history.max")}
        value=${days(l.max_s)}
        why=${l.sd_s === null ? "" : say("history.sd", days(l.sd_s))}
      />
      <${Figure}
        test="floor"
        name=${say("history.floor")}
        value=${days(h.floor.p50_s)}
        why=${say("history.floor.why")}
      />
      <${Figure}
        test="efficiency"
        name=${say("history.efficiency")}
        value=${part(h.efficiency)}
        why=${say("history.efficiency.why")}
      />
      <${Figure}
        test="touch"
        name=${say("history.touch")}
        value=${part(h.touch)}
        why=${say("history.touch.why")}
      />
      <${Figure}
        test="rejected"
        name=${say("history.rejected")}
        value=${part(h.rejected)}
        why=${h.started ? say("history.rejected.why", number(h.scrap), number(h.started)) : ""}
      />
      <${OnTime} on=${h.on_time} />
      <${Figure}
        test="wip"
        name=${say("history.wip")}
        value=${fixed(h.flow.wip, 1)}
        why=${say("history.wip.why", fixed(h.flow.per_day, 2), fixed(h.flow.mean_days, 1))}
      />
    </dl>
    <p class="soft" data-test="rests">
      ${count("history.rests", h.ended)} ${h.left_out > 0 ? count("history.left", h.left_out) : ""}${" "}
      ${h.inferred > 0 ? count("history.inferred", h.inferred) : ""} ${say("type7")}
    </p>
  `;
}

/**
 * Pool is the lead times of the parts named alike, beside those of a part that was made
 * too seldom to say much by itself.
 * @param {{pool: Schema["LeadPool"]}} props
 */
function Pool({ pool }) {
  const l = pool.lead;
  /** @type {(k: string, v: number | null, why: string) => unknown} */
  const figure = (k, v, why) =>
    html`<${Figure} test=${"pool-" + k} name=${say("history." + k)} value=${days(v)} why=${why} />`;
  const inside = l.p50_in_s ? say("between.95", days(l.p50_in_s[0]), days(l.p50_in_s[1])) : say("few");
  return html`<section data-test="pool">
    <h2>${say("pool.title", pool.name)}</h2>
    <p class="soft">${count("pool.leads", pool.parts, pool.name, count("batches.n", l.n))}</p>
    <dl class="figures">
      ${figure("p50", l.p50_s, inside)}
      ${figure("p80", l.p80_s, l.p80_s === null ? say("few") : "")}
      ${figure("p85", l.p85_s, l.p85_s === null ? say("few") : "")}
      ${figure("p95", l.p95_s, l.p95_s === null ? say("history.few95") : "")}
    </dl>
  </section>`;
}

const quantiles = /** @type {const} */ (["p50", "p80", "p95"]); // those that are drawn

/** @param {{h: HistoryView}} props */
function Distribution({ h }) {
  const l = h.lead,
    marks = quantiles.flatMap((k) => {
      const v = leadOf(l, k);
      return v === null ? [] : [{ at: v, label: `${say("history." + k)} ${days(v)}` }];
    });
  const bars = h.bins.map((b) => ({
    from: b.from_s,
    to: b.to_s,
    n: b.n,
    title: `${days(b.from_s)} – ${days(b.to_s)}: ${count("batches.n", b.n)}`,
  }));
  const rows = () => h.bins.map((b) => [b.from_s, b.to_s, b.n]);
  return html`<section>
    <h2>${say("history.distribution")}</h2>
    <${Bars}
      bars=${bars}
      marks=${marks}
      unit=${86400}
      text=${dayTick}
      label=${say("history.distribution.label", h.ended)}
    />
    <details>
      <summary>${say("table")}</summary>
      <table>
        <thead>
          <tr><th>${say("from")}</th><th>${say("to")}</th><th class="n">${say("nav.batches")}</th></tr>
        </thead>
        <tbody>
          ${h.bins.map(
            (b) =>
              html`<tr key=${b.from_s}>
                <td>${days(b.from_s)}</td>
                <td>${days(b.to_s)}</td>
                <td class="n">${b.n}</td>
              </tr>`,
          )}
        </tbody>
      </table>
      <${CsvButton} name="lead-times" head=${["from_s", "to_s", "batches"]} rows=${rows} />
    </details>
  </section>`;
}

const seriesTimes = /** @type {const} */ (["p80_s", "p85_s", "p95_s", "max_s", "sd_s"]); // beside the median

/**
 * Over shows the lead times by when the batches ended.
 * @param {{h: HistoryView}} props
 */
function Over({ h }) {
  const first = Math.min(...h.points.map((p) => p.ended * 1000)),
    start = Date.parse(h.selection.from + "T00:00:00Z");
  const from = h.points.length === h.ended ? Math.max(start, first - 86400e3) : start,
    at = (/** @type {string} */ d) => Math.max(from, Date.parse(d + "T12:00:00Z")),
    to = Math.max(...h.points.map((p) => p.ended * 1000), from + 1);
  const half = h.series.length > 1 ? (Date.parse(h.series[1].from) - Date.parse(h.series[0].from)) / 2 : 0,
    mid = (/** @type {string} */ d) => Math.min(to, at(d) + half);
  /** @type {(k: "p50" | "p80" | "p95", dash: string) => Line} */
  const line = (k, dash) => {
    const points = /** @type {Line["points"]} */ ([]);
    for (const s of h.series) {
      const v = leadOf(s.lead, k);
      // A line through single batches would be taken for a trend.
      if (v !== null && s.lead.n >= 3) points.push([mid(s.from), v]);
    }
    return { name: say("history." + k), dash, points };
  };
  const points = h.points.map((p) => ({
    x: p.ended * 1000,
    y: p.lead_s,
    href: "/batch/" + p.card,
    title: `${p.card}: ${days(p.lead_s)}, ${tickText(p.ended * 1000, true)}`,
  }));
  const rows = () =>
    h.series.map((s) => [
      s.from,
      s.lead.n,
      s.lead.p50_s,
      ...seriesTimes.map((k) => s.lead[k]),
      ...order.map((k) => partOf(s.parts, k)),
    ]);
  const shown = points.filter((p) => p.x >= from),
    step = Math.max(1, Math.ceil(h.series.length / 8));
  const xs = h.series
    .filter((_, i) => i % step === 0)
    .map((s) => ({ at: at(s.from), text: tickText(at(s.from), true) }));
  return html`<section>
    <h2>${say("history.over")}</h2>
    <${Plot}
      points=${shown}
      lines=${[line("p50", "solid"), line("p80", "dashed"), line("p95", "dotted")].filter(
        (l) => l.points.length > 1,
      )}
      from=${from}
      to=${to}
      xs=${xs}
      unit=${86400}
      text=${dayTick}
      label=${say("history.over.label", h.ended)}
    />
    <p class="soft">
      ${h.points.length < h.ended ? say("history.newest", h.points.length) : ""} ${say("history.over.how")}
    </p>
    <details>
      <summary>${say("table")}</summary>
      <table class="stack">
        <thead>
          <tr>
            <th>${say("from")}</th>
            <th class="n">${say("nav.batches")}</th>
            <th>${say("history.p50")}</th>
            <th>${say("history.p80")}</th>
            <th>${say("history.p95")}</th>
          </tr>
        </thead>
        <tbody>
          ${h.series.map(
            (s) =>
              html`<tr key=${s.from}>
                <td data-label=${say("from")}>${dateText(s.from)}</td>
                <td class="n" data-label=${say("nav.batches")}>${s.lead.n}</td>
                ${quantiles.map(
                  (k) => html`<td key=${k} data-label=${say("history." + k)}>${days(leadOf(s.lead, k))}</td>`,
                )}
              </tr>`,
          )}
        </tbody>
      </table>
      <${CsvButton}
        name="lead-times-over-time"
        head=${["from", "batches", "p50_s", ...seriesTimes, ...order.map((k) => "mean_" + k + "_s")]}
        rows=${rows}
      />
    </details>
  </section>`;
}

/**
 * Where says where the days went: a batch's mean, and how that changed.
 * @param {{h: HistoryView}} props
 */
function Where({ h }) {
  const total = sum(h.parts),
    top = Math.max(total, ...h.series.map((s) => sum(s.parts)));
  return html`<section data-test="where">
    <h2>${say("history.where")}</h2>
    <p>${say("history.where.mean", days(total))}</p>
    <${PartsBar} parts=${h.parts} high=${40} />
    <${PartsKey} />
    <table class="where">
      <tbody>
        ${order
          .filter((k) => partOf(h.parts, k) > 0)
          .map(
            (k) =>
              html`<tr key=${k}>
                <th scope="row">${say("part." + k)}</th>
                <td class="n">${days(partOf(h.parts, k))}</td>
                <td class="n">${percent(partOf(h.parts, k) / total)}</td>
              </tr>`,
          )}
      </tbody>
    </table>
    ${h.series.length > 1 &&
    html`<details>
      <summary>${say("history.where.over")}</summary>
      <table class="bars-table">
        <tbody>
          ${h.series.map(
            (s) =>
              html`<tr key=${s.from}>
                <th scope="row">
                  <button class="quiet" onClick=${() => choose({ from: s.from })}>${dateText(s.from)}</button>
                </th>
                <td class="n">${s.lead.n}</td>
                <td class="wide"><${PartsBar} parts=${s.parts} top=${top} /></td>
                <td class="n">${days(sum(s.parts))}</td>
              </tr>`,
          )}
        </tbody>
      </table>
    </details>`}
  </section>`;
}

// Lead times of a part, a route, a customer, a works order or a period.

function Page() {
  useEffect(() => {
    loadShop().catch(failed);
  }, []);
  const answer = useAnswer(`/api/v1/history?${query(selection)}`),
    v = answer.value;
  return html`
    <h1>${say("history.title")}</h1>
    <${Filters} />
    ${answer.problem && html`<p class="problem" data-test="failed">${answer.problem}</p>`}
    ${!v
      ? html`<p class="soft">${say("loading")}</p>`
      : html`
          <${Head} h=${v} />
          ${v.pool && html`<${Pool} pool=${v.pool} />`}
          ${v.ended === 0
            ? html`<p class="empty" data-test="no-history">
                ${say(v.open ? "history.only-open" : "history.none")}
              </p>`
            : html`<${Distribution} h=${v} /><${Over} h=${v} /><${Where} h=${v} /><${Slowest} h=${v} />`}
          <${OnFloor} h=${v} />
        `}
  `;
}

start(() => (me.value ? html`<${Page} />` : null));
