// A card that was filled in by hand while nothing could be scanned: a supervisor types its
// rows, and they become scans with their times.
import { html, signal, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get, post, uuid7 } from "../../lib/api.js";
import { now } from "../../lib/clock.js";
import { TimeInput } from "../../lib/form.js";
import { failed, me, start } from "../../lib/shell.js";
import { loadShop, shop, theShop } from "../../lib/shop.js";
import { dayOf, fromLocal } from "../../lib/times.js";
import { say } from "../../lib/words.js";
import { busy, change as set, isLocked, recordAll } from "./record.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {import("./record.js").Typed} Typed
 * @typedef {"machine" | "person" | "date" | "from" | "to" | "good" | "scrap" | "reason"} TextName
 */

const PAPER = "typed from paper"; // the note by which these scans are known

const batch = signal(/** @type {Schema["Batch"] | null} */ (null));
const rows = signal(/** @type {Typed[]} */ ([]));

/**
 * emptyRow proposes the machine that is alone in the operation's work centre.
 * @param {{operation: number, work_centre: string}} o
 * @returns {Typed}
 */
function emptyRow(o) {
  const can = theShop().machines.filter((m) => m.work_centre === o.work_centre);
  return {
    key: uuid7(now()),
    operation: o.operation,
    machine: can.length === 1 ? can[0].machine : "",
    person: "",
    date: dayOf(now()),
    from: "",
    to: "",
    good: "",
    scrap: "",
    reason: "",
    finish: true,
    sent: null,
    recorded: [],
    done: false,
    results: null,
    problem: null,
    fault: null,
  };
}

/** @type {(key: string, more: Partial<Typed>) => void} */
const change = (key, more) => set(rows, key, more);

/** @param {string} card */
const sendAll = (card) =>
  recordAll(rows, {
    at: fromLocal,
    now,
    base: { card, present: false, note: PAPER },
    id: uuid7,
    send: async (scans) => (await post("/api/v1/scans?now=none", { scans })).results,
    say,
    lost: (err) => say("typed.lost", err.message, say("typed.do")),
  });

/** @param {{r: Typed, name: TextName, label: string, children?: unknown}} props */
function Field({ r, name, label, children }) {
  return html`<td data-label=${label} data-field=${name} class=${r.fault === name ? "problem" : ""}>
    ${children}
  </td>`;
}

/** @param {{r: Typed, machines: [string, string][], reasons: [string, string][]}} props */
function RowLine({ r, machines, reasons }) {
  /** @type {(name: TextName, more?: Record<string, unknown>) => unknown} */
  const input = (name, more = {}) =>
    html`<${Field} r=${r} name=${name} label=${say("typed." + name)}>
      <input
        aria-label=${say("typed." + name)}
        data-test=${`${name}-${r.operation}`}
        value=${r[name]}
        disabled=${isLocked(r, name)}
        ...${more}
        onInput=${(/** @type {Input} */ e) => change(r.key, { [name]: e.target.value })}
      />
    <//>`;
  /** @type {(name: TextName, options: [string, string][]) => unknown} */
  const select = (name, options) =>
    html`<${Field} r=${r} name=${name} label=${say("typed." + name)}>
      <select
        aria-label=${say("typed." + name)}
        data-test=${`${name}-${r.operation}`}
        disabled=${isLocked(r, name)}
        onChange=${(/** @type {Input} */ e) => change(r.key, { [name]: e.target.value })}>
        ${[["", ""], ...options].map(
          ([v, text]) => html`<option key=${v} value=${v} selected=${v === r[name]}>${text}</option>`,
        )}
      </select>
    <//>`;
  const time = (/** @type {TextName} */ name) =>
    html`<${Field} r=${r} name=${name} label=${say("typed." + name)}>
      <${TimeInput}
        aria-label=${say("typed." + name)}
        data-test=${`${name}-${r.operation}`}
        disabled=${isLocked(r, name)}
        value=${r[name]}
        set=${(/** @type {string} */ v) => change(r.key, { [name]: v })}
      />
    <//>`;
  const cells = [
    select("machine", machines),
    input("person", { size: 5, autocomplete: "off" }),
    input("date", { type: "date" }),
    time("from"),
    time("to"),
    input("good", { size: 5, inputmode: "numeric" }),
    input("scrap", { size: 5, inputmode: "numeric" }),
    select("reason", reasons),
  ];
  return html`<tr data-test="typed-row" data-done=${r.done}>
    <th scope="row">${r.operation}</th>
    ${cells}
    <td data-label=${say("typed.finish")}>
      <input
        type="checkbox"
        aria-label=${say("typed.finish")}
        disabled=${isLocked(r, "finish")}
        checked=${r.finish}
        onChange=${(/** @type {Input} */ e) => change(r.key, { finish: e.target.checked })}
      />
    </td>
    <td class="outcome"><${Outcome} r=${r} /></td>
  </tr>`;
}

