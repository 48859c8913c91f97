// What runs now, and where it stands against its plan.
import {html, useComputed} from "/static/vendor/ui.js";
import {say} from "/static/words.js";
import {tick} from "/static/clock.js";
import {moment, span} from "/static/times.js";
import {machineName, reasonText} from "/static/shop.js";
import {BatchLink, Gone, Hint, Mark} from "/static/marks.js";
import {Scale} from "/static/scale.js";
import {nowFirst, standing, timeText} from "/static/pace-rows.js";

// Against is planned and actual so far: of the set-up, or of the pieces that
// were counted, up to their last count.
function Against({row, s}) {
  if (!(s.plan > 0)) return html`<span class="soft">${row.plan_piece_s > 0 ? say("pace.uncounted") : say("pace.no-plan")}</span>`;
  const label = say(row.state === "setting" ? "scale.so-far" : "pace.at-count", timeText(s.plan), timeText(s.actual));
  return html`<div class="told-time" data-test="now-against"><${Scale} planned=${s.plan} actual=${s.actual} label=${label} /><small>${label}</small></div>`;
}

// End is when it ends by plan, or by how much it is past that.
function End({row, s}) {
  if (s.all && s.past > 0) return html`<span data-test="now-past"><${Mark} kind="late">${say("pace.all-made")}<//></span>`;
  return html`${s.past > 0 && html`<span data-test="now-past"><${Mark} kind="late">${say("past", span(s.past))}<//></span> `}
    ${row.ends ? html`<time datetime=${row.ends} data-test="now-ends">${say("pace.by-plan", moment(row.ends))}</time>` : s.past === 0 && html`<span class="soft">${say("none")}</span>`}`;
}

function NowRow({row}) {
  const minute = useComputed(() => Math.floor(tick.value / 30000) * 30000);
  const s = standing(row, minute.value);
  const cell = (name, content) => html`<td class=${"p-" + name} data-label=${say("pace.now." + name)}>${content}</td>`;
  return html`<tr data-test="pace-now" data-card=${row.card} data-machine=${row.machine} data-state=${row.state} data-past=${s.past > 0 ? 1 : 0}>
    ${cell("machine", html`<b>${row.machine}</b> <small>${machineName(row.machine)}</small>`)}
    ${cell("batch", html`<${BatchLink} row=${row} /> <small>${row.part}${row.part_name ? " " + row.part_name : ""}, ${say("operation.of", row.operation)}</small>`)}
    ${cell("state", html`${row.state === "stopped" ? html`<${Mark} kind="stop">${say("state.stopped")}<//> ${reasonText(row.reason, "stop") || say("stop.unsaid")}` : say("state." + row.state)}
      <small>${say("since")} <${Gone} since=${row.since} /></small>${row.inferred && html` <${Hint}>${say("inferred.start")}<//>`}${row.late && html` <${Mark} kind="late">${say("late")}<//>`}`)}
    ${cell("made", html`<span data-test="now-made">${say("pace.made", row.made, row.of)}</span>`)}
    ${cell("against", html`<${Against} row=${row} s=${s} />`)}
    ${cell("ends", html`<${End} row=${row} s=${s} />`)}</tr>`;
}

const heads = ["machine", "batch", "state", "made", "against", "ends"];

export function NowTable({list}) {
  const minute = useComputed(() => Math.floor(tick.value / 30000) * 30000);
  if (list.length === 0) return html`<p class="empty">${say("pace.nothing-runs")}</p>`;
  return html`<table class="now-runs stack"><thead><tr>${heads.map((h) => html`<th key=${h} class=${"p-" + h} scope="col">${say("pace.now." + h)}</th>`)}</tr></thead>
    <tbody>${[...list].sort(nowFirst(minute.value)).map((r) => html`<${NowRow} key=${r.key} row=${r} />`)}</tbody></table>`;
}

export const nowHead = ["machine", "card", "works_order", "part", "route_rev", "operation", "state", "since", "made", "of", "plan_setup_s", "plan_piece_s", "setup_s", "run_s", "at", "ends"];
export const nowCells = (r) => nowHead.map((k) => r[k] ?? "");
