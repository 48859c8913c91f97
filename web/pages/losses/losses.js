// Losses: by what, in what, and from what down to the batches.
import { html, useEffect, useRef } from "../../lib/vendor/ui.js";
import { CsvButton } from "../../lib/csv.js";
import { choose, chosen, Filters, query, selection } from "../../lib/filters.js";
import { Answered, useAnswer } from "../../lib/form.js";
import { At, BatchLink, Figure } from "../../lib/marks.js";
import { wholePercent } from "../../lib/numbers.js";
import { failed, me, start } from "../../lib/shell.js";
import { loadShop, shop } from "../../lib/shop.js";
import { count, say } from "../../lib/words.js";
import { Control } from "./control.js";
import { amountText, barName, bys, kinds, measureOf, measures, money, priced, unrated } from "./measures.js";
import { Routes } from "./yields.js";

/**
 * @typedef {import("./measures.js").Losses} Losses
 * @typedef {import("./measures.js").Measure} Measure
 * @typedef {import("../../lib/_types.js").Input} Input
 * Bar is a bar, the amount of the greatest, and the share of all that it and those before it make up.
 * @typedef {{b: Losses["bars"][number], top: number, share: number | null}} Bar
 */

// Losses as bars, the greatest first, with the share that they and all before
// them make up; and the batches behind them.

const most = 15; // bars shown at once

/**
 * @param {Losses} l
 * @param {Measure} k
 */
const add = (l, k) => l.bars.reduce((n, b) => n + (b[k] || 0), 0);

/**
 * Totals are all bars together, and what they rest on.
 * @param {{l: Losses}} props
 */
function Totals({ l }) {
  const second = measures(l.kind)[1],
    stop = l.kind === "stop";
  return html`
    <dl class="figures" data-test="totals">
      <${Figure}
        test="total-n"
        name=${say("losses.kind." + l.kind)}
        value=${amountText(second, add(l, second))}
      />
      <${Figure}
        test="total-minutes"
        name=${say(stop ? "losses.stood" : "losses.work")}
        value=${amountText("minutes", add(l, "minutes"))}
        why=${say(stop ? "losses.stood.why" : l.kind === "scrap" ? "losses.work.why" : "losses.again.why")}
      />
      ${priced(l) &&
      html`<${Figure}
        test="total-cost"
        name=${say("losses.cost")}
        value=${money(add(l, "cost"))}
        why=${say("losses.cost.why")}
      />`}
    </dl>
    <p class="soft" data-test="rests">
      ${count("losses.rests", l.batches)}${" "}
      ${l.operation
        ? say(
            "losses.only-operation",
            l.operation,
            say(stop ? "losses.at" : l.by === "found" ? "losses.found" : "losses.caused"),
          )
        : ""}${" "}
      ${l.machine ? say("losses.only-machine", l.machine) : ""}
    </p>
    ${!priced(l) &&
    html`<p class="notice" data-test="no-cost">
      ${say("losses.no-cost", unrated().join(", ") || say("none"))}
    </p>`}
  `;
}

/** @param {Bar & {l: Losses, m: Measure}} props */
function Row({ l, b, m, top, share }) {
  const n = barName(l, b.key),
    label = `${n.name}: ${amountText(m, b[m])}`,
    all = chosen.value.key === b.key;
  return html`<tr data-test="bar" data-key=${b.key} class=${all ? "chosen" : ""}>
    <th scope="row">
      ${n.filters
        ? html`<button class="link" data-test="bar-open" onClick=${() => n.filters && choose(n.filters)}>
            ${n.name}
          </button>`
        : n.name}
      ${n.more && html` <small>${n.more}</small>`}
    </th>
    <td class="wide">
      <svg role="img" aria-label=${label} width="100%" height="24">
        <title>${label}</title>
        <rect class="amount" x="0" y="2" height="20" width=${`${top > 0 ? (100 * (b[m] || 0)) / top : 0}%`} />
      </svg>
    </td>
    <td class="n" data-label=${say("losses.measure." + m)} data-test="bar-amount">
      <b>${amountText(m, b[m])}</b>
    </td>
    <td class="n" data-label=${say("losses.cumulated")} data-test="bar-share">
      ${share === null ? say("none") : wholePercent(share)}
    </td>
    <td data-label=${say("nav.batches")}>
      <button
        class="quiet"
        data-test="bar-batches"
        aria-pressed=${all}
        onClick=${() => choose({ key: all ? "" : b.key })}>
        ${count("batches.n", b.batches)}
      </button>
    </td>
  </tr>`;
}

