// Planned times against what was: the plan as one hundred per cent for all, so
// that the rows of a table have one scale.
import {html} from "/static/vendor/ui.js";
import {say, count} from "/static/words.js";
import {perPiece, shortSpan} from "/static/times.js";
import {number, wholePercent} from "/static/amounts.js";
import {Interval} from "/static/interval.js";

// setUp has a decimal where a minute would be coarse.
const setUp = (s) => (s < 1200 ? say("fits.min", number(s / 60)) : shortSpan(s * 1000));

// timeText is a set-up in minutes, a piece in minutes and seconds.
export const timeText = (f, s) => (s === null ? say("none") : f.what === "piece" ? perPiece(s / 60) : setUp(s));

export const offText = (ratio) => {
  const v = Math.round(100 * (ratio - 1));
  return v === 0 ? say("pace.even") : say(v > 0 ? "pace.over" : "pace.under", Math.abs(v));
};

const chance = (p) => (p < 0.001 ? say("fits.p.less", "0.001") : p.toFixed(3));

const link = (f) => "/pace/operation?" + new URLSearchParams({part: f.part, route_rev: f.route_rev, operation: f.operation});

function Row({f, range}) {
  const interval = f.low_s === null ? say("few") : say("between.95", timeText(f, f.low_s), timeText(f, f.high_s));
  const cell = (k, v, cls) => html`<td class=${cls} data-label=${say(k)}>${v}</td>`;
  return html`<tr data-test="fit" data-part=${f.part} data-operation=${f.operation} data-what=${f.what} data-off=${f.off ? "1" : "0"}>
    <th scope="row"><a class="open-op" href=${link(f)}>${say("losses.operation-of", f.part, f.operation)}</a> <small>${[f.part_name, say("route.rev", f.route_rev), f.work_centre].filter(Boolean).join(", ")}</small></th>
    ${cell("fits.what", say("fits.what." + f.what), "told-once")}${cell("fits.plan", timeText(f, f.plan_s), "n")}${cell("fits.actual", html`<b>${timeText(f, f.actual_s)}</b> <small>${f.n > 0 ? interval : ""}</small>`)}
    <td class="wide">${f.ratio !== null && html`<${Interval} value=${f.ratio} low=${f.low_s === null ? null : f.low_s / f.plan_s} high=${f.high_s === null ? null : f.high_s / f.plan_s} plan=${1} from=${range[0]} to=${range[1]} label=${`${say("fits.plan")} ${timeText(f, f.plan_s)}, ${say("fits.actual")} ${timeText(f, f.actual_s)}, ${interval}`} />`}</td>
    ${cell("fits.ratio", f.ratio === null ? say("none") : html`${f.off ? html`<b>${offText(f.ratio)}</b>` : offText(f.ratio)}`)}${cell("nav.batches", html`${f.n} ${f.left_out > 0 && html`<small>${count("fits.left-out", f.left_out)}</small>`}`, "n")}${cell("fits.p", f.p === null ? say("none") : chance(f.p), "n")}</tr>`;
}

export const FitTable = ({list, range}) => html`<table class="fits stack"><thead><tr><th>${say("head.operation")}</th><th>${say("fits.what")}</th><th class="n">${say("fits.plan")}</th><th>${say("fits.actual")}</th><th class="ends"><span>${wholePercent(range[0])}</span><span>${wholePercent(range[1])}</span></th><th>${say("fits.ratio")}</th><th class="n">${say("nav.batches")}</th><th class="n">${say("fits.p")}</th></tr></thead>
  <tbody>${list.map((f) => html`<${Row} key=${[f.part, f.route_rev, f.operation, f.what].join("/")} f=${f} range=${range} />`)}</tbody></table>`;
