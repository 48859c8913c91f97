// Machines: hours used, visits and key figures.
import { html, useEffect } from "../../lib/vendor/ui.js";
import { CsvButton } from "../../lib/csv.js";
import { choose, chosen, Filters, query } from "../../lib/filters.js";
import { Answered, useAnswer } from "../../lib/form.js";
import { At, BatchLink } from "../../lib/marks.js";
import { hours, number, percent } from "../../lib/numbers.js";
import { failed, me, start } from "../../lib/shell.js";
import { loadShop } from "../../lib/shop.js";
import { Patterns, Segments } from "../../lib/strip.js";
import { dateText } from "../../lib/times.js";
import { say } from "../../lib/words.js";

/**
 * @typedef {import("../../lib/_types.js").Schema["MachineHours"]} Hours
 * @typedef {typeof order[number]} Kind what a machine did with its hours
 * @typedef {Hours["machines"][number]} Machine
 */

// The key figures of ISO 22400-2 that hand scans can honestly give, under the
// standard's names.

/** @param {{list: Machine[], withheld: string}} props */
function Kpis({ list, withheld }) {
  const names = list[0].kpis;
  return html`<section>
    <details data-test="kpis">
      <summary><span>${say("machines.kpis")}</span></summary>
      <p class="notice" data-test="withheld">${withheld}</p>
      <table class="stack kpis">
        <thead>
          <tr>
            <th>${say("head.machine")}</th>
            ${names.map((k) => html`<th key=${k.name} class="n">${k.name} <small>${k.formula}</small></th>`)}
          </tr>
        </thead>
        <tbody>
          ${list.map(
            (m) =>
              html`<tr key=${m.machine}>
                <th scope="row">${m.machine}</th>
                ${m.kpis.map(
                  (k) =>
                    html`<td key=${k.name} class="n" data-label=${`${k.name}, ${k.formula}`}>
                      ${percent(k.value)}
                    </td>`,
                )}
              </tr>`,
          )}
        </tbody>
      </table>
      <p class="soft">${say("machines.kpis.how")}</p>
      <p class="deeds">
        <${CsvButton}
          name="machine-kpis"
          head=${["machine", ...names.map((k) => `${k.name} = ${k.formula}`)]}
          rows=${() => list.map((m) => [m.machine, ...m.kpis.map((k) => k.value)])}
        />
      </p>
    </details>
  </section>`;
}

// What each machine did with the hours it was open: one bar each, to one scale.

const order = /** @type {const} */ (["run", "setup", "firstoff", "stop"]);
const mostDays = 800; // that the server looks over, mostMachineDays of web/figures

/** @type {(m: Pick<Machine, `${Kind}_s`>, k: Kind) => number} */
const secondsOf = (m, k) => m[`${k}_s`];

/** @param {Machine} m */
const busy = (m) => order.reduce((n, k) => n + secondsOf(m, k), 0);

/** @param {{m: Machine, top: number}} props */
function HoursBar({ m, top }) {
  const total = busy(m),
    pc = (/** @type {number} */ v) => `${(100 * v) / top}%`,
    rest = Math.max(0, m.open_s - total);
  const parts = order.map((k) => /** @type {[Kind, number]} */ ([k, secondsOf(m, k)]));
  const label = [
    ...parts.filter(([, s]) => s > 0).map(([k, s]) => `${say("part." + k)} ${hours(s)}`),
    ...(rest > 0 ? [`${say("machines.rest")} ${hours(rest)}`] : []),
  ].join(", ");
  return html`<svg class="hours-bar" role="img" aria-label=${label} width="100%" height="30">
    <title>${label}</title>
    ${rest > 0 &&
    html`<rect class="seg rest" data-test="hours-rest" x=${pc(total)} width=${pc(rest)} y="3" height="24">
      <title>${say("machines.rest")}: ${hours(rest)}</title>
    </rect>`}
    <${Segments} parts=${parts} top=${top} y=${3} high=${24} test="hours-part" text=${hours} />
    ${total > m.open_s &&
    html`<line class="open-end" x1=${pc(m.open_s)} x2=${pc(m.open_s)} y1="0" y2="30" />`}
  </svg>`;
}

