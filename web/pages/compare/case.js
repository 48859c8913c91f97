// A machine case as the address keeps it, and what it comes to.
import { html, signal } from "../../lib/vendor/ui.js";

import { CsvButton } from "../../lib/csv.js";
import { say } from "../../lib/words.js";
import { costsOf, keepCosts, putCosts, usualOf } from "./state.js";
import { hours, money, num, percent, Scroll, Warn, whole, years } from "./text.js";

/**
 * @typedef {import("./state.js").Schema} Schema
 * @typedef {Schema["Cases"]} Cases
 * @typedef {Schema["Case"]} Year
 * @typedef {Required<Schema["CaseMachine"]>} Machine
 * @typedef {Required<Schema["CaseMember"]>} Member
 * @typedef {Required<Schema["CaseWorth"]>} Worth
 * @typedef {{machine: Machine, members: Member[], worth: Worth,
 *   costs: import("./state.js").Costs}} MachineCase
 * Row is a figure: key, a year's number, its text, whether it stands out.
 * @typedef {[string, (x: Year) => number | null, (v: number | null, x: Year) => unknown, boolean?]} Row
 */

// A machine case as the address keeps it.

/**
 * A load from other work that nobody entered is null: the server then takes that
 * of the last quarter.
 * @type {Machine}
 */
const machine = { work_centre: "", price: 0, one_off: 0, open_h_week: 80, weeks: 46, busy: null };
/** @type {Worth} */
const worth = { replaced: 0, hour: 0, labour: 0 };

/**
 * @template T
 * @param {string | null} text
 * @param {T} other
 * @returns {T}
 */
function json(text, other) {
  try {
    return JSON.parse(text || "null") || other;
  } catch {
    return other;
  }
}

/** @returns {MachineCase} */
function read() {
  const q = new URLSearchParams(location.search),
    members = json(q.get("members"), /** @type {Member[]} */ ([]));
  return {
    machine: { ...machine, ...json(q.get("machine"), {}) },
    members: Array.isArray(members) ? members.filter((m) => m && m.part && m.now && m.then) : [],
    worth: { ...worth, ...json(q.get("worth"), {}) },
    costs: costsOf(q),
  };
}

export const machineCase = signal(read());
addEventListener("popstate", () => {
  machineCase.value = read();
});

/**
 * changeCase changes it, and the address with it.
 * @param {Partial<MachineCase>} some
 * @param {{replace?: boolean}} [options]
 */
export function changeCase(some, { replace = false } = {}) {
  const c = { ...machineCase.value, ...some },
    q = new URLSearchParams();
  for (const k of /** @type {const} */ (["machine", "members", "worth"])) q.set(k, JSON.stringify(c[k]));
  putCosts(q, c.costs);
  if (some.costs) keepCosts(some.costs);
  history[replace ? "replaceState" : "pushState"](null, "", location.pathname + "?" + q);
  machineCase.value = c;
}

/**
 * newMember is a part with the demand and the batch size that were usual, from
 * its older route to its newest.
 * @param {string} part
 * @param {string[]} revs
 * @returns {Promise<Member>}
 */
export async function newMember(part, revs) {
  const usual = await usualOf(part);
  return {
    part,
    demand: Math.round(usual.demand),
    size: usual.size,
    now: { route_rev: revs.at(-2) ?? revs[0] },
    then: { route_rev: revs[revs.length - 1] },
  };
}

/**
 * bodyOf is what the server is asked; a load that nobody entered is left to it.
 * @param {MachineCase} c
 */
export const bodyOf = (c) => ({
  machine: { ...c.machine, busy: c.machine.busy ?? undefined },
  members: c.members,
  worth: c.worth,
  costs: c.costs,
});

// What a machine would come to: in sentences, then for the demand, half of it
// and double.

/** @typedef {[string, number]} Freed */

/**
 * freed is the hours of a year that other work centres need less, or more.
 * @param {Year} x
 * @param {string} centre
 */
const freed = (x, centre) =>
  Object.entries(x.freed_h)
    .map(/** @returns {Freed} */ ([w, h]) => [w, h ?? 0])
    .filter(([w, h]) => w !== centre && Math.abs(h) >= 0.5)
    .sort((a, b) => b[1] - a[1]);
/**
 * @param {Year} x
 * @param {string} centre
 */
const sumFreed = (x, centre) => freed(x, centre).reduce((n, [, h]) => n + Math.max(0, h), 0);
/** @param {Year} x */
const queue = (x) => (x.fits ? hours((x.queue_min || 0) / 60) : html`<b>${say("compare.never")}</b>`);
/** @param {Year} x */
const recover = (x) =>
  x.down_recover_weeks !== null && x.down_recover_weeks < 0.95
    ? say("case.down.soon", num(x.down_backlog_h, 0))
    : x.down_recover_weeks === null
      ? say("case.down.never", num(x.down_backlog_h, 0))
      : say("case.down.says", num(x.down_backlog_h, 0), num(x.down_recover_weeks, 1));

