// The batches behind an operation of the pace board, each with the way to its
// visits and their scans.
import {html, useSignal} from "/static/vendor/ui.js";
import {say, count} from "/static/words.js";
import {seconds} from "/static/times.js";
import {At, BatchLink} from "/static/marks.js";
import {timeText} from "/static/pace-rows.js";

const most = 30; // rows at first

// visitLink leads to a visit on its batch's page.
export const visitLink = (b, visit) => `/batch/${encodeURIComponent(b.card)}#visit-${encodeURIComponent(visit)}`;

// against says by how much a time differs from its plan.
function against(s, plan) {
  if (!(plan > 0) || !(s > 0)) return "";
  const d = Math.round((s / plan - 1) * 100);
  return d === 0 ? say("pace.even") : say(d > 0 ? "pace.over" : "pace.under", Math.abs(d));
}

const heads = ["batch", "ended", "machines", "setup", "made", "piece", "wait", "visits"];

function Row({b, row, why, test}) {
  const cell = (name, content) => html`<td class=${"b-" + name} data-label=${say("pace.batch." + name)}>${content}</td>`;
  const setup = b.setups ? b.setup_s / b.setups : 0;
  return html`<tr data-test=${test} data-card=${b.card}>
    ${cell("batch", html`<${BatchLink} row=${b} />`)}
    ${cell("ended", b.ended ? html`<${At} t=${b.ended} />` : say("none"))}
    ${cell("machines", [...new Set(b.machines)].join(", "))}
    ${cell("setup", html`${setup > 0 ? timeText(setup) : say("none")} ${!why && html`<small>${against(setup, row.plan_setup_s)}</small>`}`)}
    ${cell("made", b.made)}
    ${cell("piece", html`${b.piece_s === null ? say("none") : timeText(b.piece_s)} <small>${against(b.piece_s, row.plan_piece_s)}</small>`)}
    ${cell("wait", html`${b.wait_s === null ? say("none") : seconds(b.wait_s)} ${b.wait_s !== null && b.wait_s - b.worked_s > 60 && html`<small>${say("pace.open", seconds(b.worked_s))}</small>`}`)}
    ${cell("visits", html`${why && html`<span data-test="pace-why">${[...new Set(b.why)].map((w) => say("pace.why." + w)).join(", ")}</span> `}
      ${b.visits.map((v, i) => html`<a key=${v} class="visit-link" data-test="pace-visit" href=${visitLink(b, v)}>${say("pace.visit", b.machines[i])}</a> `)}`)}</tr>`;
}

export function BatchTable({list, row, why, test}) {
  const all = useSignal(false);
  if (list.length === 0) return html`<p class="empty">${say("pace.no-batches")}</p>`;
  return html`<table class="behind stack"><thead><tr>${heads.map((h) => html`<th key=${h} class=${"b-" + h} scope="col">${say(h === "visits" && why ? "pace.batch.why" : "pace.batch." + h)}</th>`)}</tr></thead>
    <tbody>${(all.value ? list : list.slice(0, most)).map((b) => html`<${Row} key=${b.card} b=${b} row=${row} why=${why} test=${test} />`)}</tbody></table>
    ${!all.value && list.length > most && html`<p class="deeds"><button data-test="pace-more" onClick=${() => { all.value = true; }}>${count("pace.more-batches", list.length - most)}</button></p>`}`;
}

export const csvHead = ["card", "works_order", "ended", "machines", "setup_s", "setups", "made", "run_s", "piece_s", "wait_s", "worked_s", "left_out", "why", "visits"];
export const csvRow = (b) => [b.card, b.works_order || "", b.ended, b.machines.join(" "), b.setup_s, b.setups, b.made, b.run_s, b.piece_s, b.wait_s, b.worked_s, b.left_out, b.why.join(" "), b.visits.join(" ")];
