// One operation against its plan: each batch as a dot over time, and as a line of a
// table.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get } from "../../lib/api.js";
import { CsvButton } from "../../lib/csv.js";
import { At, BatchLink } from "../../lib/marks.js";
import { me, start } from "../../lib/shell.js";
import { full, seconds, span } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";
import { Plot } from "./dots.js";
import { deviationText, Rests, timeText, Times, WaitTimes } from "./rows.js";

/**
 * @typedef {import("../../lib/_types.js").Schema["PaceOperation"]} Answer
 * @typedef {import("../../lib/_types.js").Schema["PaceBatch"]} Batch
 * @typedef {import("./rows.js").Op} Op
 */

// The batches behind an operation of the pace board, each with the way to its
// visits and their scans.

const most = 30; // rows at first

/**
 * visitLink leads to a visit on its batch's page.
 * @param {Batch} b
 * @param {string} visit
 */
const visitLink = (b, visit) => `/batch/${encodeURIComponent(b.card)}#visit-${encodeURIComponent(visit)}`;

/**
 * against says by how much a time differs from its plan.
 * @param {number | null} s
 * @param {number} plan
 */
function against(s, plan) {
  if (!(plan > 0) || s === null || !(s > 0)) return "";
  const d = Math.round((s / plan - 1) * 100);
  return d === 0 ? say("pace.even") : say(d > 0 ? "pace.over" : "pace.under", Math.abs(d));
}

const heads = ["batch", "ended", "machines", "setup", "made", "piece", "wait", "visits"];

/** @param {{b: Batch, row: Op, why?: boolean, test: string}} props */
function Row({ b, row, why, test }) {
  const cell = (/** @type {string} */ name, /** @type {unknown} */ content) =>
    html`<td class=${"b-" + name} data-label=${say("pace.batch." + name)}>${content}</td>`;
  const setup = b.setups ? b.setup_s / b.setups : 0;
  return html`<tr data-test=${test} data-card=${b.card}>
    ${cell("batch", html`<${BatchLink} row=${b} />`)}
    ${cell("ended", b.ended ? html`<${At} t=${b.ended} />` : say("none"))}
    ${cell("machines", [...new Set(b.machines)].join(", "))}
    ${cell(
      "setup",
      html`
        ${setup > 0 ? timeText(setup) : say("none")}${" "}
        ${!why && html`<small>${against(setup, row.plan_setup_s)}</small>`}
      `,
    )}
    ${cell("made", b.made)}
    ${cell(
      "piece",
      html`
        ${b.piece_s === null ? say("none") : timeText(b.piece_s)}${" "}
        <small>${against(b.piece_s, row.plan_piece_s)}</small>
      `,
    )}
    ${cell(
      "wait",
      html`
        ${b.wait_s === null ? say("none") : seconds(b.wait_s)}${" "}
        ${b.wait_s !== null &&
        b.worked_s !== null &&
        b.wait_s - b.worked_s > 60 &&
        html`<small>${say("pace.open", seconds(b.worked_s))}</small>`}
      `,
    )}
    ${cell(
      "visits",
      html`
        ${why &&
        html`
          <span data-test="pace-why">
            ${[...new Set(b.why)].map((w) => say("pace.why." + w)).join(", ")}
          </span> `}
        ${b.visits.map(
          (v, i) =>
            html`
              <a key=${v} class="visit-link" data-test="pace-visit" href=${visitLink(b, v)}>
                ${say("pace.visit", b.machines[i])}
              </a> `,
        )}
      `,
    )}
  </tr>`;
}

/** @param {{list: Batch[], row: Op, why?: boolean, test: string}} props */
function BatchTable({ list, row, why, test }) {
  const all = useSignal(false);
  if (list.length === 0) return html`<p class="empty">${say("pace.no-batches")}</p>`;
  return html`
    <table class="behind stack">
      <thead>
        <tr>
          ${heads.map(
            (h) =>
              html`<th key=${h} class=${"b-" + h} scope="col">
                ${say(h === "visits" && why ? "pace.batch.why" : "pace.batch." + h)}
              </th>`,
          )}
        </tr>
      </thead>
      <tbody>
        ${(all.value ? list : list.slice(0, most)).map(
          (b) => html`<${Row} key=${b.card} b=${b} row=${row} why=${why} test=${test} />`,
        )}
      </tbody>
    </table>
    ${!all.value &&
    list.length > most &&
    html`<p class="deeds">
      <button
        data-test="pace-more"
        onClick=${() => {
          all.value = true;
        }}>
        ${count("pace.more-batches", list.length - most)}
      </button>
    </p>`}
  `;
}

