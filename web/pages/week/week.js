// A week or a month beside the four before: what was finished and shipped, on time, late
// and short apart, scrap by cause, hours of machines, and planned times that no longer fit.
import { html, useEffect } from "../../lib/vendor/ui.js";
import { CsvButton } from "../../lib/csv.js";
import { choose, chosen, query } from "../../lib/filters.js";
import { Answered, useAnswer } from "../../lib/form.js";
import { fixed, hours, number, percent } from "../../lib/numbers.js";
import { failed, me, start } from "../../lib/shell.js";
import { loadShop, reasonText, shop } from "../../lib/shop.js";
import { dateText, dayOf, span } from "../../lib/times.js";
import { now } from "../../lib/clock.js";
import { say } from "../../lib/words.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {Schema["Weeks"]} Weeks
 * @typedef {Schema["WeekPeriod"]} Period
 */

/** @type {(a: number, b: number) => string} */
const share = (a, b) => (b > 0 ? `${number(a)} (${percent(a / b)})` : number(a));

// The figures of a period, each with what it is called.
/** @type {[string, (p: Period) => string][]} */
const figures = [
  ["finished", (p) => number(p.finished)],
  ["good", (p) => share(p.good, p.started)],
  ["scrap", (p) => share(p.scrap, p.started)],
  ["shipped", (p) => number(p.shipped)],
  ["pieces", (p) => number(p.pieces)],
  ["lines", (p) => number(p.on_time.lines)],
  ["in-full", (p) => share(p.on_time.lines_on_time, p.on_time.lines)],
  ["late", (p) => share(p.on_time.lines_late, p.on_time.lines)],
  ["short", (p) => share(p.on_time.lines_short, p.on_time.lines)],
  ["late-short", (p) => number(p.on_time.lines_late_and_short)],
  ["run", (p) => hours(p.run_s)],
  ["setup", (p) => hours(p.setup_s)],
  ["firstoff", (p) => hours(p.firstoff_s)],
  ["stop", (p) => hours(p.stop_s)],
];

/** @param {Period} p */
const within = (p) => new URLSearchParams({ from: p.from, to: p.to }).toString();

/** @param {{v: Weeks}} props */
function Figures({ v }) {
  return html`<section data-test="week-figures">
    <table class="week">
      <thead>
        <tr>
          <th>${say("week.figure")}</th>
          ${v.periods.map(
            (p, i) => html`<th key=${p.from} class="n" data-test="week-period" data-from=${p.from}>
              <a href=${"/history?" + within(p)}>${dateText(p.from)}</a>
              ${i === 0 && p.to >= dayOf(now()) && html` <small>${say("week.so-far")}</small>`}
            </th>`,
          )}
        </tr>
      </thead>
      <tbody>
        ${figures.map(
          ([name, of]) => html`<tr key=${name} data-test=${"week-" + name}>
            <th scope="row">${say("week." + name)}</th>
            ${v.periods.map(
              (p, i) => html`<td key=${p.from} class="n">${i ? of(p) : html`<b>${of(p)}</b>`}</td>`,
            )}
          </tr>`,
        )}
      </tbody>
    </table>
    <p class="soft">${say("week.how")}</p>
  </section>`;
}

/** @param {{names: string[]}} props */
const Head = ({ names }) => html`<thead>
  <tr>${names.map((n, i) => html`<th key=${n} class=${i ? "n" : ""}>${say("week." + n)}</th>`)}</tr>
</thead>`;

/** @param {{v: Weeks}} props */
function Scrap({ v }) {
  if (v.scrap.length === 0) return null;
  return html`<section data-test="week-scrap-by">
    <h2><a href=${"/losses?" + within(v.periods[0])}>${say("week.scrap-by")}</a></h2>
    <table class="week">
      <${Head} names=${["cause", "pieces-lost", "before"]} />
      <tbody>
        ${v.scrap.map(
          (x) => html`<tr key=${x.reason} data-test="week-cause" data-reason=${x.reason}>
            <th scope="row">${reasonText(x.reason, "scrap")}</th>
            <td class="n"><b>${number(x.pieces)}</b></td>
            <td class="n">${number(x.before)}</td>
          </tr>`,
        )}
      </tbody>
    </table>
  </section>`;
}

