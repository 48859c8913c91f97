// What is ahead: when each batch may be delivered, the load of the weeks to come, and
// how far such dates can be trusted. What is shown stands in the address.
import { html } from "../../lib/vendor/ui.js";
import { choose, chosen } from "../../lib/filters.js";
import { Answered } from "../../lib/form.js";
import { moment } from "../../lib/times.js";
import { me, start } from "../../lib/shell.js";
import { number } from "../../lib/numbers.js";
import { say } from "../../lib/words.js";
import { Dates, summaryText } from "./dates.js";
import { useFresh } from "./fresh.js";
import { Hits, shareText, Shock } from "./hits.js";
import { Load } from "./load.js";
import { NoDates } from "./parts.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("./fresh.js").Forecast} Forecast
 * @typedef {import("./fresh.js").Hits} HitsView
 */

const spans = ["2", "4", "6", "8"];
const HITS_MS = 600000;

/**
 * Made says how the dates were made, and how such dates have come out.
 * @param {{f: Forecast, hits: HitsView | null}} props
 */
const Made = ({ f, hits }) => html`<p class="soft" data-test="made" data-method=${f.method}>
  ${say("ahead.as-of", moment(f.as_of))}${" "}
  ${say("ahead.made." + f.method, number(f.runs), say("ahead.rule." + f.rule))} ${hits && shareText(hits)}
</p>`;

/** @param {{weeks: string}} props */
function Weeks({ weeks }) {
  return html`<div class="tools">
    <label>
      ${say("ahead.weeks")}
      <select data-test="weeks" onChange=${(/** @type {Input} */ e) => choose({ weeks: e.target.value })}>
        ${[...new Set([...spans, weeks])].map(
          (n) => html`<option key=${n} value=${n} selected=${n === weeks}>${n}</option>`,
        )}
      </select>
    </label>
  </div>`;
}

function Page() {
  const answer = useFresh("/api/v1/ahead"),
    hits = useFresh("/api/v1/ahead/hits", HITS_MS).value,
    { weeks = "4" } = chosen.value,
    f = answer.value;
  const late = f ? f.batches.filter((b) => b.late === "now" || b.late === "likely").length : 0;
  return html`
    <h1>${say("ahead.title")}</h1>
    <${Answered} answer=${answer} />
    ${f &&
    html`
      <${NoDates} f=${f} />
      ${f.state === "ready" &&
      (f.method !== "too-few" || f.batches.length > 0) &&
      html`
        <p class="summary" data-test="summary" data-late=${late}>${summaryText(f)}</p>
        ${f.method !== "too-few" && html`<${Made} f=${f} hits=${hits} />`}
        <${Shock} hits=${hits} />
        <${Dates} f=${f} />
        <${Weeks} weeks=${weeks} />
        <${Load} f=${f} weeks=${Math.max(1, Number(weeks) || 4)} />
        <${Hits} hits=${hits} />
      `}
    `}
  `;
}

start(() => (me.value ? html`<${Page} />` : null));
