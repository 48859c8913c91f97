// What a period came to at each site, and in all.
import { html } from "../../lib/vendor/ui.js";
import { query } from "../../lib/filters.js";
import { Answered, useAnswer } from "../../lib/form.js";
import { number, percent } from "../../lib/numbers.js";
import { dateText, span } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";
import { asOf, restsOn } from "./record.js";

/** @typedef {import("../../lib/_types.js").Schema["SitePeriod"]} Past */

/** @type {(s: number | null | undefined) => string} */
const time = (s) => (s === null || s === undefined ? say("none") : span(s * 1000));

/** @type {(of: number[] | null, text: (x: number) => string) => string} */
const within = (of, text) => (of ? say("between.95", text(of[0]), text(of[1])) : say("few"));

/** @param {Past} p */
const decided = (p) =>
  say("sites.first.of", number(p.first_pass_pieces), count("batches.n", p.first_pass_batches));

// The figures, each with what it rests on.
/** @type {Record<string, (p: Past) => [unknown, unknown]>} */
const figures = {
  finished: (p) => [number(p.finished), p.left_out > 0 ? count("sites.finished.left", p.left_out) : ""],
  "on-time": (p) => [
    p.lines ? percent(p.lines_on_time / p.lines) : say("none"),
    p.lines ? say("sites.on-time.of", number(p.lines_on_time), number(p.lines)) : "",
  ],
  median: (p) => [
    time(p.median_s),
    p.finished ? html`${count("batches.n", p.finished)}; ${within(p.median_in, time)}` : "",
  ],
  good: (p) => [number(p.good), p.finished ? say("sites.good.of", number(p.started)) : ""],
  scrap: (p) => [number(p.scrap), p.rejected === null || p.rejected === undefined ? "" : percent(p.rejected)],
  first: (p) => [
    p.first_pass === null || p.first_pass === undefined ? say("none") : percent(p.first_pass),
    p.first_pass_batches ? html`${decided(p)}; ${within(p.first_pass_in, percent)}` : "",
  ],
};

/** @param {{name: string, past: Past, note: string, all?: boolean}} props */
function Row({ name, past, note, all }) {
  return html`<tr data-test="past" data-name=${all ? "" : name}>
    <th scope="row">${all ? html`<b>${name}</b>` : name} ${note && html`<small>${note}</small>`}</th>
    ${Object.entries(figures).map(([k, of]) => {
      const [value, why] = of(past);
      return html`<td key=${k} class="n" data-test=${"past-" + k} data-label=${say("sites." + k)}>
        <span><b>${value}</b>${why && html`<small>${why}</small>`}</span>
      </td>`;
    })}
  </tr>`;
}

export function History() {
  const answer = useAnswer(`/api/v1/sites/history?${query(["from", "to"])}`);
  const v = answer.value;
  return html`<section data-test="sites-history">
    <${Answered} answer=${answer} />
    ${v &&
    html`
      <p data-test="period">${say("sites.history.of", dateText(v.from), dateText(v.to))}</p>
      <table class="stack hours sites">
        <thead>
          <tr>
            <th scope="col">${say("sites.site")}</th>
            ${Object.keys(figures).map(
              (k) => html`<th key=${k} scope="col" class="n">${say("sites." + k)}</th>`,
            )}
          </tr>
        </thead>
        <tbody>
          ${v.sites.map((s) => html`<${Row} key=${s.name} name=${s.name} past=${s.past} note=${asOf(s)} />`)}
          <${Row} name=${say("sites.all")} past=${v.all} note=${restsOn(v.sites, v.all.sites)} all />
        </tbody>
      </table>
      <p class="soft">${say("sites.pooled")}</p>
    `}
  </section>`;
}
