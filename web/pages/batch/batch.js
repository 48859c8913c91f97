// The head of a batch: what it is, how many pieces became what, where it is.
import { html, useComputed, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get } from "../../lib/api.js";
import { about, LinkState, openBoard } from "../../lib/board.js";
import { Scale } from "../../lib/charts.js";
import { tick } from "../../lib/clock.js";
import { CsvButton } from "../../lib/csv.js";
import { Dialog } from "../../lib/form.js";
import { At, Due, Gone, Hint, Mark } from "../../lib/marks.js";
import { failed, may, me, start } from "../../lib/shell.js";
import { desk, loadShop, machineName, reasonText, send, shop } from "../../lib/shop.js";
import { dayOf, minutes, span } from "../../lib/times.js";
import { count, known, say, stateWord } from "../../lib/words.js";
import { Asked, CorrectDialog } from "./asked.js";
import { Lines, Visits } from "./visits.js";

const figures = [
  "started",
  "wanted",
  "good",
  "scrap",
  "rework_open",
  "review",
  "missing",
  "to_do",
  "delivered",
];

// whereIs says in words where a batch is.
function Where({ b }) {
  const open = b.visits.filter((v) => v.state !== "finished");
  if (b.joined_to) return html`${say("where.joined")} <a href=${"/batch/" + b.joined_to}>${b.joined_to}</a>`;
  if (open.length) {
    return open.map(
      (v, i) => html`<span key=${v.visit}>
        ${i ? "; " : ""}
        ${say("where.at", v.machine, v.operation, stateWord(v.state))}
        ${machineName(v.machine) && html` <small>${machineName(v.machine)}</small>`}
      </span>`,
    );
  }
  const op = b.operations.find((o) => o.operation === b.next_operation);
  if (op && !["done", "cancelled"].includes(b.state))
    return say("where.before", op.work_centre, op.operation);
  return say("where.none");
}

function State({ b }) {
  const reason = reasonText(b.reason, "wait", "stop", "review");
  const word = stateWord(b.state);
  if (b.state === "held") return html`<${Mark} kind="held">${word}<//> ${reason}`;
  if (b.state === "stopped") return html`<${Mark} kind="stop">${word}<//> ${reason}`;
  return html`<b>${word}</b> ${reason}`;
}

const Fact = ({ name, children }) =>
  html`<div><dt>${say("fact." + name)}</dt><dd data-test=${"fact-" + name}>${children}</dd></div>`;

