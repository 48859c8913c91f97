// Figures worked out twice: as the pages show them, and straight from the scans
// by a second, plain way.
import { html, useEffect } from "../../lib/vendor/ui.js";
import { CsvButton } from "../../lib/csv.js";
import { choose, chosen, Filters, query, selection } from "../../lib/filters.js";
import { useAnswer } from "../../lib/form.js";
import { Mark } from "../../lib/marks.js";
import { fixed } from "../../lib/numbers.js";
import { failed, me, start } from "../../lib/shell.js";
import { loadShop } from "../../lib/shop.js";
import { span } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("../../lib/_types.js").Schema} Schema
 */

/** @type {(v: number, unit: string) => string} */
const value = (v, unit) =>
  unit === "s" ? span(v * 1000) : unit === "%" ? say("percent", fixed(v, 3)) : String(v);

/** @param {{list: Schema["Figure"][]}} props */
function Figures({ list }) {
  return html`
    <table data-test="check-figures">
      <thead>
        <tr>
          <th>${say("check.figure")}</th>
          <th class="n">${say("check.shown")}</th>
          <th class="n">${say("check.plain")}</th>
          <td></td>
        </tr>
      </thead>
      <tbody>
        ${list.map(
          (f) => html`<tr key=${f.name} data-test="check-figure" data-same=${f.same}>
            <th scope="row">${say("check." + f.name)}</th>
            <td class="n">${value(f.shown, f.unit)}</td>
            <td class="n">${value(f.plain, f.unit)}</td>
            <td>${f.same ? say("check.same") : html`<${Mark} kind="ask">${say("check.differs")}<//>`}</td>
          </tr>`,
        )}
      </tbody>
    </table>
    <${CsvButton}
      name="check"
      head=${["figure", "unit", "shown", "plain", "same"]}
      rows=${() => list.map((f) => [f.name, f.unit, f.shown, f.plain, f.same])}
    />
  `;
}

/** @param {{list: Schema["Difference"][]}} props */
function Differ({ list }) {
  if (list.length === 0) return null;
  const unit = (/** @type {string} */ k) => (["lead", "run", "setup", "stop", "rest"].includes(k) ? "s" : "");
  return html`<section>
    <h2>${say("check.differ")}</h2>
    <table class="stack">
      <thead>
        <tr>
          <th>${say("head.batch")}</th>
          <th>${say("check.figure")}</th>
          <th class="n">${say("check.shown")}</th>
          <th class="n">${say("check.plain")}</th>
          <th>${say("check.entries")}</th>
        </tr>
      </thead>
      <tbody>
        ${list.map(
          (x) => html`<tr key=${x.card + x.figure}>
            <td><a class="batch" href=${"/batch/" + x.card}>${x.card}</a></td>
            <td>${say("check." + x.figure)}</td>
            <td class="n" data-label=${say("check.shown")}>${value(x.shown, unit(x.figure))}</td>
            <td class="n" data-label=${say("check.plain")}>${value(x.plain, unit(x.figure))}</td>
            <td data-test="check-entries" data-label=${say("check.entries")}>${x.entries.join(", ")}</td>
          </tr>`,
        )}
      </tbody>
    </table>
    <${CsvButton}
      name="check-batches"
      head=${["card", "figure", "unit", "shown", "plain", "entries"]}
      rows=${() => list.map((x) => [x.card, x.figure, unit(x.figure), x.shown, x.plain, x.entries.join(" ")])}
    />
  </section>`;
}

/** @param {{of: Schema["Check"]["reasons"], n: number}} props */
function Reasons({ of, n }) {
  const list = Object.entries(of).sort((a, b) => b[1] - a[1]);
  if (list.length === 0) return null;
  return html`<details>
    <summary>${count("check.tangled", n)}</summary>
    <table>
      <tbody>
        ${list.map(([why, k]) => html`<tr key=${why}><td>${why}</td><td class="n">${k}</td></tr>`)}
      </tbody>
    </table>
  </details>`;
}

function Page() {
  useEffect(() => {
    loadShop().catch(failed);
  }, []);
  const answer = useAnswer(`/api/v1/check?${query([...selection, "most"])}`),
    c = answer.value?.check,
    most = chosen.value.most || "300";
  return html`
    <h1>${say("check.title")}</h1>
    <p>${say("check.what")}</p>
    <${Filters}>
      <label>
        ${say("check.most")}
        <select
          data-test="check-most"
          onChange=${(/** @type {Input} */ e) => choose({ most: e.target.value })}>
          ${["100", "300", "1000", "2000"].map(
            (n) => html`<option key=${n} value=${n} selected=${n === most}>${n}</option>`,
          )}
        </select>
      </label>
    <//>
    ${answer.problem && html`<p class="problem" data-test="failed">${answer.problem}</p>`}
    ${!c
      ? html`<p class="soft">${say("loading")}</p>`
      : html`
          <p class="summary" data-test="check-summary">
            ${count("check.batches", c.batches)} ${count("check.agree", c.same)}
          </p>
          ${c.batches === 0
            ? html`<p class="empty">${say("history.none")}</p>`
            : html`
                <${Figures} list=${c.figures} />
                <${Differ} list=${c.differ} />
                <${Reasons} of=${c.reasons} n=${c.tangled} />
              `}
        `}
  `;
}

start(() => (me.value ? html`<${Page} />` : null));
