// The batches behind a history: the slowest and why, and those still on the
// floor, shown as unfinished.
import {html} from "/static/vendor/ui.js";
import {say, count} from "/static/words.js";
import {shortSpan} from "/static/times.js";
import {At, BatchLink, Hint} from "/static/marks.js";
import {order, PartsBar, sum} from "/static/parts-bar.js";
import {CsvButton} from "/static/csv.js";

const days = (s) => shortSpan(s * 1000);

// biggest is the part that took most of a batch's time.
function biggest(b) {
  const k = order.reduce((a, x) => (b.parts[x + "_s"] > b.parts[a + "_s"] ? x : a), order[0]);
  return say("history.mostly", say("part." + k), days(b.parts[k + "_s"]));
}

const head = ["card", "works_order", "part", "route_rev", "customer", "state", "released", "ended", "due", "lead_s", ...order.map((k) => k + "_s"), "started", "good", "scrap", "inferred", "questions"];
const line = (b) => [b.card, b.works_order, b.part, b.route_rev, b.customer, b.state, b.released, b.ended, b.due, b.lead_s, ...order.map((k) => b.parts[k + "_s"]), b.started, b.good, b.scrap, b.inferred, b.asked];

function List({list, top, name}) {
  const cell = (k, v, cls) => html`<td class=${cls} data-label=${say("head." + k)}>${v}</td>`;
  return html`<table class="stack past" data-test=${name}><thead><tr>${["batch", "part", "released", "lead"].map((k) => html`<th key=${k}>${say("head." + k)}</th>`)}<th class="wide">${say("history.where")}</th></tr></thead><tbody>${list.map((b) => html`<tr key=${b.card} data-test="past-row" data-card=${b.card}>
    ${cell("batch", html`<${BatchLink} row=${b} />`)}${cell("part", html`${b.part} <small>${say("route.rev", b.route_rev)}</small>`)}
    ${cell("released", html`<${At} t=${b.released} />`)}${cell("lead", html`<b>${days(b.lead_s)}</b>${b.ended ? "" : html` <${Hint}>${say("state." + b.state)}<//>`} <small>${biggest(b)}</small>`)}
    <td class="wide"><${PartsBar} parts=${b.parts} top=${top} /></td></tr>`)}</tbody></table>
    <p class="deeds"><${CsvButton} name=${name} head=${head} rows=${() => list.map(line)} /></p>`;
}

export function Slowest({h}) {
  if (h.slowest.length === 0) return null;
  return html`<section><h2>${say("history.slowest")}</h2><${List} list=${h.slowest} top=${Math.max(...h.slowest.map((b) => sum(b.parts)))} name="slowest" /></section>`;
}

export function OnFloor({h}) {
  if (h.on_floor.length === 0) return null;
  const shown = h.on_floor.slice(0, 30), top = Math.max(...shown.map((b) => sum(b.parts)));
  return html`<section><h2>${say("history.on-floor")}</h2><p class="soft">${count("history.on-floor.why", h.open)}</p><${List} list=${shown} top=${top} name="on-floor" /></section>`;
}
