// What could be done otherwise, to be added to a question.
import { html, useSignal } from "../../lib/vendor/ui.js";
import { now } from "../../lib/clock.js";
import { TimeInput } from "../../lib/form.js";
import { dateText, dayOf } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {import("./scenario.js").Change} Change
 * @typedef {import("./fresh.js").ForecastBatch} ForecastBatch
 * Data is what can be chosen from.
 * @typedef {{f: import("./fresh.js").Forecast, shop: Schema["Shop"], calendars: Schema["Calendars"],
 *   machinesOf: (calendar: string) => string[], batch: (card: string) => ForecastBatch | undefined}} Data
 */

const kinds = ["first", "overtime", "down", "split", "route", "rule"];
/** @type {Schema["Rules"]["rules"]} */
export const rules = ["due", "slack", "shortest", "setup", "wait"];

/** @param {ForecastBatch} b */
const batchText = (b) => [b.works_order || b.card, b.part, b.part_name].filter(Boolean).join(" ");

/**
 * @param {Change} c
 * @param {Data} data
 */
const nameOf = (c, data) => {
  const b = data.batch(c.card);
  return b ? b.works_order || b.card : c.card;
};

/**
 * changeText says a change in words.
 * @param {Change} c
 * @param {Data} data
 */
export function changeText(c, data) {
  switch (c.k) {
    case "first":
      return say("what-if.says.first", nameOf(c, data));
    case "overtime":
      return say(
        "what-if.says.overtime",
        c.calendar,
        dateText(c.date),
        `${c.from}–${c.to}`,
        data.machinesOf(c.calendar).join(", ") || say("none"),
      );
    case "down":
      return say(
        "what-if.says.down",
        c.machine,
        `${dateText(c.date)} ${c.from}`,
        `${dateText(c.until)} ${c.to}`,
      );
    case "split":
      return say("what-if.says.split", count("pieces", Number(c.pieces)), nameOf(c, data));
    case "route":
      return say("what-if.says.route", nameOf(c, data), c.rev);
    case "rule":
      return say("what-if.says.rule", say("ahead.rule." + c.rule));
  }
  return c.k;
}

/**
 * One is a field of a change: a list to choose from, or an input.
 * @typedef {{name: string, label: string, value: string, set: (v: string) => void}} One
 */

/** @param {One & {list: [string, string][]}} props */
function Choose({ name, label, list, value, set }) {
  return html`<label>
    ${label}
    <select required data-test=${"ask-" + name} onChange=${(/** @type {Input} */ e) => set(e.target.value)}>
      ${list.map(([v, text]) => html`<option key=${v} value=${v} selected=${v === value}>${text}</option>`)}
    </select>
  </label>`;
}

/** @param {One} props */
const Time = ({ name, label, value, set }) => html`<label>
  ${label} <${TimeInput} required data-test=${"ask-" + name} value=${value} set=${set} />
</label>`;

/** @param {One & {min?: string}} props */
const DateField = ({ name, label, value, set, min }) => html`<label>
  ${label}
  <input
    type="date"
    required
    min=${min}
    data-test=${"ask-" + name}
    value=${value}
    onInput=${(/** @type {Input} */ e) => set(e.target.value)}
  />
</label>`;

/** @param {Data} data */
const machinesThat = (data) =>
  data.shop.machines.filter((m) => !["stores", "dock", "outside"].includes(m.kind || ""));

/**
 * @param {Data} data
 * @param {string} card
 */
const revsOf = (data, card) => {
  const b = data.batch(card);
  return b ? data.shop.parts.filter((r) => r.part === b.part).map((r) => r.route_rev) : [];
};

/**
 * fresh is a change of a kind to begin with.
 * @param {string} k
 * @param {Data} data
 * @returns {Change}
 */
function fresh(k, data) {
  const today = dayOf(now()),
    card = data.f.batches[0]?.card || "";
  switch (k) {
    case "overtime":
      return {
        k,
        calendar: data.calendars.calendars[0]?.calendar || "",
        date: today,
        from: "14:00",
        to: "18:00",
      };
    case "down":
      return {
        k,
        machine: machinesThat(data)[0]?.machine || "",
        date: today,
        from: "06:00",
        until: today,
        to: "22:00",
      };
    case "split":
      return { k, card, pieces: "1" };
    case "route":
      return { k, card, rev: revsOf(data, card)[0] || "" };
    case "rule":
      return { k, rule: rules.find((r) => r !== data.f.rule) || "" };
  }
  return { k, card };
}