/** @param {{m: Machine, top: number}} props */
function Row({ m, top }) {
  const total = busy(m),
    past = total - m.open_s,
    said = (/** @type {Kind} */ k) =>
      html`<td class=${secondsOf(m, k) ? "n" : "n zero"} data-label=${say("part." + k)}>
        ${secondsOf(m, k) ? hours(secondsOf(m, k)) : say("none")}
      </td>`;
  const chosenHere = chosen.value.machine === m.machine;
  return html`<tr data-test="machine" data-machine=${m.machine} class=${chosenHere ? "chosen" : ""}>
    <th scope="row">
      <button
        class="link"
        data-test="machine-open"
        aria-pressed=${chosenHere}
        onClick=${() => choose({ machine: chosenHere ? "" : m.machine })}>
        ${m.machine}
      </button>${" "}
      <small>${m.name}</small>
    </th>
    <td class="wide">
      <${HoursBar} m=${m} top=${top} />
      ${past > 60 && html`<small data-test="past-open">${say("machines.past-open", hours(past))}</small>`}
      ${!m.calendar && html`<small>${say("machines.no-calendar")}</small>`}
    </td>
    <td class="n" data-label=${say("machines.open")}>${hours(m.open_s)}</td>
    ${order.map(said)}
    <td class="n" data-label=${say("machines.rest")}>
      ${past < 0 ? html`${hours(-past)} <small>${percent(-past / m.open_s)}</small>` : say("none")}
    </td>
    <td class="n" data-label=${say("nav.batches")}>${number(m.batches)}</td>
  </tr>`;
}

const csvHead = [
  "machine",
  "name",
  "work_centre",
  "open_s",
  ...order.map((k) => k + "_s"),
  "visits",
  "batches",
  "pieces",
  "good",
  "scrap",
  "rework",
  "visits_inferred",
];
/** @param {Machine} m */
const csvRow = (m) => [
  m.machine,
  m.name,
  m.work_centre,
  m.open_s,
  ...order.map((k) => secondsOf(m, k)),
  m.visits,
  m.batches,
  m.pieces,
  m.good,
  m.scrap,
  m.rework,
  m.inferred,
];

const HoursKey = () =>
  html`<p class="parts-key">
    <svg width="0" height="0" aria-hidden="true"><${Patterns} /></svg>
    ${[...order, "rest"].map(
      (k) =>
        html`<span class="key" key=${k}>
          <svg width="26" height="16" aria-hidden="true">
            <rect class=${"seg " + k} x="0.5" y="1" width="25" height="14" />
          </svg>
          ${say(k === "rest" ? "machines.rest" : "part." + k)}
        </span>`,
    )}
  </p>`;

/**
 * Visits are the newest of one machine in the period.
 * @param {{h: Hours}} props
 */
