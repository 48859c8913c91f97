// Trace: from a lot, an order, a customer or a card to the batches, their families, and
// where their pieces went.
import { html, useSignal } from "../../lib/vendor/ui.js";
import { now } from "../../lib/clock.js";
import { CsvButton } from "../../lib/csv.js";
import { choose, chosen } from "../../lib/filters.js";
import { Answered, useAnswer } from "../../lib/form.js";
import { BatchLink, Hint, Mark } from "../../lib/marks.js";
import { number } from "../../lib/numbers.js";
import { me, start } from "../../lib/shell.js";
import { dateText, dayOf, full } from "../../lib/times.js";
import { count, say, stateWord } from "../../lib/words.js";
import { Measurements } from "./measurements.js";

// What became of all pieces that were traced, and where they were delivered to.

const kinds = ["started", "good", "delivered", "stock", "floor", "scrap", "review", "missing", "concession"];

// Sums are the pieces of all families, and the lots and customers they belong to.
function Sums({ families, q }) {
  const all = families.flatMap((f) => f.batches),
    lots = [...new Set(all.flatMap((b) => b.material_lots))].sort(),
    customers = [...new Set(all.map((b) => b.customer).filter(Boolean))].sort();
  const link = (x) =>
    x.toLowerCase() === q.toLowerCase()
      ? html`<b>${x}</b>`
      : html`<a href=${"/trace?q=" + encodeURIComponent(x)}>${x}</a>`;
  const sum = (k) => families.reduce((n, f) => n + f.pieces[k], 0);
  return html`
    <dl class="figures" data-test="trace-sums">
      ${kinds
        .filter((k) => k === "started" || k === "good" || sum(k) > 0)
        .map(
          (k) =>
            html`<div key=${k} data-test=${"sum-" + k}>
              <dt>${say("trace." + k)}</dt>
              <dd>${number(sum(k))}</dd>
            </div>`,
        )}
    </dl>
    <p class="wrapped">
      ${say("fact.lots")}:${" "}
      ${lots.length ? lots.map((x, i) => html`${i ? ", " : ""}${link(x)}`) : say("trace.no-lot")}
    </p>
    <p class="wrapped">
      ${say("trace.customers")}:${" "}
      ${customers.length ? customers.map((x, i) => html`${i ? ", " : ""}${link(x)}`) : say("none")}
    </p>
  `;
}

// deliveriesOf are all of them, the newest first.
const deliveriesOf = (list) =>
  list
    .flatMap((b) => b.deliveries.map((d) => ({ ...d, b })))
    .sort((x, y) => Date.parse(y.at) - Date.parse(x.at));

// Deliveries says who has pieces: what a recall needs.
function Deliveries({ list }) {
  const all = deliveriesOf(list),
    cell = (k, v, cls) => html`<td class=${cls} data-label=${say(k)}>${v}</td>`;
  if (all.length === 0) return html`<p data-test="no-deliveries">${say("trace.no-deliveries")}</p>`;
  return html`<section data-test="deliveries">
    <h2>${count("trace.deliveries", all.length)}</h2>
    <table class="stack">
      <thead>
        <tr>
          ${["head.at", "trace.note", "head.customer", "head.part", "head.pieces", "head.batch"].map(
            (k) => html`<th key=${k} class=${k === "head.pieces" ? "n" : ""}>${say(k)}</th>`,
          )}
        </tr>
      </thead>
      <tbody>
        ${all.map(
          (d, i) =>
            html`<tr key=${i} data-test="delivery">
              ${cell("head.at", full(d.at))}
              ${cell(
                "trace.note",
                d.note
                  ? html`<a href=${"/trace?q=" + encodeURIComponent(d.note)}>${d.note}</a>`
                  : say("none"),
              )}
              ${cell("head.customer", d.b.customer || say("none"))}
              ${cell("head.part", d.b.part)}
              ${cell("head.pieces", number(d.pieces), "n")}
              ${cell("head.batch", html`<${BatchLink} row=${d.b} />`)}
            </tr>`,
        )}
      </tbody>
    </table>
  </section>`;
}

