// What to run next at the machines, as advice, for the supervisor; and the shop's rule of
// order.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get } from "../../lib/api.js";
import { CsvButton } from "../../lib/csv.js";
import { choose, chosen } from "../../lib/filters.js";
import { Answered } from "../../lib/form.js";
import { BatchLink, Gone, Hint, Mark } from "../../lib/marks.js";
import { failed, me, start } from "../../lib/shell.js";
import { loadShop, machineName, reasonText, shop, theShop } from "../../lib/shop.js";
import { dateText, moment, span } from "../../lib/times.js";
import { count, say, stateWord } from "../../lib/words.js";
import { useFresh } from "./fresh.js";
import { Day } from "./parts.js";
import { Rules } from "./rules.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {Schema["Next"]} Next
 * @typedef {Schema["NextBatch"]} NextBatch
 */

const LOOK_MS = 15000,
  ALL_MS = 30000;

/** @param {Schema["Machine"]} m */
const tried = (m) => !["stores", "dock", "outside"].includes(m.kind || "");

/** @param {{id: string}} props */
function MachineChoice({ id }) {
  return html`<div class="tools">
    <label>
      ${say("head.machine")}
      <select data-test="machine" onChange=${(/** @type {Input} */ e) => choose({ machine: e.target.value })}>
        <option value="" selected=${!id}>${say("next.all")}</option>
        ${theShop()
          .machines.filter(tried)
          .map(
            (m) =>
              html`<option key=${m.machine} value=${m.machine} selected=${m.machine === id}>
                ${m.machine} ${m.name}
              </option>`,
          )}
      </select>
    </label>
  </div>`;
}

/** @param {NextBatch} b */
const whatIfFirst = (b) =>
  "/what-if?" + new URLSearchParams({ do: JSON.stringify([{ k: "first", card: b.card }]) });

/** @param {{b: NextBatch}} props */
function Row({ b }) {
  /** @type {(key: string, v: unknown) => unknown} */
  const cell = (key, v) => html`<td data-label=${say(key)}>${v}</td>`;
  const bad = b.late === "now" || b.late === "likely";
  return html`<tr data-test="next-row" data-card=${b.card} data-place=${b.place}>
    ${cell("next.place", html`<b>${b.place}</b>`)}
    ${cell("head.batch", html`<${BatchLink} row=${b} />`)}
    ${cell(
      "head.part",
      html`
        <span class="unbroken">${b.part}</span>${" "}
        <small>${say("operation.of", b.operation)}, ${count("pieces", b.pieces)}</small>
      `,
    )}
    ${cell(
      "head.due",
      html`
        ${b.due ? dateText(b.due) : say("due.none")} ${bad && lateMark(b)}
        ${b.late === "risk" && html`<${Hint}>${say("ahead.late.risk")}<//>`}
        ${b.state !== "waiting" && html` <${Hint}>${stateWord(b.state)}<//>`}
        ${b.not_ready?.map((t) => html` <${Hint} key=${t}>${say("why.missing", reasonText(t, "ready"))}<//>`)}
      `,
    )}
    ${cell("next.waited", html`<${Gone} since=${b.since} />`)}
    ${cell("next.setup", span(b.setup_s * 1000))}
    ${cell("next.run", span(b.run_s * 1000))}
    ${cell("ahead.p50", html`<${Day} t=${b.p50} />`)}
    <td class="advice" data-label=${say("next.taken-first")}>
      <span data-test="row-says">${b.say}</span>
      ${b.first && html` <a href=${whatIfFirst(b)} data-test="row-what-if">${say("next.what-if")}</a>`}
    </td>
  </tr>`;
}

/** @param {NextBatch} b */
const lateMark = (b) =>
  html`<${Mark} kind=${b.late === "now" ? "late" : "soon"}>${say("ahead.late." + b.late)}<//>`;

/** @type {(keyof NextBatch)[]} */
const csvHead = [
  "place",
  "card",
  "works_order",
  "part",
  "operation",
  "pieces",
  "due",
  "priority",
  "state",
  "since",
  "setup_s",
  "run_s",
  "saves_s",
  "p50",
  "p85",
  "on_time",
  "say",
];

const heads = [
  "next.place",
  "head.batch",
  "head.part",
  "head.due",
  "next.waited",
  "next.setup",
  "next.run",
  "ahead.p50",
];