function Visits({ h }) {
  const { machine } = chosen.value;
  if (!machine) return html`<p class="soft">${say("machines.choose")}</p>`;
  /** @type {(k: string, v: unknown, cls?: string) => unknown} */
  const cell = (k, v, cls) => html`<td class=${cls} data-label=${say(k)}>${v}</td>`;
  const span = (/** @type {number} */ s) => (s ? hours(s) : say("none"));
  const head = [
    "head.batch",
    "head.part",
    "head.operation",
    "machines.begun",
    "part.run",
    "part.setup",
    "part.firstoff",
    "part.stop",
    "head.good",
    "figure.scrap",
  ];
  const csv = /** @type {const} */ ([
    "card",
    "works_order",
    "part",
    "operation",
    "begun",
    "ended",
    "run_s",
    "setup_s",
    "firstoff_s",
    "stop_s",
    "good",
    "scrap",
  ]);
  return html`<section data-test="machine-visits">
    <h2>${say("machines.visits", machine)}</h2>
    <p class="soft">
      ${h.found > h.visits.length
        ? say("machines.visits.newest", h.visits.length, number(h.found)) + " "
        : ""}
      ${say("machines.visits.how")}
    </p>
    ${h.visits.length === 0
      ? html`<p class="empty">${say("machines.visits.none")}</p>`
      : html`
          <table class="stack">
            <thead>
              <tr>${head.map((k, i) => html`<th key=${k} class=${i > 3 ? "n" : ""}>${say(k)}</th>`)}</tr>
            </thead>
            <tbody>
              ${h.visits.map(
                (v) => html`<tr key=${v.card + v.begun} data-test="machine-visit">
                  ${cell("head.batch", html`<${BatchLink} row=${v} />`)}
                  ${cell("head.part", v.part)}
                  ${cell("head.operation", v.operation)}
                  ${cell("machines.begun", html`<${At} t=${v.begun} />`)}
                  ${order.map((k) => cell("part." + k, span(secondsOf(v, k)), "n"))}
                  ${cell("head.good", v.good, "n")}
                  ${cell("figure.scrap", v.scrap, v.scrap ? "n" : "n zero")}
                </tr>`,
              )}
            </tbody>
          </table>
          <p class="deeds">
            <a
              class="button"
              href=${`/losses?kind=stop&measure=minutes&machine=${encodeURIComponent(machine)}`}>
              ${say("machines.its-stops")}
            </a>
            <a class="button" href=${`/losses?kind=scrap&machine=${encodeURIComponent(machine)}`}>
              ${say("machines.its-scrap")}
            </a>
            <${CsvButton}
              name=${"visits-" + machine}
              head=${csv}
              rows=${() => h.visits.map((v) => csv.map((k) => v[k]))}
            />
          </p>
        `}
  </section>`;
}

/** @param {{h: Hours}} props */
function Table({ h }) {
  const seen = h.machines.filter((m) => m.visits > 0 && busy(m) > 0),
    quiet = h.machines.filter((m) => !seen.includes(m));
  if (seen.length === 0)
    return html`<p class="empty" data-test="no-hours">
      ${say(h.machines.length ? "machines.none" : "home.no-machines")}
    </p>`;
  const top = Math.max(...seen.map((m) => Math.max(m.open_s, busy(m))));
  return html`
    <section data-test="hours">
      <${HoursKey} />
      <table class="hours stack">
        <thead>
          <tr>
            <th>${say("head.machine")}</th>
            <td></td>
            <th class="n">${say("machines.open")}</th>
            ${order.map((k) => html`<th key=${k} class="n">${say("part." + k)}</th>`)}
            <th class="n">${say("machines.rest")}</th>
            <th class="n">${say("nav.batches")}</th>
          </tr>
        </thead>
        <tbody>${seen.map((m) => html`<${Row} key=${m.machine} m=${m} top=${top} />`)}</tbody>
      </table>
      <p class="soft">
        ${h.since > h.selection.from ? say("machines.since", dateText(h.since)) : ""}${" "}
        ${say("machines.how") + " "}
        ${quiet.length > 0 ? say("machines.quiet", quiet.map((m) => m.machine).join(", ")) : ""}
      </p>
      <p class="deeds">
        <${CsvButton} name="machine-hours" head=${csvHead} rows=${() => h.machines.map(csvRow)} />
      </p>
    </section>
    <${Visits} h=${h} />
    <${Kpis} list=${seen} withheld=${h.withheld} />
  `;
}

function Hours() {
  const answer = useAnswer(`/api/v1/machine-hours?${query(["from", "to", "machine"])}`);
  return html`
    <${Filters} parts=${false} texts=${false} most=${mostDays} />
    <${Answered} answer=${answer} />
    ${answer.value && html`<${Table} h=${answer.value} />`}
  `;
}

// What the machines did with their hours. What was shown of the weeks to come lies on a
// page of its own now.

function Page() {
  useEffect(() => {
    if (chosen.value.view === "ahead") location.replace("/ahead");
    loadShop().catch(failed);
  }, []);
  return html`<h1>${say("machines.title")}</h1><${Hours} />`;
}

start(() => (me.value ? html`<${Page} />` : null));