// What was traced as tables: batches, and what happened at each operation.

const head = [
  "card",
  "root",
  "parent",
  "joined_to",
  "works_order",
  "order_line",
  "customer",
  "part",
  "drawing_rev",
  "route_rev",
  "state",
  "released",
  "ended",
  "started",
  "good",
  "scrap",
  "concession",
  "review",
  "missing",
  "stock",
];

const delivered = (b) => b.deliveries.reduce((n, d) => n + d.pieces, 0);

function TraceCsv({ list }) {
  const batches = () =>
    list.map((b) => [
      ...head.map((k) => b[k]),
      b.material_lots.join("; "),
      delivered(b),
      b.concessions.map((c) => c.reference).join("; "),
    ]);
  const operations = () =>
    list.flatMap((b) =>
      b.operations.map((o) => [
        b.card,
        b.works_order,
        b.part,
        o.operation,
        o.work_centre,
        o.machines.join("; "),
        o.outside,
        o.good,
        o.concession,
      ]),
    );
  const out = () =>
    deliveriesOf(list).map((d) => [
      d.at,
      d.note,
      d.b.customer,
      d.b.part,
      d.pieces,
      d.b.card,
      d.b.works_order,
      d.b.material_lots.join("; "),
    ]);
  return html`<div class="deeds csv-row">
    <span>${say("trace.csv")}</span>
    <${CsvButton}
      text=${say("nav.batches")}
      name="trace-batches"
      head=${[...head, "material_lots", "delivered", "concession_references"]}
      rows=${batches}
    />
    <${CsvButton}
      text=${say("batch.operations")}
      name="trace-operations"
      head=${[
        "card",
        "works_order",
        "part",
        "operation",
        "work_centre",
        "machines",
        "outside",
        "good",
        "concession",
      ]}
      rows=${operations}
    />
    <${CsvButton}
      text=${say("trace.delivered")}
      name="trace-deliveries"
      head=${["at", "note", "customer", "part", "pieces", "card", "works_order", "material_lots"]}
      rows=${out}
    />
  </div>`;
}

// Families out of a list of batches: who was split from whom, and what became of
// the pieces.

// familiesOf orders batches by family, a parent before its children; the
// families keep the order in which they came, the newest first.
function familiesOf(list) {
  const by = new Map();
  for (const b of list) by.set(b.root, [...(by.get(b.root) || []), b]);
  return [...by].map(([root, members]) => ({ root, batches: ordered(members), pieces: pieces(members) }));
}

function ordered(members) {
  const cards = new Set(members.map((b) => b.card)),
    out = [];
  const put = (b, depth) => {
    out.push({ ...b, depth });
    members
      .filter((c) => c.parent === b.card)
      .sort((a, c) => Date.parse(a.released) - Date.parse(c.released))
      .forEach((c) => put(c, depth + 1));
  };
  members.filter((b) => !cards.has(b.parent)).forEach((b) => put(b, 0));
  return out;
}

const total = (list, f) => list.reduce((n, b) => n + f(b), 0);
const left = (b) => total(b.deliveries, (d) => d.pieces);
const isOpen = (b) => b.state !== "done" && b.state !== "cancelled";

// pieces is where those of some batches are. What was started is that of the
// batches that were not split from another of them.
function pieces(list) {
  const cards = new Set(list.map((b) => b.card));
  const known = {
    started: total(
      list.filter((b) => !cards.has(b.parent)),
      (b) => b.started,
    ),
    good: total(list, (b) => b.good),
    delivered: total(list, left),
    stock: total(list, (b) => b.stock),
    scrap: total(list, (b) => b.scrap),
    review: total(list, (b) => b.review),
    missing: total(list, (b) => b.missing),
    concession: total(list, (b) => b.concession),
  };
  return {
    ...known,
    floor: list.some(isOpen)
      ? Math.max(0, known.started - known.scrap - known.missing - known.delivered - known.stock)
      : 0,
  };
}