const csvHead = [
  "card",
  "works_order",
  "ended",
  "machines",
  "setup_s",
  "setups",
  "made",
  "run_s",
  "piece_s",
  "wait_s",
  "worked_s",
  "left_out",
  "why",
  "visits",
];
/** @param {Batch} b */
const csvRow = (b) => [
  b.card,
  b.works_order || "",
  b.ended,
  b.machines.join(" "),
  b.setup_s,
  b.setups,
  b.made,
  b.run_s,
  b.piece_s,
  b.wait_s,
  b.worked_s,
  b.left_out,
  b.why.join(" "),
  b.visits.join(" "),
];

// One operation of a route revision: the batches behind its line on the pace
// board, down to their visits.

/** @param {{r: Op}} props */
function Facts({ r }) {
  const fact = (/** @type {string} */ name, /** @type {unknown} */ content) =>
    html`<div><dt>${say("pace.head." + name)}</dt><dd data-test=${"fact-" + name}>${content}</dd></div>`;
  return html`<dl class="op-facts">
    ${fact("setup", html`<${Times} name="setup" planned=${r.plan_setup_s} s=${r.setup} />`)}
    ${fact("piece", html`<${Times} name="piece" planned=${r.plan_piece_s} s=${r.piece} />`)}
    ${fact("wait", html`<${WaitTimes} wait=${r.wait} worked=${r.worked} />`)}
    ${fact(
      "against",
      html`
        <b>${deviationText(r)}</b>
        <small> ${r.plan_s > 0 && say("pace.together", span(r.plan_s * 1000), span(r.actual_s * 1000))}
        </small>
        <small> <${Rests} row=${r} /></small>
      `,
    )}
  </dl>`;
}

/**
 * @param {Batch[]} list
 * @param {(b: Batch) => number | null} value
 */
const dots = (list, value) =>
  list.flatMap((b) => {
    const y = value(b) ?? 0,
      visit = b.visits.at(-1);
    if (b.left_out || !b.ended || visit === undefined || !(y > 0)) return [];
    return {
      x: Date.parse(b.ended),
      y,
      card: b.card,
      href: visitLink(b, visit),
      title: `${b.works_order || b.card}, ${full(b.ended)}: ${timeText(y)}`,
    };
  });

/** @param {{a: Answer}} props */
function Operation({ a }) {
  const r = a.row,
    kept = a.batches.filter((b) => !b.left_out),
    out = a.batches.filter((b) => b.left_out);
  const name = [r.part, r.route_rev, r.operation].join("-");
  return html`
    <p><a class="back" href="/pace">${say("pace.back")}</a></p>
    <div class="top"><h1>${r.part} ${r.part_name && html`<span class="soft">${r.part_name}</span>`}</h1></div>
    <p class="summary">
      ${say("operation.of", r.operation)}, ${say("pace.route", r.route_rev)}, ${r.work_centre}${" "}
      <span class="soft">${say("pace.days", a.days)}</span>
    </p>
    <section><${Facts} r=${r} /></section>
    <section>
      <${Plot}
        name="piece"
        title=${say("pace.plot.piece")}
        points=${dots(a.batches, (b) => b.piece_s)}
        plan=${r.plan_piece_s}
        s=${r.piece}
      />
      <${Plot}
        name="setup"
        title=${say("pace.plot.setup")}
        points=${dots(a.batches, (b) => (b.setups ? b.setup_s / b.setups : 0))}
        plan=${r.plan_setup_s}
        s=${r.setup}
      />
    </section>
    <section>
      <div class="top">
        <h2>${count("pace.behind", kept.length)}</h2>
        <${CsvButton} name=${"pace-" + name} head=${csvHead} rows=${() => a.batches.map(csvRow)} />
      </div>
      <${BatchTable} list=${kept} row=${r} test="pace-batch" />
    </section>
    <section data-test="left-out">
      <h2>${count("pace.left-out-of", out.length)}</h2>
      <p class="soft">${say("pace.left-out.how")}</p>
      ${out.length > 0 && html`<${BatchTable} list=${out} row=${r} why test="pace-left" />`}
    </section>
  `;
}

function OperationPage() {
  const answer = useSignal(/** @type {Answer | null} */ (null)),
    problem = useSignal("");
  useEffect(() => {
    get(`/api/v1/pace/operation?${location.search.slice(1)}`)
      .then((a) => {
        answer.value = a;
        document.title = say("title", `${a.row.part} ${say("operation.of", a.row.operation)}`);
      })
      .catch((err) => {
        problem.value = err.message;
      });
  }, []);
  if (problem.value)
    return html`
      <p><a class="back" href="/pace">${say("pace.back")}</a></p>
      <h1>${say("pace.title")}</h1>
      <p class="empty" data-test="failed">${problem.value}</p>
    `;
  return answer.value
    ? html`<${Operation} a=${answer.value} />`
    : html`<p class="soft">${say("loading")}</p>`;
}

start(() => (me.value ? html`<${OperationPage} />` : null));
