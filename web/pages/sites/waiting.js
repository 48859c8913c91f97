// What waits at one site.
import { html } from "../../lib/vendor/ui.js";
import { now } from "../../lib/clock.js";
import { choose } from "../../lib/filters.js";
import { Answered } from "../../lib/form.js";
import { Due, Gone, Part } from "../../lib/marks.js";
import { number } from "../../lib/numbers.js";
import { dayOf } from "../../lib/times.js";
import { say, stateWord } from "../../lib/words.js";
import { recordText } from "./record.js";

/**
 * @typedef {import("../../lib/_types.js").Schema["SiteWait"]} Row
 * @typedef {import("../../lib/_types.js").Schema["SiteWaits"]} Waits
 */

/** @param {{r: Row}} props */
function Line({ r }) {
  const cells = {
    part: html`<${Part} row=${r} />`,
    operation: html`${r.operation} ${r.state !== "waiting" && html`<small>${stateWord(r.state)}</small>`}`,
    machine: r.machine || say("sites.any", r.work_centre),
    pieces: number(r.pieces),
    since: r.since ? html`<${Gone} since=${r.since} />` : say("none"),
    due: html`<${Due} due=${r.due} today=${dayOf(now())} late=${r.late} />`,
  };
  return html`<tr data-test="wait" data-card=${r.card}>
    <th scope="row"><b>${r.works_order || r.card}</b> ${r.works_order && html`<small>${r.card}</small>`}</th>
    ${Object.entries(cells).map(
      ([k, v]) =>
        html`<td key=${k} class=${k === "pieces" ? "n" : ""} data-label=${say("sites.col." + k)}>${v}</td>`,
    )}
  </tr>`;
}

/** @param {{site: string, answer: {value: Waits | null, problem: string}}} props */
export function Waiting({ site, answer }) {
  const v = answer.value?.site.name === site ? answer.value : null;
  return html`<section data-test="site-waits">
    <h2>${say("sites.waits.at", site)}</h2>
    <p class="deeds">
      <button type="button" data-test="waits-close" onClick=${() => choose({ site: "" })}>
        ${say("sites.waits.close")}
      </button>
      <button type="button" onClick=${() => print()}>${say("sites.waits.print")}</button>
    </p>
    <${Answered} answer=${answer} />
    ${v && html`<p class="soft">${recordText(v.site)}</p>`}
    ${v && v.rows.length === 0 && html`<p>${say("sites.waits.none", site)}</p>`}
    ${v &&
    v.rows.length > 0 &&
    html`<table class="stack hours sites">
      <thead>
        <tr>
          ${["order", "part", "operation", "machine", "pieces", "since", "due"].map(
            (k) =>
              html`<th key=${k} scope="col" class=${k === "pieces" ? "n" : ""}>${say("sites.col." + k)}</th>`,
          )}
        </tr>
      </thead>
      <tbody>
        ${v.rows.map((r) => html`<${Line} key=${[r.card, r.operation, r.state].join("/")} r=${r} />`)}
      </tbody>
    </table>`}
  </section>`;
}