/** @param {{v: Next}} props */
function Line({ v }) {
  return html`<section data-test="line" data-machine=${v.machine}>
    <p class="summary" data-test="advice">${v.say}</p>
    <p class="soft">
      ${v.free_at.p50 && say("next.free", v.machine, moment(v.free_at.p50), moment(v.free_at.p85))}${" "}
      ${v.on && say("next.on", v.on.part, v.on.operation)}
    </p>
    ${v.waiting.length > 0 &&
    html`
      <table class="stack next">
        <thead>
          <tr>
            ${heads.map((k) => html`<th key=${k} scope="col">${say(k)}</th>`)}
            <th scope="col">${say("next.taken-first")}</th>
          </tr>
        </thead>
        <tbody>
          ${v.waiting.map((b) => html`<${Row} key=${`${b.card}/${b.operation}/${b.state}`} b=${b} />`)}
        </tbody>
      </table>
      <p class="deeds">
        <${CsvButton}
          name=${"next-" + v.machine}
          head=${csvHead}
          rows=${() => v.waiting.map((b) => csvHead.map((k) => b[k]))}
        />
      </p>
    `}
    <p class="soft">${say("next.how")}</p>
  </section>`;
}

/**
 * useAll asks for the advice at several machines, again and again.
 * @param {string[]} ids
 */
function useAll(ids) {
  const all = useSignal(/** @type {Next[]} */ ([])),
    key = ids.join("\n");
  useEffect(() => {
    if (!key) return undefined;
    const look = () =>
      Promise.all(ids.map((id) => get(`/api/v1/next?machine=${encodeURIComponent(id)}`)))
        .then((list) => {
          all.value = list;
        })
        .catch(() => {}); // what was there stays
    look();
    const timer = setInterval(look, ALL_MS);
    return () => clearInterval(timer);
  }, [key]);
  return all.value;
}

/**
 * All is one line a machine: what waits, when it may be free, and the advice.
 * @param {{ids: string[]}} props
 */
function All({ ids }) {
  const list = useAll(ids);
  if (list.length === 0) return html`<p class="soft">${say("loading")}</p>`;
  return html`<table class="stack all-machines">
    <thead>
      <tr>
        ${["head.machine", "next.waits", "next.free-at", "next.advice"].map(
          (k) => html`<th key=${k} scope="col">${say(k)}</th>`,
        )}
      </tr>
    </thead>
    <tbody>
      ${list.map(
        (v) =>
          html`<tr key=${v.machine} data-test="machine-line" data-machine=${v.machine}>
            <th scope="row">
              <button
                class="link"
                data-test=${"open-" + v.machine}
                onClick=${() => choose({ machine: v.machine })}>
                ${v.machine}
              </button>
              <small>${machineName(v.machine)}</small>
            </th>
            <td data-label=${say("next.waits")}>${v.waiting.length || say("none")}</td>
            <td data-label=${say("next.free-at")}>${v.free_at.p50 ? moment(v.free_at.p50) : say("none")}</td>
            <td data-label=${say("next.advice")} data-test="machine-says">${v.say}</td>
          </tr>`,
      )}
    </tbody>
  </table>`;
}

/**
 * One is the line before a machine.
 * @param {{id: string}} props
 */
function One({ id }) {
  const answer = useFresh(`/api/v1/next?machine=${encodeURIComponent(id)}`, LOOK_MS),
    v = answer.value;
  return html`<${Answered} answer=${answer} />${v && html`<${Line} v=${v} />`}`;
}

function Page() {
  const turns = useSignal(0);
  useEffect(() => {
    loadShop().catch(failed);
  }, []);
  const ids = theShop()
      .machines.filter(tried)
      .map((m) => m.machine),
    id = chosen.value.machine || "";
  return html`
    <h1>${say("next.title")}</h1>
    ${shop.value &&
    (ids.length === 0
      ? html`<p class="empty" data-test="no-machines">${say("next.no-machines")}</p>`
      : html`
          <${MachineChoice} id=${id} />
          ${id
            ? html`<${One} key=${id + turns.value} id=${id} />`
            : html`<${All} key=${turns.value} ids=${ids} />`}
        `)}
    <${Rules} after=${() => turns.value++} />
  `;
}

start(() => (me.value ? html`<${Page} />` : null));