/** @param {{v: Weeks}} props */
function Machines({ v }) {
  if (v.machines.length === 0) return null;
  const at = (/** @type {Schema["WeekMachine"]} */ m) =>
    "/machines?machine=" + encodeURIComponent(m.machine) + "&" + within(v.periods[0]);
  return html`<section data-test="week-machines">
    <h2>${say("week.machines")}</h2>
    <table class="week">
      <${Head} names=${["machine", "open", "run", "setup", "firstoff", "stop", "run-before"]} />
      <tbody>
        ${v.machines.map(
          (m) => html`<tr key=${m.machine} data-test="week-machine">
            <th scope="row"><a href=${at(m)}>${m.machine}</a> <small>${m.name}</small></th>
            ${[m.open_s, m.run_s, m.setup_s, m.firstoff_s, m.stop_s, m.run_before_s].map(
              (s, i) => html`<td key=${i} class="n">${hours(s)}</td>`,
            )}
          </tr>`,
        )}
      </tbody>
    </table>
  </section>`;
}

/** @param {{v: Weeks}} props */
function Learnt({ v }) {
  const fresh = v.learnt.filter((f) => f.new),
    known = v.learnt.length - fresh.length;
  const rows = fresh.length ? fresh : v.learnt;
  return html`<section data-test="week-learnt">
    <h2><a href="/fits">${say("week.learnt")}</a></h2>
    <p>${say("week.learnt.how", fresh.length, known)}</p>
    ${rows.length > 0 &&
    html`<table class="week">
      <${Head} names=${["operation", "planned", "actual", "of-plan", "batches"]} />
      <tbody>
        ${rows
          .slice(0, 12)
          .map(
            (f) => html`<tr key=${[f.part, f.route_rev, f.operation, f.what].join("/")} data-test="week-fit">
              <th scope="row">
                <a href=${"/fits?part=" + encodeURIComponent(f.part)}>
                  ${say("losses.operation-of", f.part, f.operation)}
                </a>${" "}
                <small>${say("route.rev", f.route_rev)}, ${say("fits.what." + f.what)}</small>
              </th>
              <td class="n">${span(f.plan_s * 1000)}</td>
              <td class="n"><b>${span(f.actual_s * 1000)}</b></td>
              <td class="n">${say("percent", fixed(100 * f.ratio, 0))}</td>
              <td class="n">${number(f.n)}</td>
            </tr>`,
          )}
      </tbody>
    </table>`}
  </section>`;
}

/** @type {(keyof Period)[]} */
const flat = ["from", "to", "finished", "started", "good", "scrap", "shipped", "pieces"];
/** @type {(keyof Period)[]} */
const timed = ["run_s", "setup_s", "firstoff_s", "stop_s", "open_s"];
/** @type {(keyof Period["on_time"])[]} */
const lines = ["lines", "lines_on_time", "lines_late", "lines_short", "lines_late_and_short"];

/** @param {{v: Weeks | null}} props */
function Choose({ v }) {
  const of = chosen.value.of || "week";
  return html`<form class="deeds" onSubmit=${(/** @type {Event} */ e) => e.preventDefault()}>
    ${["week", "month"].map(
      (k) => html`<button
        key=${k}
        type="button"
        data-test=${"of-" + k}
        aria-pressed=${of === k}
        onClick=${() => choose({ of: k === "week" ? "" : k })}>
        ${say("week.of." + k)}
      </button>`,
    )}
    <label>
      ${say("week.day")}
      <input
        type="date"
        data-test="week-day"
        max=${dayOf(now())}
        value=${chosen.value.date || dayOf(now())}
        onChange=${(/** @type {Input} */ e) => choose({ date: e.target.value })}
      />
    </label>
    <a class="button" data-test="week-book" href=${"/api/v1/week/sheet.xlsx?" + query(["of", "date"])}>
      ${say("week.book")}
    </a>
    ${v &&
    html`<${CsvButton}
      name=${"week-" + v.periods[0].from}
      head=${[...flat, ...lines, ...timed]}
      rows=${() =>
        v.periods.map((p) => [
          ...flat.map((k) => p[k]),
          ...lines.map((k) => p.on_time[k]),
          ...timed.map((k) => p[k]),
        ])}
    />`}
    <button type="button" onClick=${() => print()}>${say("week.print")}</button>
  </form>`;
}

function Page() {
  useEffect(() => {
    loadShop().catch(failed);
  }, []);
  const answer = useAnswer(`/api/v1/week?${query(["of", "date"])}`);
  const v = answer.value;
  return html`
    <h1>${say("week.title")}</h1>
    <${Choose} v=${v} />
    <${Answered} answer=${answer} />
    ${v &&
    shop.value &&
    html`<${Figures} v=${v} /><${Scrap} v=${v} /><${Machines} v=${v} /><${Learnt} v=${v} />`}
  `;
}

start(() => (me.value ? html`<${Page} />` : null));