/** @param {{l: Losses, list: Bar[], m: Measure}} props */
const Bars = ({ l, list, m }) => html`<table class="pareto stack">
  <thead>
    <tr>
      <th>${say("losses.by." + l.by)}</th>
      <td></td>
      <th class="n">${say("losses.measure." + m)}</th>
      <th class="n">${say("losses.cumulated")}</th>
      <th>${say("losses.batches")}</th>
    </tr>
  </thead>
  <tbody>${list.map((x) => html`<${Row} key=${x.b.key} l=${l} ...${x} m=${m} />`)}</tbody>
</table>`;

/**
 * Pareto are the bars by what was chosen.
 * @param {{l: Losses}} props
 */
function Pareto({ l }) {
  const m = measureOf(l),
    sorted = [...l.bars].sort((a, b) => (b[m] || 0) - (a[m] || 0)),
    all = add(l, m),
    top = sorted[0]?.[m] ?? 0;
  let sum = 0;
  const list = sorted.map((b) => ({ b, top, share: all > 0 ? (sum += b[m] || 0) / all : null }));
  const rows = () =>
    list.map(({ b, share }) => [
      b.key,
      barName(l, b.key).name,
      b.events,
      b.pieces,
      b.minutes,
      b.cost,
      b.batches,
      share,
      me.value?.currency,
    ]);
  return html`<section data-test="pareto">
    <h2>
      ${say(
        "losses.pareto",
        say("losses.kind." + l.kind),
        say("losses.by." + l.by),
        say("losses.measure." + m),
      )}
    </h2>
    ${list.length === 0
      ? html`<p class="empty" data-test="no-losses">
          ${say(l.batches ? "losses.none" : "losses.no-batches")}
        </p>`
      : html`
          <${Bars} l=${l} list=${list.slice(0, most)} m=${m} />
          ${list.length > most &&
          html`<details>
            <summary>${count("losses.more", list.length - most)}</summary>
            <${Bars} l=${l} list=${list.slice(most)} m=${m} />
          </details>`}
          <p class="deeds">
            <${CsvButton}
              name=${`losses-${l.kind}-by-${l.by}`}
              head=${[
                "key",
                "name",
                l.kind === "stop" ? "stops" : "visits",
                "pieces",
                "minutes",
                "cost",
                "batches",
                "cumulated_by_" + m,
                "currency",
              ]}
              rows=${rows}
            />
          </p>
        `}
  </section>`;
}

const head = /** @type {const} */ ([
  "card",
  "works_order",
  "part",
  "route_rev",
  "ended",
  "events",
  "pieces",
  "minutes",
  "cost",
]);

/**
 * Behind names the batches that lost most, of the chosen bar or of all.
 * @param {{l: Losses}} props
 */
function Behind({ l }) {
  const here = useRef(/** @type {HTMLElement | null} */ (null)),
    first = useRef(l.key);
  useEffect(() => {
    if (l.key && l.key !== first.current && here.current) here.current.scrollIntoView({ block: "start" });
    first.current = l.key;
  }, [l.key]);
  if (l.worst.length === 0) return null;
  const name = l.key ? barName(l, l.key).name : "",
    second = measures(l.kind)[1];
  /** @type {(k: string, v: unknown, cls?: string) => unknown} */
  const cell = (k, v, cls) => html`<td class=${cls} data-label=${say(k)}>${v}</td>`;
  return html`<section data-test="behind" ref=${here}>
    <details open=${Boolean(l.key)}>
      <summary><span>${l.key ? say("losses.behind-bar", name) : say("losses.behind")}</span></summary>
      ${l.key &&
      html`<p class="deeds">
        <button class="quiet" data-test="behind-all" onClick=${() => choose({ key: "" })}>
          ${say("losses.behind-all")}
        </button>
      </p>`}
      <table class="stack">
        <thead>
          <tr>
            ${[
              "head.batch",
              "head.part",
              "losses.ended",
              "losses.kind." + l.kind,
              "losses.measure.minutes",
              ...(priced(l) ? ["losses.measure.cost"] : []),
            ].map(
              (k) =>
                html`<th key=${k} class=${k.startsWith("losses.") && k !== "losses.ended" ? "n" : ""}>
                  ${say(k)}
                </th>`,
            )}
          </tr>
        </thead>
        <tbody>
          ${l.worst.map(
            (b) => html`<tr key=${b.card} data-test="behind-row" data-card=${b.card}>
              ${cell("head.batch", html`<${BatchLink} row=${b} />`)}
              ${cell("head.part", html`${b.part} <small>${say("route.rev", b.route_rev)}</small>`)}
              ${cell("losses.ended", b.ended ? html`<${At} t=${b.ended} />` : say("losses.open"))}
              ${cell("losses.kind." + l.kind, amountText(second, b[second]), "n")}
              ${cell("losses.measure.minutes", amountText("minutes", b.minutes), "n")}
              ${priced(l) && cell("losses.measure.cost", amountText("cost", b.cost), "n")}
            </tr>`,
          )}
        </tbody>
      </table>
      <p class="deeds">
        <${CsvButton}
          name="losses-batches"
          head=${[...head, "currency"]}
          rows=${() => l.worst.map((b) => [...head.map((k) => b[k]), me.value?.currency])}
        />
      </p>
    </details>
  </section>`;
}

