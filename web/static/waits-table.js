// The batches that wait before one work centre.
import {html, useComputed} from "/static/vendor/ui.js";
import {say} from "/static/words.js";
import {tick} from "/static/clock.js";
import {span} from "/static/times.js";
import {worked} from "/static/hours.js";
import {reasonText} from "/static/shop.js";
import {At, BatchLink, Due, Gone, Hint, Mark, Part} from "/static/marks.js";

const heads = ["batch", "part", "operation", "pieces", "waiting", "due", "why"];

// Why says what a batch waits for, as far as someone said so.
function Why({row}) {
  const reason = reasonText(row.reason, "wait", "stop", "review", "rework");
  if (row.state === "held") return html`<${Mark} kind="held">${say("state.held")}<//> ${reason}`;
  if (row.state === "review") return html`<${Mark} kind="ask">${say("state.review")}<//> ${reason}`;
  if (row.state === "rework") return html`<${Hint}>${say("state.rework")}<//> ${reason}`;
  return html`${reason && html`<span class="reason">${reason}</span>`}`;
}

// Worked is how much of a wait lay in the work centre's working time.
function Worked({row}) {
  const ms = useComputed(() => worked(row.work_centre, Date.parse(row.since), tick.value));
  return ms.value === null ? null : html`<small data-test="worked">${say("worked", span(ms.value))}</small>`;
}

function WaitRow({row, today}) {
  const cell = (name, content) => html`<td class=${name} data-label=${say("head." + name)}>${content}</td>`;
  return html`<tr data-test="wait-row" data-card=${row.card} data-operation=${row.operation} data-state=${row.state}>
    ${cell("batch", html`<${BatchLink} row=${row} />`)}
    ${cell("part", html`<${Part} row=${row} />`)}
    ${cell("operation", row.operation)}
    ${cell("pieces", row.pieces)}
    ${cell("waiting", html`<b data-test="waited"><${Gone} since=${row.since} /></b> <${Worked} row=${row} /> <small>${say("since")} <${At} t=${row.since} />${row.arrived && row.machine ? " " + say("at.machine", row.machine) : ""}</small>`)}
    ${cell("due", html`<${Due} due=${row.due} today=${today} late=${row.late} />${row.priority ? html` <${Hint}>${say("priority.is", row.priority)}<//>` : ""}`)}
    ${cell("why", html`<${Why} row=${row} />`)}</tr>`;
}

export function WaitTable({rows, today}) {
  if (rows.length === 0) return html`<div></div>`;
  return html`<table class="waits stack"><thead><tr>${heads.map((h) => html`<th class=${h} scope="col">${say("head." + h)}</th>`)}</tr></thead>
    <tbody>${rows.map((r) => html`<${WaitRow} key=${r.key} row=${r} today=${today} />`)}</tbody></table>`;
}
