// The head of a batch: what it is, how many pieces became what, where it is.
import {html, useComputed} from "/static/vendor/ui.js";
import {say, count, known} from "/static/words.js";
import {tick} from "/static/clock.js";
import {about} from "/static/board.js";
import {dayOf} from "/static/times.js";
import {machineName, reasonText} from "/static/shop.js";
import {At, Due, Gone, Mark} from "/static/marks.js";

const figures = ["started", "wanted", "good", "scrap", "rework_open", "review", "missing", "to_do", "delivered"];

// whereIs says in words where a batch is.
function Where({b}) {
  const open = b.visits.filter((v) => v.state !== "finished");
  if (b.joined_to) return html`${say("where.joined")} <a href=${"/batch/" + b.joined_to}>${b.joined_to}</a>`;
  if (open.length) {
    return open.map((v, i) => html`<span key=${v.visit}>${i ? "; " : ""}${say("where.at", v.machine, v.operation, say("state." + v.state))}
      ${machineName(v.machine) && html` <small>${machineName(v.machine)}</small>`}</span>`);
  }
  const op = b.operations.find((o) => o.operation === b.next_operation);
  if (op && !["done", "cancelled"].includes(b.state)) return say("where.before", op.work_centre, op.operation);
  return say("where.none");
}

function State({b}) {
  const reason = reasonText(b.reason, "wait", "stop", "review");
  const word = say("state." + b.state);
  if (b.state === "held") return html`<${Mark} kind="held">${word}<//> ${reason}`;
  if (b.state === "stopped") return html`<${Mark} kind="stop">${word}<//> ${reason}`;
  return html`<b>${word}</b> ${reason}`;
}

const Fact = ({name, children}) => html`<div><dt>${say("fact." + name)}</dt><dd data-test=${"fact-" + name}>${children}</dd></div>`;

export function BatchHead({b}) {
  const today = useComputed(() => (about.value && about.value.today) || dayOf(tick.value));
  const over = ["done", "cancelled"].includes(b.state);
  const kin = (b.family || []).filter((c) => c !== b.card);
  return html`<section class="head"><h1>${say("batch.title", b.works_order || b.card)} <span class="soft">${b.part}${b.part_name ? " – " + b.part_name : ""}</span></h1>
    <p class="now"><span data-test="batch-state" data-state=${b.state}><${State} b=${b} /></span> <span data-test="batch-where"><${Where} b=${b} /></span></p>
    <dl class="figures">${figures.map((f) => html`<div key=${f} class=${["scrap", "rework_open", "review", "missing"].includes(f) && b[f] ? "not-zero" : b[f] ? "" : "zero"}><dt>${say(f === "good" ? "figure.good.end" : "figure." + f)}</dt><dd data-test=${"figure-" + f}>${b[f] ?? 0}</dd></div>`)}</dl>
    <dl class="facts">
      <${Fact} name="card">${b.card}<//>
      <${Fact} name="due"><${Due} due=${b.due} today=${today.value} late=${!over && b.due && b.due < today.value} /><//>
      <${Fact} name="revs">${say("revs", b.drawing_rev || say("none"), b.route_rev)}<//>
      ${b.customer && html`<${Fact} name="customer">${[b.customer, b.order_line].filter(Boolean).join(", ")}<//>`}
      ${b.material_lots && b.material_lots.length > 0 && html`<${Fact} name="lots">${b.material_lots.join(", ")}<//>`}
      ${b.priority !== 0 && html`<${Fact} name="priority">${b.priority}<//>`}
      <${Fact} name="released"><${At} t=${b.released} />${!over && html` (<${Gone} since=${b.released} />)`}<//>
      <${Fact} name="walk">${count("walk", b.trips, Math.round(b.walk_m), known("walk." + b.walk_kind, b.walk_kind))}<//>
      ${b.parent && html`<${Fact} name="parent"><a href=${"/batch/" + b.parent}>${b.parent}</a><//>`}
      ${b.split_off > 0 && html`<${Fact} name="split_off">${count("pieces", b.split_off)}<//>`}
      ${b.joined > 0 && html`<${Fact} name="joined">${count("pieces", b.joined)}<//>`}
      ${kin.length > 0 && html`<${Fact} name="family">${kin.map((c, i) => html`${i ? ", " : ""}<a key=${c} data-test="family-link" href=${"/batch/" + c}>${c}</a>`)}<//>`}
    </dl></section>`;
}