// Where pieces and minutes were lost: as a Pareto, batch by batch, and along the
// route. What is asked for stands in the address.

/** @param {{name: string, list: string[], word: string, value: string}} props */
function Choice({ name, list, word, value }) {
  return html`<label>
    ${say("losses." + name)}
    <select
      data-test=${"losses-" + name}
      onChange=${(/** @type {Input} */ e) => choose({ [name]: e.target.value, key: "" })}>
      ${list.map((k) => html`<option key=${k} value=${k} selected=${k === value}>${say(word + k)}</option>`)}
    </select>
  </label>`;
}

// Operations are those of the chosen part; none without one.
function OperationChoice() {
  const { part, route_rev, operation = "" } = chosen.value;
  const routes =
    shop.value && part
      ? shop.value.parts.filter((r) => r.part === part && (!route_rev || r.route_rev === route_rev))
      : [];
  const list = [...new Set(routes.flatMap((r) => r.operations.map((o) => o.operation)))].sort(
    (a, b) => a - b,
  );
  if (list.length === 0) return null;
  return html`<label>
    ${say("losses.operation")}
    <select
      data-test="losses-operation"
      onChange=${(/** @type {Input} */ e) => choose({ operation: e.target.value, key: "" })}>
      <option value="" selected=${!operation}>${say("losses.all-operations")}</option>
      ${list.map((n) => html`<option key=${n} value=${n} selected=${String(n) === operation}>${n}</option>`)}
    </select>
  </label>`;
}

function MachineChoice() {
  const { machine = "" } = chosen.value,
    list = shop.value ? shop.value.machines.filter((m) => !["stores", "dock"].includes(m.kind || "")) : [];
  return html`<label>
    ${say("head.machine")}
    <select
      data-test="losses-machine"
      onChange=${(/** @type {Input} */ e) => choose({ machine: e.target.value, key: "" })}>
      <option value="" selected=${!machine}>${say("losses.all-machines")}</option>
      ${list.map(
        (m) =>
          html`<option key=${m.machine} value=${m.machine} selected=${m.machine === machine}>
            ${m.machine} ${m.name}
          </option>`,
      )}
    </select>
  </label>`;
}

function Page() {
  const { kind = "scrap", by = "reason" } = chosen.value;
  useEffect(() => {
    loadShop().catch(failed);
  }, []);
  const asks = [...selection, "kind", "by", "key", "machine", ...(chosen.value.part ? ["operation"] : [])];
  const answer = useAnswer(`/api/v1/losses?${query(asks)}`);
  const l = answer.value,
    m = l && measureOf(l);
  return html`
    <h1>${say("losses.title")}</h1>
    <${Filters}>
      <${OperationChoice} />
      <${MachineChoice} />
      <${Choice} name="kind" list=${kinds} word="losses.kind." value=${kind} />
      <${Choice} name="by" list=${bys} word="losses.by." value=${by} />
      <${Choice} name="measure" list=${measures(kind)} word="losses.measure." value=${m || "cost"} />
    <//>
    <${Answered} answer=${answer} />
    ${l &&
    shop.value &&
    html`
      <${Totals} l=${l} />
      <${Pareto} l=${l} />
      <${Behind} l=${l} />
      <${Control} l=${l} />
      <${Routes} l=${l} />
    `}
  `;
}

start(() => (me.value ? html`<${Page} />` : null));
