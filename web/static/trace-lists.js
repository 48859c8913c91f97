// What became of all pieces that were traced, and where they were delivered to.
import {html} from "/static/vendor/ui.js";
import {say, count} from "/static/words.js";
import {full} from "/static/times.js";
import {BatchLink} from "/static/marks.js";
import {number} from "/static/amounts.js";

const kinds = ["started", "good", "delivered", "stock", "floor", "scrap", "review", "missing", "concession"];

// Sums are the pieces of all families, and the lots and customers they belong to.
export function Sums({families, q}) {
  const all = families.flatMap((f) => f.batches), lots = [...new Set(all.flatMap((b) => b.material_lots))].sort(), customers = [...new Set(all.map((b) => b.customer).filter(Boolean))].sort();
  const link = (x) => (x.toLowerCase() === q.toLowerCase() ? html`<b>${x}</b>` : html`<a href=${"/trace?q=" + encodeURIComponent(x)}>${x}</a>`);
  const sum = (k) => families.reduce((n, f) => n + f.pieces[k], 0);
  return html`<dl class="figures" data-test="trace-sums">${kinds.filter((k) => k === "started" || k === "good" || sum(k) > 0).map((k) => html`<div key=${k} data-test=${"sum-" + k}><dt>${say("trace." + k)}</dt><dd>${number(sum(k))}</dd></div>`)}</dl>
    <p class="wrapped">${say("fact.lots")}: ${lots.length ? lots.map((x, i) => html`${i ? ", " : ""}${link(x)}`) : say("trace.no-lot")}</p>
    <p class="wrapped">${say("trace.customers")}: ${customers.length ? customers.map((x, i) => html`${i ? ", " : ""}${link(x)}`) : say("none")}</p>`;
}

// deliveriesOf are all of them, the newest first.
export const deliveriesOf = (list) => list.flatMap((b) => b.deliveries.map((d) => ({...d, b}))).sort((x, y) => Date.parse(y.at) - Date.parse(x.at));

// Deliveries says who has pieces: what a recall needs.
export function Deliveries({list}) {
  const all = deliveriesOf(list), cell = (k, v, cls) => html`<td class=${cls} data-label=${say(k)}>${v}</td>`;
  if (all.length === 0) return html`<p data-test="no-deliveries">${say("trace.no-deliveries")}</p>`;
  return html`<section data-test="deliveries"><h2>${count("trace.deliveries", all.length)}</h2><table class="stack"><thead><tr>${["head.at", "trace.note", "head.customer", "head.part", "head.pieces", "head.batch"].map((k) => html`<th key=${k} class=${k === "head.pieces" ? "n" : ""}>${say(k)}</th>`)}</tr></thead>
    <tbody>${all.map((d, i) => html`<tr key=${i} data-test="delivery">${cell("head.at", full(d.at))}${cell("trace.note", d.note ? html`<a href=${"/trace?q=" + encodeURIComponent(d.note)}>${d.note}</a>` : say("none"))}${cell("head.customer", d.b.customer || say("none"))}${cell("head.part", d.b.part)}${cell("head.pieces", number(d.pieces), "n")}${cell("head.batch", html`<${BatchLink} row=${d.b} />`)}</tr>`)}</tbody></table></section>`;
}
