// The pace board as a page: what runs now, and all operations against their plans.
import { html, signal, useComputed } from "../../lib/vendor/ui.js";
import { boards, LinkState } from "../../lib/board.js";
import { Scale } from "../../lib/charts.js";
import { tick } from "../../lib/clock.js";
import { CsvButton } from "../../lib/csv.js";
import { BatchLink, Gone, Hint, Mark, Needs } from "../../lib/marks.js";
import { needsOf, needText } from "../../lib/needs.js";
import { machineName, reasonText } from "../../lib/shop.js";
import { elapsed, moment } from "../../lib/times.js";
import { WallSettings } from "../../lib/wall-settings.js";
import { count, say, stateWord } from "../../lib/words.js";
import { nowFirst, opCells, opHead, OpTable, orders, standing, timeText } from "./rows.js";

const { about, rows } = boards.pace;

/**
 * @typedef {import("./rows.js").Now} Now
 * @typedef {import("./rows.js").Op} Op
 * @typedef {import("./rows.js").Row} Row
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {ReturnType<typeof standing>} Standing
 * @typedef {keyof typeof fields} Field
 */

// What runs now, and where it stands against its plan.

/**
 * Against is planned and actual so far: of the set-up, or of the pieces that
 * were counted, up to their last count.
 * @param {{row: Now, s: Standing}} props
 */
function Against({ row, s }) {
  if (!(s.plan > 0))
    return html`<span class="soft">
      ${row.plan_piece_s > 0 ? say("pace.uncounted") : say("pace.no-plan")}
    </span>`;
  const label = say(
    row.state === "setting" ? "scale.so-far" : "pace.at-count",
    timeText(s.plan),
    timeText(s.actual),
  );
  return html`<div class="two-times" data-test="now-against">
    <${Scale} planned=${s.plan} actual=${s.actual} label=${label} />
    <small>${label}</small>
  </div>`;
}

/**
 * End is when it ends by plan, or by how much it is past that.
 * @param {{row: Now, s: Standing}} props
 */
