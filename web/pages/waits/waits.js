// The waits board: a page to work with, or with ?wall=1 a wall screen.
import { html, useComputed, useSignal } from "../../lib/vendor/ui.js";
import {
  about,
  atWork,
  inOrder,
  LinkState,
  openBoard,
  pastPlan,
  rows,
  totals,
  totalsText,
  worked,
} from "../../lib/board.js";
import { Scale } from "../../lib/charts.js";
import { tick } from "../../lib/clock.js";
import { CsvButton } from "../../lib/csv.js";
import { chosen } from "../../lib/filters.js";
import { At, BatchLink, Due, Gone, Hint, Hot, Mark, Part, Short } from "../../lib/marks.js";
import { isNarrowed, Narrow, narrowed } from "../../lib/narrow.js";
import { OrderButton } from "../../lib/order.js";
import { failed, me, start } from "../../lib/shell.js";
import { loadShop, reasonText } from "../../lib/shop.js";
import { elapsed, span } from "../../lib/times.js";
import { isWall, onReopen, startWall, WallSettings } from "../../lib/wall.js";
import { count, say, stateWord } from "../../lib/words.js";
import { Wall } from "./wall.js";

const heads = ["batch", "part", "operation", "pieces", "waiting", "due", "why"];

// Why says what a batch waits for, as far as someone said so.
function Why({ row }) {
  const reason = reasonText(row.reason, "wait", "stop", "review", "rework");
  if (row.state === "held") return html`<${Mark} kind="held">${say("state.held")}<//> ${reason}`;
  if (row.state === "review") return html`<${Mark} kind="ask">${say("state.review")}<//> ${reason}`;
  if (row.state === "rework") return html`<${Hint}>${say("state.rework")}<//> ${reason}`;
  return html`${reason && html`<span class="reason">${reason}</span>`}`;
}

// Worked is how much of a wait lay in the work centre's working time.
function Worked({ row }) {
  const ms = useComputed(() => worked(row.work_centre, Date.parse(row.since), tick.value));
  return ms.value === null
    ? null
    : html`<small data-test="worked">${say("worked", elapsed(ms.value))}</small>`;
}

function WaitRow({ row, today }) {
  const cell = (name, content) => html`<td class=${name} data-label=${say("head." + name)}>${content}</td>`;
  return html`<tr
    data-test="wait-row"
    data-card=${row.card}
    data-operation=${row.operation}
    data-state=${row.state}>
    ${cell(
      "batch",
      html`${row.hot && html`<${Hot} />`} <${BatchLink} row=${row} /> <${Short} n=${row.short} />`,
    )}
    ${cell("part", html`<${Part} row=${row} />`)}
    ${cell("operation", row.operation)}
    ${cell("pieces", row.pieces)}
    ${cell(
      "waiting",
      html`
        <b data-test="waited"><${Gone} since=${row.since} /></b> <${Worked} row=${row} />${" "}
        <small>
          ${say("since")} <${At} t=${row.since} />
          ${row.arrived && row.machine ? " " + say("at.machine", row.machine) : ""}
        </small>
      `,
    )}
    ${cell(
      "due",
      html`
        <${Due} due=${row.due} today=${today} late=${row.late} />
        ${row.priority ? html` <${Hint}>${say("priority.is", row.priority)}<//>` : ""}
        <${OrderButton} card=${row.card} small />
      `,
    )}
    ${cell("why", html`<${Why} row=${row} />`)}
  </tr>`;
}

function WaitTable({ rows, today }) {
  if (rows.length === 0) return html`<div></div>`;
  return html`<table class="waits stack">
    <thead><tr>${heads.map((h) => html`<th class=${h} scope="col">${say("head." + h)}</th>`)}</tr></thead>
    <tbody>${rows.map((r) => html`<${WaitRow} key=${r.key} row=${r} today=${today} />`)}</tbody>
  </table>`;
}

// What is being worked on at the machines of one work centre, and how that
// stands against its plan.

