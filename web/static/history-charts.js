// The figures and the charts of a history.
import {html} from "/static/vendor/ui.js";
import {say, count} from "/static/words.js";
import {dateText, shortSpan, tickText} from "/static/times.js";
import {Bars, Plot} from "/static/charts.js";
import {order, PartsBar, PartsKey, sum} from "/static/parts-bar.js";
import {CsvButton} from "/static/csv.js";
import {choose} from "/static/filters.js";

const days = (s) => (s === null || s === undefined ? say("none") : shortSpan(s * 1000));
// dayTick is a value of an axis: whole days without hours.
const dayTick = (s) => (s % 86400 === 0 ? say("span.d", s / 86400) : days(s));
const percent = (x) => say("percent", (100 * x).toFixed(x < 0.1 ? 1 : 0));

function Figure({name, value, why, test}) {
  return html`<div data-test=${test}><dt>${name}</dt><dd>${value}</dd>${why && html`<small>${why}</small>`}</div>`;
}

// Head is the figures, each with what it rests on.
export function Head({h}) {
  const l = h.lead, few = say("few");
  const inside = l.p50_in_s ? say("between.95", days(l.p50_in_s[0]), days(l.p50_in_s[1])) : l.n ? few : "";
  return html`<dl class="figures" data-test="figures">
    <${Figure} test="p50" name=${say("history.p50")} value=${days(l.p50_s)} why=${inside} />
    <${Figure} test="p80" name=${say("history.p80")} value=${days(l.p80_s)} why=${l.p80_s === null && l.n ? few : ""} />
    <${Figure} test="p95" name=${say("history.p95")} value=${days(l.p95_s)} why=${l.p95_s === null && l.n ? say("history.few95") : ""} />
    <${Figure} test="floor" name=${say("history.floor")} value=${days(h.floor.p50_s)} why=${say("history.floor.why")} />
    <${Figure} test="efficiency" name=${say("history.efficiency")} value=${h.efficiency === null ? say("none") : percent(h.efficiency)} why=${say("history.efficiency.why")} />
    <${Figure} test="on-time" name=${say("history.on-time")} value=${h.on_time.lines ? say("of", h.on_time.lines_on_time, h.on_time.lines) : say("none")} why=${h.on_time.pieces ? say("history.on-time.pieces", percent(h.on_time.pieces_on_time / h.on_time.pieces)) : ""} />
    <${Figure} test="wip" name=${say("history.wip")} value=${h.flow.wip.toFixed(1)} why=${say("history.wip.why", h.flow.per_day.toFixed(2), h.flow.mean_days.toFixed(1))} />
  </dl><p class="soft" data-test="rests">${count("history.rests", h.ended)} ${h.left_out > 0 ? count("history.left", h.left_out) : ""} ${h.inferred > 0 ? count("history.inferred", h.inferred) : ""} ${say("type7")}</p>`;
}

export function Distribution({h}) {
  const l = h.lead, marks = [["history.p50", l.p50_s], ["history.p80", l.p80_s], ["history.p95", l.p95_s]].filter(([, v]) => v !== null).map(([k, v]) => ({at: v, label: `${say(k)} ${days(v)}`}));
  const bars = h.bins.map((b) => ({from: b.from_s, to: b.to_s, n: b.n, title: `${days(b.from_s)} – ${days(b.to_s)}: ${count("batches.n", b.n)}`}));
  const rows = () => h.bins.map((b) => [b.from_s, b.to_s, b.n]);
  return html`<section><h2>${say("history.distribution")}</h2><${Bars} bars=${bars} marks=${marks} unit=${86400} text=${dayTick} label=${say("history.distribution.label", h.ended)} />
    <details><summary>${say("table")}</summary><table><thead><tr><th>${say("from")}</th><th>${say("to")}</th><th class="n">${say("nav.batches")}</th></tr></thead>
      <tbody>${h.bins.map((b) => html`<tr key=${b.from_s}><td>${days(b.from_s)}</td><td>${days(b.to_s)}</td><td class="n">${b.n}</td></tr>`)}</tbody></table>
      <${CsvButton} name="lead-times" head=${["from_s", "to_s", "batches"]} rows=${rows} /></details></section>`;
}