function BatchHead({ b }) {
  const today = useComputed(() => (about.value && about.value.today) || dayOf(tick.value));
  const over = ["done", "cancelled"].includes(b.state);
  const kin = (b.family || []).filter((c) => c !== b.card);
  return html`<section class="head">
    <h1>
      ${say("batch.title", b.works_order || b.card)}${" "}
      <span class="soft">${b.part}${b.part_name ? " – " + b.part_name : ""}</span>
    </h1>
    <p class="now">
      <span data-test="batch-state" data-state=${b.state}><${State} b=${b} /></span>${" "}
      <span data-test="batch-where"><${Where} b=${b} /></span>
    </p>
    <dl class="figures">
      ${figures.map(
        (f) =>
          html`<div
            key=${f}
            class=${["scrap", "rework_open", "review", "missing"].includes(f) && b[f]
              ? "not-zero"
              : b[f]
                ? ""
                : "zero"}>
            <dt>${say(f === "good" ? "figure.good.end" : "figure." + f)}</dt>
            <dd data-test=${"figure-" + f}>${b[f] ?? 0}</dd>
          </div>`,
      )}
    </dl>
    <dl class="facts">
      <${Fact} name="card">${b.card}<//>
      <${Fact} name="due">
        <${Due} due=${b.due} today=${today.value} late=${!over && b.due && b.due < today.value} />
      <//>
      <${Fact} name="revs">${say("revs", b.drawing_rev || say("none"), b.route_rev)}<//>
      ${b.customer &&
      html`<${Fact} name="customer">${[b.customer, b.order_line].filter(Boolean).join(", ")}<//>`}
      ${b.material_lots &&
      b.material_lots.length > 0 &&
      html`<${Fact} name="lots">${b.material_lots.join(", ")}<//>`}
      ${b.priority !== 0 && html`<${Fact} name="priority">${b.priority}<//>`}
      <${Fact} name="released">
        <${At} t=${b.released} />
        ${!over && html` (<${Gone} since=${b.released} />)`}
      <//>
      <${Fact} name="walk">
        ${count("walk", b.trips, Math.round(b.walk_m), known("walk." + b.walk_kind, b.walk_kind))}
      <//>
      ${b.parent && html`<${Fact} name="parent"><a href=${"/batch/" + b.parent}>${b.parent}</a><//>`}
      ${b.split_off > 0 && html`<${Fact} name="split_off">${count("pieces", b.split_off)}<//>`}
      ${b.joined > 0 && html`<${Fact} name="joined">${count("pieces", b.joined)}<//>`}
      ${kin.length > 0 &&
      html`<${Fact} name="family">
        ${kin.map(
          (c, i) => html`${i ? ", " : ""}<a key=${c} data-test="family-link" href=${"/batch/" + c}>${c}</a>`,
        )}
      <//>`}
    </dl>
  </section>`;
}

// Actual set-up and pace of one batch's operation, from its visits.
//
// A piece's time is first-pass run time through pieces made, without set-up
// pieces and rework. Visits whose end was inferred, or that still run, say
// nothing about pace and are left out; their number is told.
function actuals(batch, operation) {
  let setup = 0,
    run = 0,
    made = 0,
    leftOut = 0,
    seen = 0;
  for (const v of batch.visits) {
    if (v.operation !== operation || v.rework_for) continue;
    seen++;
    setup += v.setup_s;
    const pieces = v.good + v.scrap + v.rework + v.review - v.setup_pieces;
    const told = v.state === "finished" && !v.inferred.includes("finish") && !v.inferred.includes("count");
    if (!told || v.run_s <= 0 || pieces <= 0) {
      if (v.run_s > 0) leftOut++;
      continue;
    }
    run += v.run_s;
    made += pieces;
  }
  return { seen, setupMin: setup / 60, pieceMin: made > 0 ? run / 60 / made : null, made, leftOut };
}

// planned is the planned minutes of a piece; the route says how many pieces one
// cycle makes.
function plannedPiece(operation, route) {
  const o = route && route.operations.find((x) => x.operation === operation.operation);
  return operation.cycle_min / Math.max(1, (o && o.pieces_per_cycle) || 1);
}

// The operations of a batch: the plan, what became of the pieces, and planned
// against actual.

const columns = ["in", "good", "scrap", "rework_open", "review", "missing", "to_do"];
const worry = ["scrap", "rework_open", "review", "missing"];

// Against is planned and actual on one scale; text says both.
function Against({ what, planned, actual, text }) {
  if (actual === null || actual === undefined)
    return html`<p class="against">${say(what)} <small>${say("scale.planned", text(planned))}</small></p>`;
  const label = say("scale.was", text(planned), text(actual));
  return html`<div class="against" data-test=${"scale-" + what}>
    <span>${say(what)}</span>
    <${Scale} planned=${planned} actual=${actual} label=${label} />
    <small>${label}</small>
  </div>`;
}

function Planned({ b, o, route }) {
  const a = actuals(b, o.operation);
  return html`
    <${Against}
      what="setup"
      planned=${o.setup_min}
      actual=${a.seen && a.setupMin > 0 ? a.setupMin : null}
      text=${(m) => span(m * 60000)}
    />
    <${Against} what="piece" planned=${plannedPiece(o, route)} actual=${a.pieceMin} text=${minutes} />
    <small class="soft">
      ${a.pieceMin !== null ? count("one-batch", a.made) : ""}${" "}
      ${a.leftOut > 0 ? count("left-out", a.leftOut) : ""}
    </small>
  `;
}

function Row({ b, o, route, here }) {
  return html`<tr data-test="operation-row" data-operation=${o.operation} class=${here ? "here" : ""}>
    <th scope="row" data-label=${say("head.operation")}>
      ${o.operation}
      ${here && html` <${Hint}>${say("next")}<//>`}
    </th>
    <td data-label=${say("head.work")} class="work-what">
      <b>${o.work_centre}</b> ${o.instruction} ${o.first_off && html`<${Hint}>${say("part.firstoff")}<//>`}${" "}
      ${o.added_on_floor && html`<${Hint}>${say("added")}<//>`}${" "}
      ${o.closed && html`<${Hint}>${say("closed")}<//>`}
    </td>
    ${columns.map(
      (c) =>
        html`<td
          key=${c}
          class=${worry.includes(c) && o[c] ? "n not-zero" : o[c] ? "n" : "n zero"}
          data-label=${say("figure." + c)}
          data-test=${"op-" + c}>
          ${o[c]}
        </td>`,
    )}
    <td class="plan" data-label=${say("head.plan")}>
      <${Planned} b=${b} o=${o} route=${route} />
      ${o.over > 0 && html`<${Mark} kind="ask">${count("op.over", o.over)}<//>`}${" "}
      ${o.assumed > 0 && html`<${Hint}>${count("op.assumed", o.assumed)}<//>`}${" "}
      ${o.concession > 0 && html`<${Hint}>${count("op.concession", o.concession)}<//>`}
    </td>
  </tr>`;
}

function Operations({ b }) {
  const route = shop.value && shop.value.parts.find((p) => p.part === b.part && p.route_rev === b.route_rev);
  const head = [
    "operation",
    "work_centre",
    "instruction",
    "setup_min",
    "cycle_min",
    ...columns,
    "actual_setup_min",
    "actual_min_per_piece",
  ];
  const rows = () =>
    b.operations.map((o) => {
      const a = actuals(b, o.operation);
      return [
        o.operation,
        o.work_centre,
        o.instruction,
        o.setup_min,
        o.cycle_min,
        ...columns.map((c) => o[c]),
        a.seen ? a.setupMin : null,
        a.pieceMin,
      ];
    });
  return html`<section>
    <div class="top">
      <h2>${say("batch.operations")}</h2>
      <${CsvButton} name=${b.card + "-operations"} head=${head} rows=${rows} />
    </div>
    <table class="operations stack">
      <thead>
        <tr>
          <th scope="col">${say("head.operation")}</th>
          <th scope="col">${say("head.work")}</th>
          ${columns.map((c) => html`<th key=${c} class="n" scope="col">${say("figure." + c)}</th>`)}
          <th scope="col">${say("head.plan")}</th>
        </tr>
      </thead>
      <tbody>
        ${b.operations.map(
          (o) =>
            html`<${Row}
              key=${o.operation}
              b=${b}
              o=${o}
              route=${route}
              here=${o.operation === b.next_operation}
            />`,
        )}
      </tbody>
    </table>
  </section>`;
}

// What can be done about a batch at a desk: print its card, hold and free it,
// cancel it.

function HoldDialog({ b, after, close }) {
  const reason = useSignal("");
  const go = async (bad) => {
    if (
      await send(desk("hold", b.card, { reason: reason.value.trim() }), {
        done: say("held.done"),
        after,
        bad,
      })
    )
      close();
  };
  return html`<${Dialog}
    title=${say("hold.title", b.works_order || b.card)}
    act=${say("hold")}
    go=${go}
    close=${close}>
    <label>
      ${say("hold.reason")}
      <input
        required
        maxlength="120"
        data-test="hold-reason"
        value=${reason.value}
        onInput=${(e) => {
          reason.value = e.target.value;
        }}
      />
    </label>
  <//>`;
}