/** @param {{c: Change, data: Data, set: (c: Change) => void}} props */
function Fields({ c, data, set }) {
  const one = (/** @type {string} */ k) => (/** @type {string} */ v) => set({ ...c, [k]: v }),
    today = dayOf(now()),
    batch = (more = {}) =>
      html`<${Choose}
        name="card"
        label=${say("head.batch")}
        list=${data.f.batches.map((b) => [b.card, batchText(b)])}
        value=${c.card}
        set=${(/** @type {string} */ card) =>
          set({ ...c, card, ...(c.k === "route" ? { rev: revsOf(data, card)[0] || "" } : more) })}
      />`;
  switch (c.k) {
    case "overtime":
      return html`
        <${Choose}
          name="calendar"
          label=${say("what-if.calendar")}
          list=${data.calendars.calendars.map((k) => [
            k.calendar,
            `${k.calendar} (${k.machines.join(", ")})`,
          ])}
          value=${c.calendar}
          set=${one("calendar")}
        />
        <${DateField}
          name="date"
          label=${say("what-if.date")}
          min=${today}
          value=${c.date}
          set=${one("date")}
        />
        <${Time} name="from" label=${say("what-if.from")} value=${c.from} set=${one("from")} />
        <${Time} name="to" label=${say("what-if.to")} value=${c.to} set=${one("to")} />
      `;
    case "down":
      return html`
        <${Choose}
          name="machine"
          label=${say("head.machine")}
          list=${machinesThat(data).map((m) => [m.machine, `${m.machine} ${m.name}`])}
          value=${c.machine}
          set=${one("machine")}
        />
        <${DateField} name="date" label=${say("what-if.from")} value=${c.date} set=${one("date")} />
        <${Time} name="from" label=${say("what-if.from.time")} value=${c.from} set=${one("from")} />
        <${DateField}
          name="until"
          label=${say("what-if.to")}
          min=${c.date}
          value=${c.until}
          set=${one("until")}
        />
        <${Time} name="to" label=${say("what-if.to.time")} value=${c.to} set=${one("to")} />
      `;
    case "split":
      return html`
        ${batch()}
        <label>
          ${say("what-if.pieces")}
          <input
            type="number"
            class="short"
            min="1"
            required
            data-test="ask-pieces"
            value=${c.pieces}
            onInput=${(/** @type {Input} */ e) => set({ ...c, pieces: e.target.value })}
          />
        </label>
      `;
    case "route":
      return html`
        ${batch()}
        <${Choose}
          name="rev"
          label=${say("what-if.rev")}
          list=${revsOf(data, c.card).map((r) => [r, r])}
          value=${c.rev}
          set=${one("rev")}
        />
      `;
    case "rule":
      return html`<${Choose}
        name="rule"
        label=${say("what-if.rule")}
        list=${rules.map((r) => [r, say("ahead.rule." + r)])}
        value=${c.rule}
        set=${one("rule")}
      />`;
  }
  return batch();
}

/**
 * usable are the kinds that this shop has something to choose from for.
 * @param {Data} data
 */
const usable = (data) =>
  kinds.filter((k) =>
    k === "overtime"
      ? data.calendars.calendars.length > 0
      : ["first", "split", "route"].includes(k)
        ? data.f.batches.length > 0
        : true,
  );

/**
 * Ask adds a change to a question.
 * @param {{data: Data, add: (c: Change) => void}} props
 */
export function Ask({ data, add }) {
  const c = useSignal(/** @type {Change | null} */ (null)),
    list = usable(data),
    shown = c.value || fresh(list[0], data);
  const set = (/** @type {Change} */ v) => {
    c.value = v;
  };
  return html`<form
    class="tools filters"
    data-test="ask"
    onSubmit=${(/** @type {Event} */ e) => {
      e.preventDefault();
      add(shown);
    }}>
    <${Choose}
      name="kind"
      label=${say("what-if.kind")}
      list=${list.map((k) => [k, say("what-if.kind." + k)])}
      value=${shown.k}
      set=${(/** @type {string} */ k) => set(fresh(k, data))}
    />
    <${Fields} key=${shown.k} c=${shown} data=${data} set=${set} />
    <button class="act" type="submit" data-test="ask-add">${say("what-if.add")}</button>
  </form>`;
}
