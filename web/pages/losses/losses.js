// Losses: by what, in what, and from what down to the batches.
import { html, useEffect, useRef } from "../../lib/vendor/ui.js";
import { CsvButton } from "../../lib/csv.js";
import { choose, chosen, Filters, query, selection } from "../../lib/filters.js";
import { Answered, useAnswer } from "../../lib/form.js";
import { At, BatchLink, Figure } from "../../lib/marks.js";
import { hours, number, wholePercent } from "../../lib/numbers.js";
import { failed, me, start } from "../../lib/shell.js";
import { loadShop, machineName, reasonText, shop } from "../../lib/shop.js";
import { count, say } from "../../lib/words.js";
import { Control, Routes } from "./charts.js";

// What the bars of a loss are called, and by what they are measured.

const kinds = ["scrap", "rework", "review", "stop"];
const bys = ["reason", "found", "caused", "part", "machine", "clampings"];
const measures = (kind) => ["cost", kind === "stop" ? "events" : "pieces", "minutes"];

// unrated are the machines without a rate, of those that work in the shop.
const unrated = () =>
  shop.value
    ? shop.value.machines
        .filter((m) => !m.rate_per_hour && !["stores", "dock", "outside"].includes(m.kind || ""))
        .map((m) => m.machine)
    : [];

const priced = (l) => l.bars.every((b) => b.cost !== null);

// measureOf is what bars are compared by: what was chosen, and minutes where the
// cost is not known of each.
function measureOf(l) {
  const list = measures(l.kind),
    wanted =
      chosen.value.measure === "pieces" || chosen.value.measure === "events" ? list[1] : chosen.value.measure;
  const m = list.includes(wanted) ? wanted : "cost";
  return m === "cost" && !priced(l) ? "minutes" : m;
}

// money is what time costs by the machines' rates, in the shop's currency.
const money = (v) => say("money", number(v), me.value?.currency);

// amountText is an amount with its unit.
function amountText(m, v) {
  if (v === null) return say("none");
  switch (m) {
    case "pieces":
      return count("pieces", v);
    case "events":
      return count("losses.stops", v);
    case "minutes":
      return hours(v * 60);
  }
  return money(v);
}

const split = (key) => {
  const at = key.lastIndexOf("/"),
    before = key.lastIndexOf("/", at - 1);
  return { part: key.slice(0, before), route_rev: key.slice(before + 1, at), operation: key.slice(at + 1) };
};

const partName = (part) => {
  const r = shop.value && shop.value.parts.find((x) => x.part === part);
  return r && r.part_name ? r.part_name : "";
};

// barName is what a bar is called, and what one sees more of it by: a change of
// the filters, where there is one.
function barName(l, key) {
  if (key === "") return { name: say("losses.unsaid") };
  switch (l.by) {
    case "reason":
      return { name: reasonText(key, l.kind) };
    case "part":
      return {
        name: key,
        more: partName(key),
        filters: { part: key, route_rev: "", operation: "", by: "caused", key: "" },
      };
    case "machine":
      return { name: key, more: machineName(key), filters: { machine: key, by: "reason", key: "" } };
    case "clampings":
      return { name: count("losses.clampings", Number(key)) };
  }
  const f = split(key);
  return {
    name: say("losses.operation-of", f.part, f.operation),
    more: [partName(f.part), say("route.rev", f.route_rev)].filter(Boolean).join(", "),
    filters: { ...f, by: "reason", key: "" },
  };
}

// Losses as bars, the greatest first, with the share that they and all before
// them make up; and the batches behind them.

const most = 15; // bars shown at once

const add = (l, k) => l.bars.reduce((n, b) => n + (b[k] || 0), 0);

// Totals are all bars together, and what they rest on.
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

function Row({ l, b, m, top, share }) {
  const n = barName(l, b.key),
    label = `${n.name}: ${amountText(m, b[m])}`,
    all = chosen.value.key === b.key;
  return html`<tr data-test="bar" data-key=${b.key} class=${all ? "chosen" : ""}>
    <th scope="row">
      ${n.filters
        ? html`<button class="link" data-test="bar-open" onClick=${() => choose(n.filters)}>
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

// Pareto are the bars by what was chosen.
function Pareto({ l }) {
  const m = measureOf(l),
    sorted = [...l.bars].sort((a, b) => (b[m] || 0) - (a[m] || 0)),
    all = add(l, m),
    top = sorted.length ? sorted[0][m] : 0;
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

const head = [
  "card",
  "works_order",
  "part",
  "route_rev",
  "ended",
  "events",
  "pieces",
  "minutes",
  "cost",
  "currency",
];

// Behind names the batches that lost most, of the chosen bar or of all.
function Behind({ l }) {
  const here = useRef(/** @type {any} */ (null)),
    first = useRef(l.key);
  useEffect(() => {
    if (l.key && l.key !== first.current && here.current) here.current.scrollIntoView({ block: "start" });
    first.current = l.key;
  }, [l.key]);
  if (l.worst.length === 0) return null;
  const name = l.key ? barName(l, l.key).name : "",
    second = measures(l.kind)[1];
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
          head=${head}
          rows=${() => l.worst.map((b) => [...head.slice(0, -1).map((k) => b[k]), me.value?.currency])}
        />
      </p>
    </details>
  </section>`;
}

// Where pieces and minutes were lost: as a Pareto, batch by batch, and along the
// route. What is asked for stands in the address.

function Choice({ name, list, word, value }) {
  return html`<label>
    ${say("losses." + name)}
    <select data-test=${"losses-" + name} onChange=${(e) => choose({ [name]: e.target.value, key: "" })}>
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
    <select data-test="losses-operation" onChange=${(e) => choose({ operation: e.target.value, key: "" })}>
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
    <select data-test="losses-machine" onChange=${(e) => choose({ machine: e.target.value, key: "" })}>
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
  const answer = useAnswer(
    "/api/v1/losses?" +
      query([...selection, "kind", "by", "key", "machine", ...(chosen.value.part ? ["operation"] : [])]),
  );
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