// Over shows the lead times by when the batches ended.
export function Over({h}) {
  const first = Math.min(...h.points.map((p) => p.ended * 1000)), start = Date.parse(h.selection.from + "T00:00:00Z");
  const from = h.points.length === h.ended ? Math.max(start, first - 86400e3) : start, at = (d) => Math.max(from, Date.parse(d + "T12:00:00Z")), to = Math.max(...h.points.map((p) => p.ended * 1000), from + 1);
  const half = (h.series.length > 1 ? (Date.parse(h.series[1].from) - Date.parse(h.series[0].from)) / 2 : 0), mid = (d) => Math.min(to, at(d) + half);
  const line = (k, dash) => ({name: say("history." + k), dash, points: h.series.filter((s) => s.lead[k + "_s"] !== null).map((s) => [mid(s.from), s.lead[k + "_s"]])});
  const points = h.points.map((p) => ({x: p.ended * 1000, y: p.lead_s, href: "/batch/" + p.card, title: `${p.card}: ${days(p.lead_s)}, ${tickText(p.ended * 1000, true)}`}));
  const rows = () => h.series.map((s) => [s.from, s.lead.n, s.lead.p50_s, s.lead.p80_s, s.lead.p95_s, ...order.map((k) => s.parts[k + "_s"])]);
  const shown = points.filter((p) => p.x >= from), step = Math.max(1, Math.ceil(h.series.length / 8));
  const xs = h.series.filter((_, i) => i % step === 0).map((s) => ({at: at(s.from), text: tickText(at(s.from), true)}));
  return html`<section><h2>${say("history.over")}</h2><${Plot} points=${shown} lines=${[line("p50", "solid"), line("p80", "dashed"), line("p95", "dotted")].filter((l) => l.points.length > 1)} from=${from} to=${to} xs=${xs} unit=${86400} text=${dayTick} label=${say("history.over.label", h.ended)} />
    <p class="soft">${h.points.length < h.ended ? say("history.newest", h.points.length) : ""} ${say("history.over.how")}</p>
    <details><summary>${say("table")}</summary><table class="stack"><thead><tr><th>${say("from")}</th><th class="n">${say("nav.batches")}</th><th>${say("history.p50")}</th><th>${say("history.p80")}</th><th>${say("history.p95")}</th></tr></thead>
      <tbody>${h.series.map((s) => html`<tr key=${s.from}><td data-label=${say("from")}>${dateText(s.from)}</td><td class="n" data-label=${say("nav.batches")}>${s.lead.n}</td>${["p50", "p80", "p95"].map((k) => html`<td key=${k} data-label=${say("history." + k)}>${days(s.lead[k + "_s"])}</td>`)}</tr>`)}</tbody></table>
      <${CsvButton} name="lead-times-over-time" head=${["from", "batches", "p50_s", "p80_s", "p95_s", ...order.map((k) => "mean_" + k + "_s")]} rows=${rows} /></details></section>`;
}

// Where says where the days went: a batch's mean, and how that changed.
export function Where({h}) {
  const total = sum(h.parts), top = Math.max(total, ...h.series.map((s) => sum(s.parts)));
  return html`<section data-test="where"><h2>${say("history.where")}</h2><p>${say("history.where.mean", days(total))}</p><${PartsBar} parts=${h.parts} high=${40} /><${PartsKey} />
    <table class="where"><tbody>${order.filter((k) => h.parts[k + "_s"] > 0).map((k) => html`<tr key=${k}><th scope="row">${say("part." + k)}</th><td class="n">${days(h.parts[k + "_s"])}</td><td class="n">${percent(h.parts[k + "_s"] / total)}</td></tr>`)}</tbody></table>
    ${h.series.length > 1 && html`<details><summary>${say("history.where.over")}</summary><table class="bars-table"><tbody>${h.series.map((s) => html`<tr key=${s.from}><th scope="row"><button class="quiet" onClick=${() => choose({from: s.from})}>${dateText(s.from)}</button></th><td class="n">${s.lead.n}</td><td class="wide"><${PartsBar} parts=${s.parts} top=${top} /></td><td class="n">${days(sum(s.parts))}</td></tr>`)}</tbody></table></details>`}</section>`;
}