/** @param {{v: Cases, c: MachineCase}} props */
function Said({ v, c }) {
  const x = v.cases[0],
    m = c.machine,
    cur = v.currency,
    out = [];
  out.push(
    say(
      (x.taken_h ?? 0) > 0 ? "case.says.hours" : "case.says.no-hours",
      m.work_centre,
      num(x.taken_h, 0),
      num(sumFreed(x, m.work_centre), 0),
      whole(x.good),
    ),
  );
  if (x.cash !== null)
    out.push(
      Math.abs(x.cash) < 0.5
        ? say("case.says.no-cash")
        : say(x.cash > 0 ? "case.says.cash" : "case.says.cash-less", money(Math.abs(x.cash), cur, 0)),
    );
  if ((x.hours_value ?? 0) > 0)
    out.push(say("case.says.worth", money(x.hours_value, cur, 0), percent(c.worth.replaced, 0)));
  else out.push(say("case.says.no-worth"));
  if (x.invest > 0 && !x.fits) out.push(say("case.says.too-full", money(x.invest, cur, 0)));
  else if (x.invest > 0)
    out.push(
      x.payback_years === null
        ? say("case.says.never", money(x.invest, cur, 0))
        : say(
            "case.says.payback",
            money(x.invest, cur, 0),
            years(x.payback_years),
            x.payback_cash_years === null
              ? say("case.not-alone")
              : say("case.alone", years(x.payback_cash_years)),
          ),
    );
  return html`<div class="answer" data-test="case-says">
    ${out.map((s, i) => html`<p key=${i}>${s}</p>`)}
    ${v.cases
      .filter((y) => !y.fits)
      .map(
        (y) =>
          html`<${Warn} key=${y.factor} test="too-full">
            ${say("case.full", say("case.factor." + y.factor), m.work_centre, percent(y.load, 0))}
          <//>`,
      )}
    ${x.taken_h === 0 && html`<${Warn} test="not-used">${say("case.unused", m.work_centre)}<//>`}
  </div>`;
}

/** @param {number} h */
const frees = (h) => (h >= 0 ? say("compare.frees", num(h, 0)) : say("compare.takes", num(-h, 0)));

/**
 * rowsOf are the figures.
 * @param {Cases} v
 * @param {MachineCase} c
 * @returns {Row[]}
 */
function rowsOf(v, c) {
  const cur = v.currency,
    m = (/** @type {number | null} */ h) => num(h, 0);
  /** @type {(k: Exclude<keyof Year, "fits" | "freed_h">) => Row[1]} */
  const is = (k) => (x) => x[k];
  /** @type {Row[2]} */
  const back = (y, x) => (x.invest <= 0 ? say("none") : x.fits ? years(y) : say("case.cannot"));
  const all = [...new Set(v.cases.flatMap((x) => freed(x, c.machine.work_centre).map(([w]) => w)))];
  return [
    ["good", is("good"), whole],
    ["batches", is("batches"), whole],
    ["taken", is("taken_h"), m, true],
    ...all.map(
      /** @returns {Row} */
      (w) => ["freed:" + w, (x) => x.freed_h[w] || 0, (h) => frees(h ?? 0)],
    ),
    ["cash", is("cash"), (x) => money(x, cur, 0), true],
    ["hours_value", is("hours_value"), (x) => money(x, cur, 0)],
    ["invest", is("invest"), (x) => money(x, cur, 0)],
    ["payback", is("payback_years"), back, true],
    ["payback_cash", is("payback_cash_years"), back, true],
    ["load", is("load"), (x) => percent(x, 0)],
    ["queue", is("queue_min"), (_, x) => queue(x)],
    ["down", is("down_recover_weeks"), (_, x) => recover(x)],
  ];
}

/** @param {{v: Cases, c: MachineCase}} props */
export function Results({ v, c }) {
  const rows = rowsOf(v, c),
    name = (/** @type {string} */ k) =>
      k.startsWith("freed:") ? say("case.row.freed", k.slice(6)) : say("case.row." + k),
    cases = [v.cases[1], v.cases[0], v.cases[2]];
  const csv = () => rows.map(([k, of]) => [name(k), ...cases.map(of)]);
  return html`<section data-test="case-results">
    <h2>${say("case.answer")}</h2>
    <${Said} v=${v} c=${c} />
    <${Scroll}>
      <table class="compare cases">
        <thead>
          <tr>
            <td></td>
            ${cases.map((x) => html`<th key=${x.factor} class="n">${say("case.factor." + x.factor)}</th>`)}
          </tr>
        </thead>
        <tbody>
          ${rows.map(
            ([k, of, text, strong]) =>
              html`<tr key=${k} class=${strong ? "strong" : ""} data-test=${"case-" + k}>
                <th scope="row">${name(k)}</th>
                ${cases.map((x) => html`<td key=${x.factor} class="n">${text(of(x), x)}</td>`)}
              </tr>`,
          )}
        </tbody>
      </table>
    <//>
    <${CsvButton} name="machine-case" head=${["figure", ...cases.map((x) => String(x.factor))]} rows=${csv} />
    <ul class="notes-list">
      <li>${say("case.note.cash")}</li>
      <li>${say("case.note.hours")}</li>
      <li data-test="case-busy">${say("case.note.busy", percent(v.busy))}</li>
      <li>${say("case.note.load")}</li>
      <li>${say("case.note.down")}</li>
      <li>${say("case.note.sure")}</li>
    </ul>
  </section>`;
}