/** @param {{r: Typed}} props */
function Outcome({ r }) {
  if (r.problem) return html`<span class="problem" role="alert" data-test="problem">${r.problem}</span>`;
  if (!r.results) return null;
  const odd = r.results.find((x) => x.outcome === "refused") ?? r.results.find((x) => x.outcome !== "kept");
  return odd
    ? html`<span class=${r.done ? "" : "problem"} data-test="odd">
        ${say("outcome." + odd.outcome, odd.say)}
      </span>`
    : html`<b data-test="kept">${say("typed.kept")}</b>`;
}

/** @param {{b: Schema["Batch"]}} props */
function Card({ b }) {
  const machines = theShop().machines.map((m) => [m.machine, `${m.machine} ${m.name}`]),
    reasons = theShop()
      .reasons.filter((x) => x.kind === "scrap")
      .map((x) => [x.reason, x.text || x.reason]);
  const more = () => {
    rows.value = [...rows.value, ...b.operations.map(emptyRow)].sort((x, y) => x.operation - y.operation);
  };
  const names = ["machine", "person", "date", "from", "to", "good", "scrap", "reason", "finish"];
  return html`
    <h2><a href=${"/batch/" + b.card}>${b.works_order || b.card}</a>, ${b.part}</h2>
    <p class="soft">${say("typed.how")}</p>
    <table class="typed">
      <thead>
        <tr>
          <th scope="col">${say("typed.operation")}</th>
          ${names.map((n) => html`<th key=${n} scope="col">${say("typed." + n)}</th>`)}
          <td></td>
        </tr>
      </thead>
      <tbody>
        ${rows.value.map(
          (r) => html`<${RowLine} key=${r.key} r=${r} machines=${machines} reasons=${reasons} />`,
        )}
      </tbody>
    </table>
    <p class="deeds">
      <button class="act" data-test="typed-go" disabled=${busy.value} onClick=${() => sendAll(b.card)}>
        ${say("typed.do")}
      </button>
      <button data-test="typed-more" onClick=${more}>${say("typed.more")}</button>
    </p>
    <p class="soft">${say("typed.caution")}</p>
  `;
}

function Page() {
  const ref = useSignal(new URLSearchParams(location.search).get("card") || "");
  const load = async () => {
    try {
      const [b] = await Promise.all([
        get(`/api/v1/batches/${encodeURIComponent(ref.value.trim())}`),
        loadShop(),
      ]);
      batch.value = b;
      rows.value = b.operations.map(emptyRow);
    } catch (err) {
      failed(err);
    }
  };
  useEffect(() => {
    if (ref.value) load();
  }, []);
  return html`
    <h1>${say("typed.title")}</h1>
    <p class="soft">${say("typed.what")}</p>
    <form
      class="deeds"
      onSubmit=${(/** @type {Event} */ e) => {
        e.preventDefault();
        load();
      }}>
      <label>
        ${say("typed.card")}
        <input
          data-test="typed-card"
          required
          autocomplete="off"
          value=${ref.value}
          onInput=${(/** @type {Input} */ e) => {
            ref.value = e.target.value;
          }}
        />
      </label>
      <button data-test="typed-load" disabled=${busy.value}>${say("typed.load")}</button>
    </form>
    ${batch.value && shop.value && html`<${Card} b=${batch.value} />`}
  `;
}

start(() => (me.value ? html`<${Page} />` : null));