function End({ row, s }) {
  if (s.all && s.past > 0)
    return html`<span data-test="now-past"><${Mark} kind="over">${say("pace.all-made")}<//></span>`;
  return html`
    ${s.past > 0 &&
    html`<span data-test="now-past"><${Mark} kind="over">${say("past", elapsed(s.past))}<//></span> `}
    ${row.ends
      ? html`<time datetime=${row.ends} data-test="now-ends">${say("pace.by-plan", moment(row.ends))}</time>`
      : s.past === 0 && html`<span class="soft">${say("none")}</span>`}
  `;
}

/** @param {{row: Now}} props */
function NowRow({ row }) {
  const minute = useComputed(() => Math.floor(tick.value / 30000) * 30000);
  const s = standing(row, minute.value);
  const cell = (/** @type {string} */ name, /** @type {unknown} */ content) =>
    html`<td class=${"p-" + name} data-label=${say("pace.now." + name)}>${content}</td>`;
  return html`<tr
    data-test="pace-now"
    data-card=${row.card}
    data-machine=${row.machine}
    data-state=${row.state}
    data-past=${s.past > 0 ? 1 : 0}>
    ${cell("machine", html`<b>${row.machine}</b> <small>${machineName(row.machine)}</small>`)}
    ${cell(
      "batch",
      html`
        <${BatchLink} row=${row} />${" "}
        <small>
          ${row.part}${row.part_name ? " " + row.part_name : ""}, ${say("operation.of", row.operation)}
        </small>
      `,
    )}
    ${cell(
      "state",
      html`
        ${row.state === "stopped"
          ? reasonText(row.reason, "stop") || say("stop.unsaid")
          : row.state !== "firstoff" && stateWord(row.state)}${" "}
        <${Needs}
          kinds=${needsOf(row, minute.value).filter((k) => k !== "over")}
          text=${(/** @type {string} */ k) =>
            k === "ask" ? stateWord(row.state) : needText(k, row, about.value?.today ?? "", minute.value)}
        />
        <small>${say("since")} <${Gone} since=${row.since} /></small>
        ${row.inferred && html` <${Hint}>${say("inferred.start")}<//>`}
      `,
    )}
    ${cell("made", html`<span data-test="now-made">${say("pace.made", row.made, row.of)}</span>`)}
    ${cell("against", html`<${Against} row=${row} s=${s} />`)}
    ${cell("ends", html`<${End} row=${row} s=${s} />`)}
  </tr>`;
}

const heads = ["machine", "batch", "state", "made", "against", "ends"];

/** @param {{list: Now[]}} props */
function NowTable({ list }) {
  const minute = useComputed(() => Math.floor(tick.value / 30000) * 30000);
  if (list.length === 0) return html`<p class="empty">${say("pace.nothing-runs")}</p>`;
  return html`<table class="now-runs stack">
    <thead>
      <tr>
        ${heads.map((h) => html`<th key=${h} class=${"p-" + h} scope="col">${say("pace.now." + h)}</th>`)}
      </tr>
    </thead>
    <tbody>
      ${[...list].sort(nowFirst(minute.value)).map((r) => html`<${NowRow} key=${r.key} row=${r} />`)}
    </tbody>
  </table>`;
}

const nowHead = /** @type {const} */ ([
  "machine",
  "card",
  "works_order",
  "part",
  "route_rev",
  "operation",
  "state",
  "since",
  "made",
  "of",
  "plan_setup_s",
  "plan_piece_s",
  "setup_s",
  "run_s",
  "at",
  "ends",
]);
/** @param {Now} r */
const nowCells = (r) => nowHead.map((k) => r[k] ?? "");

// The pace board as a page to work with: what runs now against its plan, then
// planned and actual of every operation. What is chosen stands in the address.

const fields = /** @type {const} */ ({ part: "part", route_rev: "route_rev", centre: "work_centre" });
const names = /** @type {Field[]} */ (Object.keys(fields));

function fromAddress() {
  const q = new URLSearchParams(location.search);
  const sort = q.get("sort") ?? "";
  return {
    part: q.get("part") || "",
    route_rev: q.get("route_rev") || "",
    centre: q.get("centre") || "",
    sort: orders[sort] ? sort : "deviation",
  };
}

const chosen = signal(fromAddress());
addEventListener("popstate", () => {
  chosen.value = fromAddress();
});

/**
 * choose keeps what was chosen in the address, so that it can be sent on.
 * @param {Field | "sort"} key
 * @param {string} value
 */
function choose(key, value) {
  const next = { ...chosen.value, [key]: value };
  if (key === "part") next.route_rev = "";
  const q = new URLSearchParams(
    Object.entries(/** @type {Record<string, string>} */ (next)).filter(
      ([k, v]) => v && !(k === "sort" && v === "deviation"),
    ),
  );
  history.replaceState(null, "", location.pathname + (q.size ? "?" + q : ""));
  chosen.value = next;
}

/** @param {Row} r */
const fits = (r) => names.every((k) => !chosen.value[k] || r[fields[k]] === chosen.value[k]);
/**
 * @param {Row[]} list
 * @param {typeof fields[Field]} field
 */
const valuesOf = (list, field) => [...new Set(list.map((r) => r[field]))].sort();

/** @param {{name: Field, list: string[]}} props */
function Choice({ name, list }) {
  const v = chosen.value[name];
  const all = [...new Set([...list, ...(v ? [v] : [])])];
  return html`<label>
    ${say("pace.by." + name)}
    <select
      data-test=${"pace-by-" + name}
      onChange=${(/** @type {Input} */ e) => choose(name, e.target.value)}>
      <option value="" selected=${!v}>${say("pace.all")}</option>
      ${all.map((x) => html`<option key=${x} value=${x} selected=${x === v}>${x}</option>`)}
    </select>
  </label>`;
}

/** @param {{all: Row[]}} props */
function Tools({ all }) {
  const ofPart = chosen.value.part ? all.filter((r) => r.part === chosen.value.part) : all;
  return html`<div class="tools">
    <${Choice} name="part" list=${valuesOf(all, "part")} />
    <${Choice} name="route_rev" list=${valuesOf(ofPart, "route_rev")} />
    <${Choice} name="centre" list=${valuesOf(all, "work_centre")} />
    <label>
      ${say("pace.sort")}
      <select data-test="pace-sort" onChange=${(/** @type {Input} */ e) => choose("sort", e.target.value)}>
        ${Object.keys(orders).map(
          (k) =>
            html`<option key=${k} value=${k} selected=${k === chosen.value.sort}>
              ${say("pace.sort." + k)}
            </option>`,
        )}
      </select>
    </label>
    <${WallSettings} board="pace" />
  </div>`;
}

/** @param {{now: Now[], ops: Op[]}} props */
function Summary({ now, ops }) {
  const minute = useComputed(() => Math.floor(tick.value / 30000) * 30000);
  const past = now.filter((r) => standing(r, minute.value).past > 0).length,
    stopped = now.filter((r) => r.state === "stopped").length;
  const said = [count("pace.on-now", now.length)];
  if (past) said.push(count("pace.past-plan", past));
  if (stopped) said.push(count("pace.stopped", stopped));
  said.push(count("pace.operations", ops.length));
  return html`<p class="summary" data-test="summary">${said.join(" · ")}</p>`;
}

export function PacePage() {
  const all = useComputed(() => Object.values(rows.value));
  if (!about.value)
    return html`<h1>${say("pace.title")}</h1><${LinkState} /><p class="soft">${say("loading")}</p>`;
  const shown = all.value.filter(fits),
    now = shown.filter((r) => r.kind === "now");
  const ops = shown.filter((r) => r.kind === "op").sort(orders[chosen.value.sort]);
  return html`
    <div class="top"><h1>${say("pace.title")}</h1><${LinkState} /></div>
    <${Summary} now=${now} ops=${ops} />
    <${Tools} all=${all.value} />
    <p class="only-print">
      ${names.map((k) => `${say("pace.by." + k)}: ${chosen.value[k] || say("pace.all")}`).join("; ")}
    </p>
    <section>
      <div class="top">
        <h2>${say("pace.now")}</h2>
        ${now.length > 0 &&
        html`<${CsvButton} name="pace-now" head=${nowHead} rows=${() => now.map(nowCells)} />`}
      </div>
      <${NowTable} list=${now} />
      ${now.length > 0 && html`<p class="soft">${say("pace.now.how")}</p>`}
    </section>
    <section>
      <div class="top">
        <h2>${say("pace.ops", about.value.days)}</h2>
        ${ops.length > 0 && html`<${CsvButton} name="pace" head=${opHead} rows=${() => ops.map(opCells)} />`}
      </div>
      <p class="soft">${say("pace.how")}</p>
      <p><a class="button" href="/fits" data-test="pace-fits">${say("fits.link")}</a></p>
      ${ops.length > 0
        ? html`<${OpTable} list=${ops} />`
        : html`<p class="empty" data-test="pace-empty">
            ${say(all.value.some((r) => r.kind === "op") ? "pace.nothing-found" : "pace.empty")}
          </p>`}
    </section>
  `;
}
