// What the pages of what is ahead share: whether there are dates at all, how a scenario
// goes on, and the batches whose dates it moves.
import { html } from "../../lib/vendor/ui.js";
import { CsvButton } from "../../lib/csv.js";
import { BatchLink, Mark } from "../../lib/marks.js";
import { number, wholePercent } from "../../lib/numbers.js";
import { dateText, dayOf, full, span } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";

/**
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {Schema["MovedBatch"]} MovedBatch
 */

/**
 * dayText is the day of a moment; nothing where there is no date.
 * @param {string | null | undefined} t
 */
export const dayText = (t) => (t ? dateText(dayOf(t)) : say("none"));

/**
 * Day is the day of a moment, with the time of day for who points at it.
 * @param {{t: string | null | undefined}} props
 */
export const Day = ({ t }) =>
  t ? html`<time datetime=${t} title=${full(t)}>${dayText(t)}</time>` : say("none");

/**
 * chanceText is a chance in whole percent, never 0 or 100 of what is not certain.
 * @param {number | null | undefined} x
 */
export const chanceText = (x) =>
  x === null || x === undefined ? say("none") : wholePercent(Math.min(0.99, Math.max(0.01, x)));

/**
 * movedText is a span with its sign: earlier or later.
 * @param {number} s
 */
export const movedText = (s) =>
  Math.abs(s) < 60
    ? say("ahead.moved.same")
    : say(s > 0 ? "ahead.moved.later" : "ahead.moved.earlier", span(Math.abs(s) * 1000));

/**
 * NoDates says why there are no dates; nothing where there are.
 * @param {{f: import("./fresh.js").Forecast}} props
 */
export function NoDates({ f }) {
  const why = f.state !== "ready" ? "ahead." + f.state : f.method === "too-few" ? "ahead.too-few" : "";
  return why && html`<p class="empty" data-test="no-dates" data-why=${why}>${say(why)}</p>`;
}

/**
 * Going shows how far a scenario is.
 * @param {{share: number | null, problem: string, again: () => void}} props
 */
export function Going({ share, problem, again }) {
  if (problem)
    return html`<p class="problem" role="alert" data-test="failed">
      ${problem} <button data-test="again" onClick=${again}>${say("again")}</button>
    </p>`;
  if (share === null) return null;
  return html`<p class="going" role="status" data-test="going">
    <label>${say("ahead.going")}<progress max="1" value=${Math.max(0.02, share)}></progress></label>
  </p>`;
}

/**
 * Sides are the floor before and after, as two figures with what they were.
 * @param {{v: {before: Schema["Outlook"], after: Schema["Outlook"]}}} props
 */
export function Sides({ v }) {
  const more = v.after.late - v.before.late;
  return html`<dl class="figures" data-test="sides" data-before=${v.before.late} data-after=${v.after.late}>
    <div>
      <dt>${say("ahead.late")}</dt>
      <dd>
        ${number(v.after.late)}
        <small>${say("ahead.instead", number(v.before.late))}</small>
        ${more > 0 && html`<${Mark} kind="soon">${count("ahead.newly", more)}<//>`}
      </dd>
    </div>
    <div>
      <dt>${say("ahead.days-late")}</dt>
      <dd>
        ${say("span.d", number(v.after.days_late))}
        <small>${say("ahead.instead", say("span.d", number(v.before.days_late)))}</small>
      </dd>
    </div>
    ${v.after.holds_up &&
    html`<div>
      <dt>${say("ahead.holds-up")}</dt>
      <dd>
        ${v.after.holds_up}
        ${v.after.holds_up !== v.before.holds_up &&
        html`<small>${say("ahead.instead", v.before.holds_up || say("none"))}</small>`}
      </dd>
    </div>`}
  </dl>`;
}

const movedHead = [
  "card",
  "works_order",
  "part",
  "due",
  "before_p50",
  "after_p50",
  "before_p85",
  "after_p85",
  "later_s",
  "turns",
];
/** @param {MovedBatch} m */
const movedRow = (m) => [
  m.card,
  m.works_order,
  m.part,
  m.due,
  m.before.p50,
  m.after.p50,
  m.before.p85,
  m.after.p85,
  m.later_s,
  m.turns,
];

/**
 * Instead is what a date was, where it is another day now.
 * @param {{was: string | null, is: string | null}} props
 */
const Instead = ({ was, is }) =>
  dayText(was) !== dayText(is) && html` <small>${say("ahead.instead", dayText(was))}</small>`;

/** @param {{m: MovedBatch}} props */
function MovedRow({ m }) {
  /** @type {(key: string, v: unknown, test?: string) => unknown} */
  const cell = (key, v, test) => html`<td data-label=${say(key)} data-test=${test}>${v}</td>`;
  return html`<tr data-test="moved" data-card=${m.card} data-turns=${m.turns}>
    ${cell("head.batch", html`<${BatchLink} row=${m} />`)}
    ${cell("head.part", html`<span class="unbroken">${m.part}</span> <small>${m.part_name}</small>`)}
    ${cell("head.due", html`<span class="unbroken">${m.due ? dateText(m.due) : say("due.none")}</span>`)}
    ${cell(
      "ahead.p50",
      html`<b><${Day} t=${m.after.p50} /></b> <${Instead} was=${m.before.p50} is=${m.after.p50} />`,
    )}
    ${cell(
      "ahead.p85",
      html`<${Day} t=${m.after.p85} /> <${Instead} was=${m.before.p85} is=${m.after.p85} />`,
    )}
    ${cell("ahead.moved", movedText(m.later_s), "moved-by")}
    <td>
      ${m.turns === "late" && html`<${Mark} kind="soon">${say("ahead.turns.late")}<//>`}
      ${m.turns === "on_time" && say("ahead.turns.on_time")}
    </td>
  </tr>`;
}

/**
 * Moved lists the batches whose dates a scenario moves.
 * @param {{list: MovedBatch[], name: string}} props
 */
export function Moved({ list, name }) {
  if (list.length === 0)
    return html`<p class="empty" data-test="moves-nothing">${say("ahead.moves-nothing")}</p>`;
  const later = list.filter((m) => m.later_s >= 60).length,
    earlier = list.filter((m) => m.later_s <= -60).length;
  return html`
    <p data-test="moved-summary">
      ${[later > 0 && count("ahead.come-later", later), earlier > 0 && count("ahead.come-earlier", earlier)]
        .filter(Boolean)
        .join(" · ")}
    </p>
    <table class="stack moved">
      <thead>
        <tr>
          ${["head.batch", "head.part", "head.due", "ahead.p50", "ahead.p85", "ahead.moved"].map(
            (k) => html`<th key=${k} scope="col">${say(k)}</th>`,
          )}
          <td></td>
        </tr>
      </thead>
      <tbody>${list.map((m) => html`<${MovedRow} key=${m.card} m=${m} />`)}</tbody>
    </table>
    <p class="deeds"><${CsvButton} name=${name} head=${movedHead} rows=${() => list.map(movedRow)} /></p>
  `;
}
