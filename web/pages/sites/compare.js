// The routes of one part at all sites, side by side.
import { html } from "../../lib/vendor/ui.js";
import { choose, chosen, query } from "../../lib/filters.js";
import { Answered, useAnswer } from "../../lib/form.js";
import { fixed, number, percent } from "../../lib/numbers.js";
import { minutes, span } from "../../lib/times.js";
import { say } from "../../lib/words.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("../../lib/_types.js").Schema["SiteRoute"]} Route
 * @typedef {Route["against"][number]["figure"]} FigureName
 * @typedef {import("../../lib/_types.js").Schema["BySite"]} BySite
 */

/** @param {number | null} x */
const min = (x) => (x === null ? say("none") : say("sites.compare.min", fixed(x, 2)));
/** @param {number} x */
const points = (x) => say("sites.compare.points", fixed(100 * x, 1));
/** @type {(x: number, text: (x: number) => string) => string} */
const signed = (x, text) => (x > 0 ? "+" : x < 0 ? "−" : "±") + text(Math.abs(x));

/** @type {Record<FigureName, (x: number) => string>} */
const texts = { minutes: min, setup: minutes, yield: points };

/**
 * Difference is a figure less the first route's.
 * @param {{route: Route, figure: FigureName}} props
 */
function Difference({ route, figure }) {
  const d = route.against.find((x) => x.figure === figure)?.difference;
  if (!d || d.value === null) return null;
  const of = (/** @type {number} */ x) => signed(x, texts[figure]);
  return html`<small data-test=${"differs-" + figure}>
    ${d.low === null || d.high === null
      ? say("sites.compare.unsure", of(d.value))
      : say("sites.compare.differs", of(d.value), of(d.low), of(d.high))}
  </small
    >`;
}

/** @param {{r: Route, few: number}} props */
function Row({ r, few }) {
  const cells = {
    batches: html`
      <b>${number(r.batches)}</b>
      ${r.batches < few && html`<small>${say("sites.compare.few", few)}</small>`}
      ${r.sizes.length > 0 &&
      html`<small>${say("sites.compare.sizes", number(r.sizes[0]), number(r.sizes[1]))}</small>`}
      ${r.planned > 0 && html`<small>${say("sites.compare.planned", r.planned, r.values)}</small>`}
    `,
    minutes: html`${min(r.each_min)}<${Difference} route=${r} figure="minutes" />`,
    setup: html`${minutes(r.setup_min)}<${Difference} route=${r} figure="setup" />`,
    yield: html`${percent(r.yield)}<${Difference} route=${r} figure="yield" />`,
    lead: html`${span(r.lead_h * 3600e3)}<small>${say("sites.compare.lead." + r.lead_is)}</small>`,
  };
  return html`<tr data-test="route" data-site=${r.site} data-rev=${r.route_rev}>
    <th scope="row">${say("sites.compare.at", r.site, say("route.rev", r.route_rev))}</th>
    ${Object.entries(cells).map(
      ([k, v]) => html`<td
        key=${k}
        class="n"
        data-test=${"route-" + k}
        data-label=${say("sites.compare." + k)}>
        <span>${v}</span>
      </td>`,
    )}
  </tr>`;
}

/** @param {{v: BySite}} props */
function Routes({ v }) {
  const sites = [...new Set(v.routes.map((r) => r.site))];
  return html`
    <p>${say("sites.compare.how", number(v.size))}</p>
    ${sites.length === 1 && html`<p data-test="one-site">${say("sites.compare.one", sites[0])}</p>`}
    <table class="stack hours sites">
      <thead>
        <tr>
          <th scope="col">${say("sites.compare.route")}</th>
          ${["batches", "minutes", "setup", "yield", "lead"].map(
            (k) => html`<th key=${k} scope="col" class="n">${say("sites.compare." + k)}</th>`,
          )}
        </tr>
      </thead>
      <tbody>
        ${v.routes.map((r) => html`<${Row} key=${r.site + "/" + r.route_rev} r=${r} few=${v.few} />`)}
      </tbody>
    </table>
  `;
}

export function Comparison() {
  const parts = useAnswer("/api/v1/sites/parts"),
    part = chosen.value.part;
  const answer = useAnswer(part && `/api/v1/sites/compare?${query(["part", "size"])}`);
  /** @type {import("../../lib/_types.js").Schema["SitePart"][]} */
  const list = parts.value?.parts || [];
  return html`<section data-test="sites-compare">
    <h2>${say("sites.compare")}</h2>
    ${part && html`<p class="only-print">${say("sites.compare.part")}: ${part}</p>`}
    <form class="tools filters" onSubmit=${(/** @type {Event} */ e) => e.preventDefault()}>
      <label>
        ${say("sites.compare.part")}
        <select
          data-test="compare-part"
          onChange=${(/** @type {Input} */ e) => choose({ part: e.target.value })}>
          <option value="" selected=${!part}>${say("sites.compare.choose")}</option>
          ${list.map(
            (p) => html`<option key=${p.part} value=${p.part} selected=${p.part === part}>
              ${say("sites.compare.at", [p.part, p.name].filter(Boolean).join(" "), p.sites.join(", "))}
            </option>`,
          )}
        </select>
      </label>
      <label>
        ${say("sites.compare.size")}
        <input
          type="number"
          min="1"
          max="100000"
          data-test="compare-size"
          value=${chosen.value.size || ""}
          onChange=${(/** @type {Input} */ e) => choose({ size: e.target.value })}
        />
      </label>
    </form>
    ${part && html`<${Answered} answer=${answer} />`}${" "}
    ${part && answer.value && html`<${Routes} v=${answer.value} />`}
  </section>`;
}
