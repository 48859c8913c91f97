// Which planned times no longer fit: a test of each against the batches, and a
// new route revision for those that someone wants to take over.
import {html, useEffect} from "/static/vendor/ui.js";
import {failed, may, me, start} from "/static/shell.js";
import {loadShop, shop} from "/static/shop.js";
import {Answered, useAnswer} from "/static/answer.js";
import {Filters, query, selection} from "/static/filters.js";
import {say, count} from "/static/words.js";
import {CsvButton} from "/static/csv.js";
import {FitTable} from "/static/fits-table.js";
import {TakeOver} from "/static/fits-take.js";

const head = ["part", "route_rev", "operation", "work_centre", "what", "plan_s", "actual_s", "low_s", "high_s", "ratio", "n", "left_out", "p", "off"];

// groupsOf are the routes that have a planned time that does not fit.
function groupsOf(list) {
  const by = new Map();
  for (const f of list.filter((x) => x.off)) {
    const k = JSON.stringify([f.part, f.route_rev]);
    by.set(k, [...(by.get(k) || []), f]);
  }
  return [...by.values()];
}

// rangeOf is the scale that all rows share, in parts of the plan.
const rangeOf = (list) => [Math.min(0.5, ...list.map((x) => Math.floor((10 * x.low_s) / x.plan_s) / 10)), Math.max(1.5, ...list.map((x) => Math.min(3, Math.ceil((10 * x.high_s) / x.plan_s) / 10)))];

function Shown({f}) {
  const off = f.fits.filter((x) => x.off), tested = f.fits.filter((x) => x.p !== null && !x.off), untested = f.fits.filter((x) => x.p === null);
  const range = rangeOf([...off, ...tested]);
  return html`<p class="summary" data-test="fits-summary">${count("fits.tested", f.tested)} · ${count("fits.off", off.length)}</p><p class="soft">${say("fits.how", Math.round(100 * f.discovery), Math.round(100 * f.difference), f.few)}</p>
    ${off.length === 0 ? html`<p class="empty" data-test="all-fit">${say(f.tested ? "fits.all-fit" : "fits.too-few", f.few)}</p>` : html`<section data-test="off"><h2>${say("fits.off.title")}</h2><${FitTable} list=${off} range=${range} />
      ${may("plan") ? shop.value && groupsOf(off).map((g) => html`<${TakeOver} key=${g[0].part + "/" + g[0].route_rev} list=${g} />`) : html`<p class="soft">${say("fits.planners")}</p>`}</section>`}
    ${tested.length > 0 && html`<section><details data-test="fitting"><summary><span>${count("fits.fitting", tested.length)}</span></summary><${FitTable} list=${tested} range=${range} /></details></section>`}
    ${untested.length > 0 && html`<section><details data-test="untested"><summary><span>${count("fits.untested", untested.length, f.few)}</span></summary><${FitTable} list=${untested} range=${range} /></details></section>`}
    ${f.fits.length > 0 && html`<p class="deeds"><${CsvButton} name="planned-times" head=${head} rows=${() => f.fits.map((x) => head.map((k) => x[k]))} /></p>`}`;
}

function Page() {
  useEffect(() => { loadShop().catch(failed); }, []);
  const answer = useAnswer("/api/v1/fits?" + query(selection));
  return html`<h1>${say("fits.title")}</h1><${Filters} texts=${false} /><${Answered} answer=${answer} />${answer.value && html`<${Shown} f=${answer.value} />`}`;
}

start("fits.title", () => (me.value ? html`<${Page} />` : null));