function CancelDialog({ b, after, close }) {
  const reason = useSignal(""),
    stock = useSignal(Math.max(0, b.good - b.delivered));
  const go = async (bad) => {
    const scan = desk("cancel", b.card, { reason: reason.value.trim(), good: Number(stock.value) || 0 });
    if (await send(scan, { done: say("cancelled.done"), after, bad })) close();
  };
  return html`<${Dialog}
    title=${say("cancel.title", b.works_order || b.card)}
    act=${say("cancel.do")}
    go=${go}
    close=${close}>
    <p>${say("cancel.what")}</p>
    <label>
      ${say("cancel.reason")}
      <input
        required
        maxlength="120"
        data-test="cancel-reason"
        value=${reason.value}
        onInput=${(e) => {
          reason.value = e.target.value;
        }}
      />
    </label>
    <label>
      ${say("cancel.stock")}
      <input
        type="number"
        min="0"
        max="10000000"
        step="1"
        required
        data-test="cancel-stock"
        value=${stock.value}
        onInput=${(e) => {
          stock.value = e.target.value;
        }}
      />
    </label>
  <//>`;
}

function Deeds({ b, after }) {
  const shown = useSignal("");
  const close = () => {
    shown.value = "";
  };
  const over = ["done", "cancelled"].includes(b.state);
  const free = () => send(desk("free", b.card), { done: say("freed.done"), after });
  const card = (paper) =>
    html`<a
      class="button"
      data-test=${"card-" + paper}
      href=${`/api/v1/batches/${encodeURIComponent(b.card)}/card.pdf?paper=${paper}`}>
      ${say("card.print", paper)}
    </a>`;
  return html`
    <p class="deeds">
      ${card("A5")}
      ${card("A4")}
      ${may("verdict") &&
      b.state === "held" &&
      html`<button class="act" data-test="free" onClick=${free}>${say("free")}</button>`}
      ${may("verdict") &&
      b.state !== "held" &&
      !over &&
      html`<button
        data-test="hold"
        onClick=${() => {
          shown.value = "hold";
        }}>
        ${say("hold.ask")}
      </button>`}
      ${may("settle") &&
      !over &&
      html`<button
        data-test="cancel"
        onClick=${() => {
          shown.value = "cancel";
        }}>
        ${say("cancel.ask")}
      </button>`}
    </p>
    ${shown.value === "hold" && html`<${HoldDialog} b=${b} after=${after} close=${close} />`}
    ${shown.value === "cancel" && html`<${CancelDialog} b=${b} after=${after} close=${close} />`}
  `;
}

