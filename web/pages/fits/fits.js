// Which planned times no longer fit: a test of each against the batches, and a
// new route revision for those that someone wants to take over.
import { html, useEffect } from "../../lib/vendor/ui.js";
import { CsvButton } from "../../lib/csv.js";
import { Filters, query, selection } from "../../lib/filters.js";
import { Answered, useAnswer } from "../../lib/form.js";
import { fixed } from "../../lib/numbers.js";
import { failed, may, me, start } from "../../lib/shell.js";
import { loadShop, shop } from "../../lib/shop.js";
import { count, say } from "../../lib/words.js";
import { FitTable } from "./against.js";
import { Pools } from "./pools.js";
import { TakeOver } from "./takeover.js";

/**
 * @typedef {import("../../lib/_types.js").Schema["Fits"]} Fits
 * @typedef {import("../../lib/_types.js").Schema["Fit"]} Fit
 * @typedef {[number, number]} Range
 */

const head = /** @type {const} */ ([
  "part",
  "route_rev",
  "operation",
  "work_centre",
  "what",
  "plan_s",
  "actual_s",
  "low_s",
  "high_s",
  "ratio",
  "batch_s",
  "n",
  "left_out",
  "p",
  "off",
]);

/**
 * groupsOf are the routes that have a planned time that does not fit.
 * @param {Fit[]} list
 */
function groupsOf(list) {
  /** @type {Map<string, Fit[]>} */
  const by = new Map();
  for (const f of list.filter((x) => x.off)) {
    const k = JSON.stringify([f.part, f.route_rev]);
    by.set(k, [...(by.get(k) || []), f]);
  }
  return [...by.values()];
}

/**
 * rangeOf is the scale that all rows share, in parts of the plan.
 * @param {Fit[]} list
 * @returns {Range}
 */
const rangeOf = (list) => [
  Math.min(0.5, ...list.map((x) => Math.floor((10 * (x.low_s ?? x.plan_s)) / x.plan_s) / 10)),
  Math.max(1.5, ...list.map((x) => Math.min(3, Math.ceil((10 * (x.high_s ?? x.plan_s)) / x.plan_s) / 10))),
];

/** @param {{f: Fits}} props */
function Shown({ f }) {
  const off = f.fits.filter((x) => x.off),
    tested = f.fits.filter((x) => x.p !== null && !x.off),
    untested = f.fits.filter((x) => x.p === null);
  const range = rangeOf([...off, ...tested]);
  return html`
    <p class="summary" data-test="fits-summary">
      ${count("fits.tested", f.tested)} · ${count("fits.off", off.length)}
    </p>
    <p class="soft">
      ${say(
        "fits.how",
        Math.round(100 * f.discovery),
        Math.round(100 * f.difference),
        f.few,
        fixed(f.batch_difference_s / 60, 0),
      )}
    </p>
    ${off.length === 0
      ? html`<p class="empty" data-test="all-fit">
          ${say(f.tested ? "fits.all-fit" : "fits.too-few", f.few)}
        </p>`
      : html`<section data-test="off">
          <h2>${say("fits.off.title")}</h2>
          <${FitTable} list=${off} range=${range} />
          ${may("plan")
            ? shop.value &&
              groupsOf(off).map(
                (g) => html`<${TakeOver} key=${g[0].part + "/" + g[0].route_rev} list=${g} />`,
              )
            : html`<p class="soft">${say("fits.planners")}</p>`}
        </section>`}
    ${f.pools.length > 0 && html`<${Pools} f=${f} />`}
    ${tested.length > 0 &&
    html`<section>
      <details data-test="fitting">
        <summary><span>${count("fits.fitting", tested.length)}</span></summary>
        <${FitTable} list=${tested} range=${range} />
      </details>
    </section>`}
    ${untested.length > 0 &&
    html`<section>
      <details data-test="untested">
        <summary><span>${count("fits.untested", untested.length, f.few)}</span></summary>
        <${FitTable} list=${untested} range=${range} />
      </details>
    </section>`}
    ${f.fits.length > 0 &&
    html`<p class="deeds">
      <${CsvButton}
        name="planned-times"
        head=${head}
        rows=${() => f.fits.map((x) => head.map((k) => x[k]))}
      />
    </p>`}
  `;
}

function Page() {
  useEffect(() => {
    loadShop().catch(failed);
  }, []);
  const answer = useAnswer(`/api/v1/fits?${query(selection)}`);
  return html`
    <h1>${say("fits.title")}</h1>
    <${Filters} texts=${false} />
    <${Answered} answer=${answer} />
    ${answer.value && html`<${Shown} f=${answer.value} />`}
  `;
}

start(() => (me.value ? html`<${Page} />` : null));
