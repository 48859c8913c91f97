// The rows of a wall screen.
import {html, useComputed} from "/static/vendor/ui.js";
import {pastPlan} from "/static/hours.js";
import {tick} from "/static/clock.js";
import {shortSpan} from "/static/times.js";
import {say, count} from "/static/words.js";
import {reasonText} from "/static/shop.js";
import {Gone, Shape} from "/static/marks.js";

function Worst({row}) {
  const kind = row.late ? "late" : row.state === "held" ? "held" : "";
  return html`<span class=${kind ? "worst needs" : "worst"} data-test="wall-worst" data-card=${row.card}>${kind && html`<${Shape} kind=${kind} />`}
    <span class="name">${row.works_order || row.card}</span> <b><${Gone} since=${row.since} short /></b></span>`;
}

// CentreBlock is a work centre: how many wait, and the two worst.
export function CentreBlock({b}) {
  return html`<section class="wall-centre" data-test="wall-centre" data-centre=${b.name} data-waits=${b.n}>
    <span class="wall-name">${b.name}</span><span class=${b.n ? "wall-n" : "wall-n soft"}>${b.n ? count("wall.n", b.n) : say("wall.none")}</span>
    ${b.list.slice(0, 2).map((r) => html`<${Worst} key=${r.key} row=${r} />`)}</section>`;
}

export const PastHead = ({b}) => html`<h2 class="wall-past-head">${count("wall.past", b.n)}</h2>`;

// PastBlock is a machine that runs past its plan, or stands still.
export function PastBlock({b}) {
  const row = b.row;
  const past = useComputed(() => shortSpan(pastPlan(row, tick.value)));
  return html`<p class="wall-past" data-test="wall-past" data-card=${row.card}><span class="name">${row.machine} ${row.works_order || row.card}</span>
    <b>${row.state === "stopped" ? html`${say("state.stopped")} <${Gone} since=${row.since} short /> ${reasonText(row.reason, "stop")}` : html`${say("wall.over")} ${past}`}</b></p>`;
}

export const NoneBlock = () => html`<p class="wall-past soft">${say("wall.no-past")}</p>`;

// MoreBlock counts what has no room.
export const MoreBlock = ({b}) => html`<p class="wall-past" data-test="wall-more">${b.centres > 0 && count("wall.more", b.centres, b.waits)} ${b.others > 0 && count("wall.more-past", b.others)}</p>`;
