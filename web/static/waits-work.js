// What is being worked on at the machines of one work centre, and how that
// stands against its plan.
import {html, useComputed} from "/static/vendor/ui.js";
import {atWork, pastPlan} from "/static/hours.js";
import {say} from "/static/words.js";
import {tick} from "/static/clock.js";
import {span} from "/static/times.js";
import {reasonText} from "/static/shop.js";
import {BatchLink, Gone, Hint, Mark} from "/static/marks.js";
import {Scale} from "/static/scale.js";

// Against shows planned and actual of what goes on, moving on its own.
function Against({row}) {
  const minute = useComputed(() => Math.floor(tick.value / 60000) * 60000);
  if (!row.planned_s) return null;
  const actual = Math.floor(atWork(row, minute.value) / 60000) * 60, past = pastPlan(row, minute.value);
  const label = say("scale.so-far", span(row.planned_s * 1000), span(actual * 1000));
  return html`<div class="against"><${Scale} planned=${row.planned_s} actual=${actual} label=${label} />
    <small>${label}</small> ${past > 0 && html`<span data-test="past-plan"><${Mark} kind="late">${say("past", span(past))}<//></span>`}</div>`;
}

function Work({row}) {
  return html`<li class="work" data-test="work-row" data-card=${row.card} data-machine=${row.machine} data-state=${row.state}>
    <p><span class="state">${say("state." + row.state)}</span> <b><${Gone} since=${row.since} /></b>
      ${row.state === "stopped" && html` <${Mark} kind="stop">${reasonText(row.reason, "stop") || say("stop.unsaid")}<//>`}
      ${row.inferred && html` <${Hint}>${say("inferred.start")}<//>`} ${row.late && html` <${Mark} kind="late">${say("late")}<//>`}</p>
    <p><${BatchLink} row=${row} short /> ${say("operation.of", row.operation)} · <span data-test="work-good">${say("good.of", row.good, row.of)}</span></p>
    <${Against} row=${row} /></li>`;
}

function Machine({m, works, filtered}) {
  if (filtered && works.length === 0) return null;
  return html`<li class="machine" data-test="machine" data-machine=${m.machine}><h3>${m.machine} ${m.name && html`<small>${m.name}</small>`}</h3>
    ${works.length === 0 ? html`<p class="soft">${say("machine.free")}</p>` : html`<ul>${works.map((r) => html`<${Work} key=${r.key} row=${r} />`)}</ul>`}</li>`;
}

export function Machines({c, filtered}) {
  const known = new Set(c.machines.map((m) => m.machine));
  const others = [...new Set(c.works.map((r) => r.machine))].filter((id) => !known.has(id)).map((machine) => ({machine, name: ""}));
  return html`<ul class="machines">${[...c.machines, ...others].map((m) => html`
    <${Machine} key=${m.machine} m=${m} works=${c.works.filter((r) => r.machine === m.machine)} filtered=${filtered} />`)}</ul>`;
}
