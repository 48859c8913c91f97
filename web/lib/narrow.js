// Rows of the waits board narrowed down by customer, due week, late, hot, held and
// short. What is chosen stands in the address, so that a list can be sent on.
import { html } from "./vendor/ui.js";
import { choose, chosen } from "./filters.js";
import { dateText } from "./times.js";
import { say } from "./words.js";

/**
 * @typedef {import("./_types.js").Input} Input
 * Row is what of a row it is narrowed down by.
 * @typedef {{customer?: string, due?: string, late?: boolean, hot?: boolean, short?: number,
 *   state: string}} Row
 */

/**
 * weekOf is the Monday of the week of a date, as 2026-11-23.
 * @param {string} date
 */
export function weekOf(date) {
  const d = new Date(date + "T00:00:00Z");
  d.setUTCDate(d.getUTCDate() - ((d.getUTCDay() + 6) % 7));
  return d.toISOString().slice(0, 10);
}

/** @type {Record<string, (r: Row) => boolean>} */
const marks = {
  late: (r) => Boolean(r.late),
  hot: (r) => Boolean(r.hot),
  held: (r) => r.state === "held",
  short: (r) => (r.short ?? 0) > 0,
};

/**
 * isNarrowed says whether anything is chosen.
 * @param {Record<string, string>} by
 */
export const isNarrowed = (by) => Boolean(by.customer || by.week || Object.keys(marks).some((m) => by[m]));

/**
 * narrowed is the rows that fit what is chosen; of marks, each that is chosen must hold.
 * @template {Row} T
 * @param {T[]} list
 * @param {Record<string, string>} by
 * @returns {T[]}
 */
export function narrowed(list, by) {
  if (!isNarrowed(by)) return list;
  return list.filter(
    (r) =>
      (!by.customer || r.customer === by.customer) &&
      (!by.week || (r.due ? weekOf(r.due) : "none") === by.week) &&
      Object.entries(marks).every(([name, holds]) => !by[name] || holds(r)),
  );
}

/** @type {(list: (string | undefined)[]) => string[]} */
const each = (list) => [...new Set(list.flatMap((x) => x || []))].sort();

/**
 * Narrow shows what the rows can be narrowed down by.
 * @param {{list: Row[]}} props
 */
export function Narrow({ list }) {
  const by = chosen.value;
  const set = (/** @type {string} */ name) => (/** @type {Input} */ e) => choose({ [name]: e.target.value });
  const option = (/** @type {string} */ name, /** @type {string} */ value, /** @type {string} */ text) =>
    html`<option key=${value} value=${value} selected=${(by[name] || "") === value}>${text}</option>`;
  const customers = each([...list.map((r) => r.customer), by.customer]),
    weeks = each([...list.map((r) => r.due && weekOf(r.due)), by.week !== "none" ? by.week : ""]);
  return html`
    <label>
      ${say("narrow.customer")}
      <select data-test="narrow-customer" onChange=${set("customer")}>
        ${option("customer", "", say("narrow.all"))}
        ${customers.map((c) => option("customer", c, c))}
      </select>
    </label>
    <label>
      ${say("narrow.week")}
      <select data-test="narrow-week" onChange=${set("week")}>
        ${option("week", "", say("narrow.all"))}
        ${weeks.map((w) => option("week", w, say("narrow.week.of", dateText(w))))}
        ${option("week", "none", say("narrow.week.none"))}
      </select>
    </label>
    <p class="narrow" role="group" aria-label=${say("narrow.only")}>
      ${Object.keys(marks).map(
        (name) =>
          html`<button
            key=${name}
            type="button"
            data-test=${"narrow-" + name}
            aria-pressed=${by[name] ? "true" : "false"}
            onClick=${() => choose({ [name]: by[name] ? "" : "1" })}>
            ${say("narrow." + name)}
          </button>`,
      )}
    </p>
  `;
}