// Against shows planned and actual of what goes on, moving on its own.
function Against({ row }) {
  const minute = useComputed(() => Math.floor(tick.value / 60000) * 60000);
  if (!row.planned_s) return null;
  const actual = Math.floor(atWork(row, minute.value) / 60000) * 60,
    past = pastPlan(row, minute.value);
  const label = say("scale.so-far", span(row.planned_s * 1000), span(actual * 1000));
  return html`<div class="against">
    <${Scale} planned=${row.planned_s} actual=${actual} label=${label} /><small>${label}</small>${" "}
    ${past > 0 &&
    html`<span data-test="past-plan"><${Mark} kind="late">${say("past", elapsed(past))}<//></span>`}
  </div>`;
}

function Work({ row }) {
  return html`<li
    class="work"
    data-test="work-row"
    data-card=${row.card}
    data-machine=${row.machine}
    data-state=${row.state}>
    <p>
      <span class="state">${stateWord(row.state)}</span> <b><${Gone} since=${row.since} /></b>
      ${row.state === "stopped" &&
      html` <${Mark} kind="stop">${reasonText(row.reason, "stop") || say("stop.unsaid")}<//>`}
      ${row.inferred && html` <${Hint}>${say("inferred.start")}<//>`} ${row.hot && html` <${Hot} />`}${" "}
      ${row.late && html` <${Mark} kind="late">${say("late")}<//>`} <${Short} n=${row.short} />
    </p>
    <p>
      <${BatchLink} row=${row} short /> ${say("operation.of", row.operation)} ·${" "}
      <span data-test="work-good">${say("good.of", row.good, row.of)}</span>
    </p>
    <${Against} row=${row} />
  </li>`;
}

function Machine({ m, works, filtered }) {
  if (filtered && works.length === 0) return null;
  return html`<li class="machine" data-test="machine" data-machine=${m.machine}>
    <h3>${m.machine} ${m.name && html`<small>${m.name}</small>`}</h3>
    ${works.length === 0
      ? html`<p class="soft">${say("machine.free")}</p>`
      : html`<ul>${works.map((r) => html`<${Work} key=${r.key} row=${r} />`)}</ul>`}
  </li>`;
}

function Machines({ c, filtered }) {
  const known = new Set(c.machines.map((m) => m.machine));
  const others = [...new Set(c.works.map((r) => r.machine))]
    .filter((id) => !known.has(id))
    .map((machine) => ({ machine, name: "" }));
  return html`<ul class="machines">
    ${[...c.machines, ...others].map(
      (m) => html`<${Machine}
        key=${m.machine}
        m=${m}
        works=${c.works.filter((r) => r.machine === m.machine)}
        filtered=${filtered}
      />`,
    )}
  </ul>`;
}

// The waits board as a page to work with: per work centre what is being worked
// on and which batches wait, in the order of the rule.

const fields = ["card", "part", "part_name", "works_order", "machine", "work_centre"];

function matches(row, text) {
  const words = text.toLowerCase().split(/\s+/).filter(Boolean);
  const all = fields.map((f) => (row[f] || "").toLowerCase()).join(" ");
  return words.every((w) => all.includes(w));
}

// byCentre groups rows under the shop's work centres; centres that only rows
// name (outside work, say) follow.
function byCentre(centres, list) {
  const out = new Map(centres.map((c) => [c.work_centre, { ...c, waits: [], works: [] }]));
  for (const r of list) {
    if (!out.has(r.work_centre))
      out.set(r.work_centre, { work_centre: r.work_centre, machines: [], waits: [], works: [] });
    out.get(r.work_centre)[r.kind === "wait" ? "waits" : "works"].push(r);
  }
  for (const c of out.values()) c.waits = inOrder(c.waits);
  return [...out.values()];
}

function Centre({ c, today, filtered }) {
  const pieces = c.waits.reduce((n, r) => n + r.pieces, 0);
  return html`<section class="centre" data-test="centre" data-centre=${c.work_centre}>
    <h2>
      ${c.work_centre}${" "}
      <span class="soft">
        ${c.waits.length
          ? count("waits.here", c.waits.length, count("pieces", pieces))
          : say(filtered ? "waits.none-found" : "waits.none")}
      </span>
    </h2>
    <div class="sides">
      <${Machines} c=${c} filtered=${filtered} />
      <${WaitTable} rows=${c.waits} today=${today} />
    </div>
  </section>`;
}

const csvHead = [
  "kind",
  "work_centre",
  "machine",
  "place",
  "card",
  "works_order",
  "part",
  "part_name",
  "operation",
  "state",
  "pieces",
  "good",
  "of",
  "since",
  "due",
  "priority",
  "late",
  "reason",
];

function Summary({ list }) {
  return html`<p class="summary" data-test="summary">${totalsText(totals(list))}</p>`;
}

function WaitsPage() {
  const text = useSignal("");
  const list = useComputed(() => Object.values(rows.value));
  if (!about.value)
    return html`<h1>${say("waits.title")}</h1><${LinkState} /><p class="soft">${say("loading")}</p>`;
  const fits = narrowed(list.value, chosen.value),
    filtered = Boolean(text.value.trim()) || isNarrowed(chosen.value);
  const shown = text.value.trim() ? fits.filter((r) => matches(r, text.value)) : fits;
  let centres = byCentre(about.value.centres || [], shown);
  if (filtered) centres = centres.filter((c) => c.waits.length + c.works.length);
  return html`
    <div class="top"><h1>${say("waits.title")}</h1><${LinkState} /></div>
    <${Summary} list=${list.value} />
    <p class="soft">${say("waits.rule")} ${about.value.calendar ? "" : say("waits.calendar")}</p>
    <div class="tools">
      <label class="find">
        ${say("waits.find")}
        <input
          type="search"
          data-test="filter"
          value=${text.value}
          onInput=${(e) => {
            text.value = e.target.value;
          }}
        />
      </label>
      <${Narrow} list=${list.value} />
      <${WallSettings} />
      ${shown.length > 0 &&
      html`<${CsvButton}
        name="waits"
        head=${csvHead}
        rows=${() => shown.map((r) => csvHead.map((k) => r[k] ?? ""))}
      />`}
    </div>
    ${centres.map(
      (c) => html`<${Centre} key=${c.work_centre} c=${c} today=${about.value.today} filtered=${filtered} />`,
    )}
    ${centres.length === 0 &&
    html`<p class="empty">${say(filtered ? "waits.nothing-found" : "waits.empty")}</p>`}
  `;
}

// The waits board: a page to work with, or with ?wall=1 a wall screen.

if (isWall()) {
  startWall(Wall, "waits");
} else {
  start(WaitsPage).then(() => {
    if (!me.value) return;
    loadShop().catch(failed);
    openBoard({ onReopen });
  });
}