// The whole story of one batch, kept in step while the page is open.

const code = decodeURIComponent(location.pathname.slice("/batch/".length));

function Questions({ batch, after }) {
  if (batch.questions.length === 0) return null;
  const open = batch.questions.filter((q) => !q.settled),
    settled = batch.questions.filter((q) => q.settled);
  return html`<section data-test="batch-questions">
    <h2>${say("batch.questions")}</h2>
    ${[...open, ...settled].map((q) => html`<${Asked} key=${q.question} q=${q} after=${after} />`)}
  </section>`;
}

// Story is the page once the batch is known.
function Story({ story, after }) {
  const correcting = useSignal(null);
  const b = story.batch;
  const visitLines = new Set(b.visits.map((v) => v.visit));
  const rest = story.lines.filter((l) => !visitLines.has(l.visit));
  const deeds = {
    settle: may("settle"),
    after,
    correct: (line) => {
      correcting.value = line;
    },
  };
  return html`
    <${BatchHead} b=${b} />
    <${Deeds} b=${b} after=${after} />
    <${Questions} batch=${b} after=${after} />
    <${Operations} b=${b} />
    <${Visits} b=${b} lines=${story.lines} deeds=${deeds} />
    <section>
      <h2>${say("batch.other")}</h2>
      <p class="soft">${say("batch.other.why")}</p>
      <${Lines} lines=${rest} deeds=${deeds} />
    </section>
    ${correcting.value &&
    html`<${CorrectDialog}
      line=${correcting.value}
      b=${b}
      after=${after}
      close=${() => {
        correcting.value = null;
      }}
    />`}
  `;
}

function BatchPage() {
  const story = useSignal(null),
    problem = useSignal("");
  useEffect(() => {
    let soon,
      last = 0;
    const load = async () => {
      const mine = ++last;
      try {
        const s = await get(`/api/v1/batches/${encodeURIComponent(code)}/story`);
        if (mine !== last) return;
        story.value = s;
        problem.value = "";
        document.title = say("title", s.batch.works_order || s.batch.card);
      } catch (err) {
        if (!story.value) problem.value = err.message;
      }
    };
    reload = () => {
      clearTimeout(soon);
      soon = setTimeout(load, 50);
    };
    const later = () => {
      clearTimeout(soon);
      soon = setTimeout(load, 400);
    };
    const ours = (r) =>
      story.value && (r.card === story.value.batch.card || (story.value.batch.family || []).includes(r.card));
    Promise.all([loadShop(), load()]).catch(failed);
    openBoard({
      onChange: (set, gone) => {
        if ([...set, ...gone].some(ours)) later();
      },
      onReopen: later,
    });
  }, []);
  if (problem.value)
    return html`<h1>${say("batch.title", code)}</h1><p class="empty" data-test="failed">${problem.value}</p>`;
  if (!story.value) return html`<p class="soft">${say("loading")}</p>`;
  return html`<${LinkState} minutes /><${Story} story=${story.value} after=${() => reload()} />`;
}

let reload = () => {};

start(() => (me.value ? html`<${BatchPage} />` : null));