// One family: its material on the left, its batches with their operations in the
// middle, indented where they were split off, and what left on the right.

const day = (t) => html`<time datetime=${t} title=${full(t)}>${dateText(dayOf(t))}</time>`;

function Operation({ o }) {
  const where = o.machines.length ? o.machines.join(", ") : o.work_centre;
  return html`<li class=${o.outside ? "op outside" : "op"} data-test="trace-op">
    <b>${o.operation}</b> ${o.outside ? say("trace.outside", where) : where}: ${number(o.good)}
    ${o.concession > 0 && html`, ${count("op.concession", o.concession)}`}
  </li>`;
}

// became is what the pieces were in the end; of those joined to another batch,
// only what was lost before.
function became(b) {
  const good = !b.joined_to && (b.good > 0 || !isOpen(b)) && say("count.good", number(b.good));
  return [
    good,
    b.scrap > 0 && say("count.scrap", number(b.scrap)),
    b.missing > 0 && say("count.missing", number(b.missing)),
  ]
    .filter(Boolean)
    .join(", ");
}

function Batch({ b, q, operations }) {
  const joined = b.joined_to && Math.max(0, b.started - b.scrap - b.missing);
  const mine = [b.card, b.works_order].some((x) => x && x.toLowerCase() === q.toLowerCase());
  return html`<div
    class=${`traced depth-${Math.min(4, b.depth)}${mine ? " asked-for" : ""}`}
    data-test="traced"
    data-card=${b.card}>
    ${b.parent &&
    b.depth > 0 &&
    html`<p class="soft">${say("trace.split", number(b.started), b.parent)} ${day(b.released)}</p>`}
    <p>
      <${BatchLink} row=${b} />${" "}
      <span>
        ${say(
          "trace.what",
          b.part,
          b.part_name || "",
          say("revs", b.drawing_rev || say("none"), b.route_rev),
        )}
      </span>
    </p>
    <p>
      ${b.customer &&
      html`<span>${b.customer}${b.order_line ? ", " + say("trace.line", b.order_line) : ""}. </span>`}
      ${count("trace.started-n", b.started)} ${day(b.released)}; ${became(b)}${" "}
      ${isOpen(b) && html`<${Hint}>${stateWord(b.state)}<//>`}${" "}
      ${b.review > 0 && html`<${Mark} kind="ask">${say("trace.in-review", number(b.review))}<//>`}
    </p>
    ${b.concessions.length > 0 &&
    html`<ul class="conceded" data-test="conceded">
      ${b.concessions.map(
        (c, i) =>
          html`<li key=${i}>
            ${say("trace.conceded", number(c.pieces), c.operation, c.reference, dateText(dayOf(c.at)))}
          </li>`,
      )}
    </ul>`}
    <${Measurements} b=${b} />
    ${operations &&
    b.operations.length > 0 &&
    html`<ol class="op-line" data-test="op-line">
      ${b.operations
        .filter((o) => o.good > 0 || !b.joined_to)
        .map((o) => html`<${Operation} key=${o.operation} o=${o} />`)}
    </ol>`}
    ${b.joined_to &&
    html`<p class="soft" data-test="trace-joined">
      ${say("trace.joined", number(joined), b.joined_to)} ${b.ended ? day(b.ended) : ""}
    </p>`}
  </div>`;
}

function Out({ b }) {
  const nothing = b.deliveries.length === 0 && b.stock === 0;
  if (b.joined_to) return null;
  return html`<ul class="out" data-test="out">
    ${b.deliveries.map(
      (d, i) =>
        html`<li key=${i}>
          <b>${number(d.pieces)}</b> ${say("trace.on", dateText(dayOf(d.at)))}${" "}
          ${d.note ? html`<a href=${"/trace?q=" + encodeURIComponent(d.note)}>${d.note}</a>` : ""}
        </li>`,
    )}
    ${b.stock > 0 && html`<li><b>${number(b.stock)}</b> ${say("trace.to-stock")}</li>`}
    ${nothing && html`<li class="soft">${say(isOpen(b) ? "trace.on-floor" : "trace.nothing-left")}</li>`}
  </ul>`;
}

function Family({ f, q, operations }) {
  const lots = [...new Set(f.batches.flatMap((b) => b.material_lots))];
  return html`<div class="family" data-test="family">
    <div class="lots">
      <small>${say("fact.lots")}</small>
      ${lots.length === 0
        ? html`<span class="soft">${say("trace.no-lot")}</span>`
        : lots.map(
            (x) =>
              html`<a
                key=${x}
                class=${x.toLowerCase() === q.toLowerCase() ? "lot asked-for" : "lot"}
                href=${"/trace?q=" + encodeURIComponent(x)}>
                ${x}
              </a>`,
          )}
    </div>
    <div class="members">
      ${f.batches.map(
        (b) =>
          html`<div class="member" key=${b.card}>
            <${Batch} b=${b} q=${q} operations=${operations} />
            <${Out} b=${b} />
          </div>`,
      )}
    </div>
  </div>`;
}

// From material to deliveries and back: every batch of the families that a lot, a
// works order, a customer, a card or a delivery note touches.

const fewFamilies = 12; // of which the operations are shown without being asked for

function Search() {
  const text = useSignal(chosen.value.q || "");
  const go = (e) => {
    e.preventDefault();
    choose({ q: text.value.trim(), operations: "" });
  };
  return html`<form class="tools" onSubmit=${go}>
    <label class="find">
      ${say("trace.find")}
      <input
        type="search"
        data-test="trace-q"
        value=${text.value}
        autofocus
        onInput=${(e) => {
          text.value = e.target.value;
        }}
      />
    </label>
    <button class="act" data-test="trace-go">${say("trace.go")}</button>
  </form>`;
}

function Found({ a }) {
  const families = familiesOf(a.batches),
    { operations } = chosen.value,
    shown = operations ? operations === "1" : families.length <= fewFamilies;
  if (a.found === 0) return html`<p class="empty" data-test="trace-none">${say("trace.none", a.q)}</p>`;
  return html`
    <p class="summary" data-test="trace-found">
      ${say("trace.title-of", a.q)}: ${count("batches.n", a.found)},${" "}
      ${count("trace.families", families.length)}
    </p>
    ${a.found > a.batches.length &&
    html`<p class="notice" data-test="trace-newest">${say("trace.newest", a.found, a.batches.length)}</p>`}
    <p class="soft only-print">${say("trace.printed", full(now()))}</p>
    ${families.length > fewFamilies && html`<p><a class="button" href="#way">${say("trace.way")}</a></p>`}
    <${Sums} families=${families} q=${a.q} />
    <${Deliveries} list=${a.batches} />
    <section data-test="families">
      <div class="top">
        <h2 id="way">${say("trace.way")}</h2>
        <span class="deeds">
          <button
            class="quiet"
            data-test="trace-operations"
            aria-pressed=${shown}
            onClick=${() => choose({ operations: shown ? "0" : "1" })}>
            ${say(shown ? "trace.hide" : "trace.show")}
          </button>
          <button class="quiet" data-test="trace-print" onClick=${() => print()}>
            ${say("trace.print")}
          </button>
        </span>
      </div>
      ${families.map((f) => html`<${Family} key=${f.root} f=${f} q=${a.q} operations=${shown} />`)}
    </section>
    <${TraceCsv} list=${a.batches} />
  `;
}

function Page() {
  const { q = "" } = chosen.value,
    answer = useAnswer(q ? "/api/v1/trace?q=" + encodeURIComponent(q) : null),
    a = answer.value;
  return html`
    <h1>${say("trace.title")}</h1>
    <${Search} key=${q} />
    ${q
      ? html`<${Answered} answer=${answer} />${a && a.q === q && html`<${Found} a=${a} />`}`
      : html`<p class="empty" data-test="trace-empty">${say("trace.empty")}</p>`}
  `;
}

start(() => (me.value ? html`<${Page} />` : null));
