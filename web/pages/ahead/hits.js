// How the dates that were said came out.
import { html } from "../../lib/vendor/ui.js";
import { Interval } from "../../lib/charts.js";
import { CsvButton } from "../../lib/csv.js";
import { number, wholePercent } from "../../lib/numbers.js";
import { dateText, dayOf, seconds, span } from "../../lib/times.js";
import { say } from "../../lib/words.js";

/**
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {import("./fresh.js").Hits} HitsView
 * @typedef {Schema["HitShare"]} HitShare
 * @typedef {Schema["HorizonHit"]} HorizonHit
 */

const FEW = 30; // below that a share says little

/**
 * shareText says the hit rate in words.
 * @param {HitShare | null} hits
 */
export function shareText(hits) {
  if (!hits || hits.n === 0) return say("ahead.hits.none");
  if (hits.n < FEW) return say("ahead.hits.few", number(hits.n));
  return say("ahead.hits.says", number(hits.n), share(hits.p85_share), share(hits.p50_share));
}

/**
 * Shock says since when dates are not to be trusted.
 * @param {{hits: HitsView | null}} props
 */
export const Shock = ({ hits }) =>
  hits?.shock
    ? html`<p class="notice" data-test="shock">
        <b>${say("ahead.shock")}</b> ${say("ahead.shock.says", dateText(dayOf(hits.shock)))}
      </p>`
    : null;

/** @param {HorizonHit} r */
const daysText = (r) =>
  r.to_days === null
    ? say("ahead.horizon.from", number(r.from_days))
    : say("ahead.horizon", number(r.from_days), number(r.to_days));

/** @param {number | null} v */
const share = (v) => (v === null ? say("none") : wholePercent(v));

/** @param {{r: HorizonHit}} props */
function HorizonRow({ r }) {
  const label = say("ahead.hits.label", share(r.p85_share), number(r.n));
  return html`<tr data-test="horizon">
    <th scope="row">${daysText(r)}</th>
    <td class="n" data-label=${say("ahead.hits.n")}>${number(r.n)}</td>
    <td class="n" data-label=${say("ahead.hits.p50")}>${share(r.p50_share)}</td>
    <td class="n" data-label=${say("ahead.hits.p85")}><b>${share(r.p85_share)}</b></td>
    <td class="wide">
      ${r.p85_share !== null &&
      html`<${Interval} value=${r.p85_share} plan=${0.85} from=${0} to=${1} label=${label} />`}
    </td>
    <td class="n" data-label=${say("ahead.hits.off")}>
      ${r.mean_error_s === null ? say("none") : span(r.mean_error_s * 1000)}
    </td>
  </tr>`;
}

/** @param {{k: HitShare, title: string, test: string}} props */
function Kind({ k, title, test }) {
  return html`<div data-test=${test} data-n=${k.n}>
    <h3>${title}</h3>
    <p>
      ${shareText(k)}
      ${k.n >= FEW && html` ${say("ahead.hits.width", seconds(k.median_width_s), seconds(k.mean_error_s))}`}
    </p>
    ${k.by_horizon.length > 0 &&
    html`<table class="horizons stack">
      <thead>
        <tr>
          <th scope="col">${say("ahead.horizon.head")}</th>
          <th scope="col" class="n">${say("ahead.hits.n")}</th>
          <th scope="col" class="n">${say("ahead.hits.p50")}</th>
          <th scope="col" class="n">${say("ahead.hits.p85")}</th>
          <th scope="col" class="wide ends"><span>0 %</span><span>100 %</span></th>
          <th scope="col" class="n">${say("ahead.hits.off")}</th>
        </tr>
      </thead>
      <tbody>${k.by_horizon.map((r) => html`<${HorizonRow} key=${r.from_days} r=${r} />`)}</tbody>
    </table>`}
  </div>`;
}

const head = ["of", "from_days", "to_days", "n", "p50_share", "p85_share", "mean_error_s"];

/**
 * Hits is how past dates came out, in words and by how far they were ahead.
 * @param {{hits: HitsView | null}} props
 */
export function Hits({ hits }) {
  if (!hits) return null;
  /** @type {[string, HitShare][]} */
  const both = [
    ["delivery", hits],
    ["last_operation", hits.last_operation],
  ];
  const rows = () =>
    both.flatMap(([of, k]) =>
      k.by_horizon.map((r) => [of, r.from_days, r.to_days, r.n, r.p50_share, r.p85_share, r.mean_error_s]),
    );
  return html`<section data-test="hits">
    <details>
      <summary data-test="hits-open"><span>${say("ahead.hits")}</span></summary>
      ${hits.n > 0 &&
      html`<p class="soft">
        ${say("ahead.hits.how", number(hits.days), number(hits.cancelled), number(hits.open))}
      </p>`}
      <${Kind} k=${hits} title=${say("ahead.hits.delivery")} test="hits-delivery" />
      <${Kind} k=${hits.last_operation} title=${say("ahead.hits.last")} test="hits-last" />
      <p class="deeds"><${CsvButton} name="dates-came" head=${head} rows=${rows} /></p>
    </details>
  </section>`;
}
