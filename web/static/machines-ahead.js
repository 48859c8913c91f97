// What is ahead: hours by work centre and week, and when each batch on the floor
// may be done.
import {html} from "/static/vendor/ui.js";
import {Answered, useAnswer} from "/static/answer.js";
import {choose, chosen} from "/static/filters.js";
import {say} from "/static/words.js";
import {dateText, shortSpan} from "/static/times.js";
import {Mark} from "/static/marks.js";
import {hours, wholePercent} from "/static/amounts.js";
import {CsvButton} from "/static/csv.js";
import {Dates} from "/static/machines-dates.js";

// Cell is the planned hours of a week against what its calendar still opens.
function Cell({w}) {
  const share = w.open_s > 0 ? w.load_s / w.open_s : null, over = share === null ? w.load_s > 0 : share >= 1.005, label = w.load_s > 0 ? say("machines.load.of", hours(w.load_s), hours(w.open_s)) : say("machines.load.free", hours(w.open_s));
  return html`<td class="load" data-test="load" data-centre=${w.work_centre} data-week=${w.week} data-over=${over ? "1" : "0"} data-label=${dateText(w.week)}>
    <svg class="share" role="img" aria-label=${label} width="100%" height="14"><title>${label}</title><rect class="whole" x="0" y="1" width="100%" height="12" /><rect class=${over ? "over" : "part"} x="0" y="1" width=${`${100 * Math.min(1, share ?? 1)}%`} height="12" /></svg>
    <small>${w.load_s > 0 || w.open_s > 0 ? label : say("machines.closed")}</small> ${over ? html`<${Mark} kind="late">${share === null ? say("machines.closed") : say("machines.over", wholePercent(share))}<//>` : html`<small>${share === null || share < 0.005 ? "" : wholePercent(share)}</small>`}</td>`;
}

function Grid({l}) {
  const weeks = [...new Set(l.weeks.map((w) => w.week))], of = (c) => l.weeks.filter((w) => w.work_centre === c);
  const centres = [...new Set(l.weeks.map((w) => w.work_centre))], busy = centres.filter((c) => of(c).some((w) => w.load_s > 0)), idle = centres.filter((c) => !busy.includes(c));
  if (busy.length === 0) return html`<p class="empty" data-test="no-load">${say(l.batches.length ? "machines.load.done" : "machines.load.none")}</p>`;
  return html`<table class="load-grid stack"><thead><tr><th>${say("pace.by.centre")}</th>${weeks.map((w, i) => html`<th key=${w}>${i === 0 ? say("machines.this-week") : say("machines.week", dateText(w))}</th>`)}</tr></thead>
    <tbody>${busy.map((c) => html`<tr key=${c} data-test="load-centre" data-centre=${c}><th scope="row">${c}</th>${of(c).map((w) => html`<${Cell} key=${w.week} w=${w} />`)}</tr>`)}</tbody></table>
    <p class="soft">${say("machines.load.how")} ${idle.length > 0 ? say("machines.load.idle", idle.join(", ")) : ""}</p>`;
}

// Rests is what the dates rest on: this shop's own waits.
function Rests({l}) {
  const list = l.waits.filter((w) => w.n > 0), days = (s) => shortSpan(s * 1000);
  return html`<section><details data-test="waits"><summary><span>${say("machines.rests", l.days)}</span></summary>
    ${list.length === 0 ? html`<p>${say("machines.rests.none")}</p>` : html`<table><thead><tr><th>${say("pace.by.centre")}</th><th class="n">${say("machines.waits.n")}</th><th class="n">P50</th><th class="n">P85</th></tr></thead>
      <tbody>${list.map((w) => html`<tr key=${w.work_centre}><th scope="row">${w.work_centre}</th><td class="n">${w.n}</td><td class="n">${days(w.p50_s)}</td><td class="n">${days(w.p85_s)}</td></tr>`)}</tbody></table>`}
    <p class="soft">${say("machines.rests.how")}</p><p class="deeds"><${CsvButton} name="waits-by-work-centre" head=${["work_centre", "n", "p50_s", "p85_s"]} rows=${() => l.waits.map((w) => [w.work_centre, w.n, w.p50_s, w.p85_s])} /></p></details></section>`;
}

const spans = ["4", "8", "12", "26"];

export function Ahead() {
  const {weeks = "4"} = chosen.value, answer = useAnswer("/api/v1/load?weeks=" + encodeURIComponent(weeks)), l = answer.value;
  return html`<div class="tools"><label>${say("machines.weeks")}<select data-test="weeks" onChange=${(e) => choose({weeks: e.target.value})}>${[...new Set([...spans, weeks])].map((n) => html`<option key=${n} value=${n} selected=${n === weeks}>${n}</option>`)}</select></label></div>
    <${Answered} answer=${answer} />
    ${l && html`<p class="notice" data-test="cautions">${say("machines.cautions")}</p><section data-test="load-section"><h2>${say("machines.load")}</h2><${Grid} l=${l} />
      <p class="deeds"><${CsvButton} name="load" head=${["work_centre", "week", "load_s", "open_s", "machines", "operations"]} rows=${() => l.weeks.map((w) => [w.work_centre, w.week, w.load_s, w.open_s, w.machines, w.batches])} /></p></section>
      <${Dates} l=${l} /><${Rests} l=${l} />`}`;
}
