// What a list comes to, before anything of it is kept: new, changed, as it was, refused;
// and headers that are no column, to be matched.
import { html } from "../../lib/vendor/ui.js";
import { Mark } from "../../lib/marks.js";
import { say } from "../../lib/words.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("../../lib/_types.js").Schema["LookedAt"]} LookedAt
 * Match says which column a header is; none for one that is passed over.
 * @typedef {(head: string, column: string) => void} Match
 */

/** @type {(head: string, content: unknown) => unknown} */
const cell = (head, content) => html`<td data-label=${say(head)}>${content}</td>`;
/** @param {...string} keys */
const heads = (...keys) =>
  html`<thead><tr>${keys.map((k) => html`<th key=${k} scope="col">${say(k)}</th>`)}</tr></thead>`;

/** @param {{v: LookedAt}} props */
function Refused({ v }) {
  if (v.refused.length === 0) return null;
  return html`<section data-test="refused">
    <h3><${Mark} kind="held">${say("lists.refused", v.faults)}<//></h3>
    <table class="stack">
      ${heads("lists.line", "lists.column", "lists.value", "lists.reason")}
      <tbody>
        ${v.refused.map(
          (p, i) =>
            html`<tr key=${i} data-test="fault">
              ${cell("lists.line", p.line)}
              ${cell("lists.column", p.column || say("none"))}
              ${cell("lists.value", p.value || say("none"))}
              ${cell("lists.reason", p.reason)}
            </tr>`,
        )}
      </tbody>
    </table>
    ${v.faults > v.refused.length &&
    html`<p class="soft">${say("lists.refused.more", v.faults - v.refused.length)}</p>`}
  </section>`;
}

/** @param {{v: LookedAt, match: Match}} props */
function Unknown({ v, match }) {
  if (v.unknown.length === 0) return null;
  return html`<section data-test="unknown">
    <h3>${say("lists.unknown")}</h3>
    <div class="fields">
      ${v.unknown.map(
        (h) =>
          html`<label key=${h}>
            ${h}
            <select
              data-test=${"match-" + h}
              onChange=${(/** @type {Input} */ e) => e.target.value !== "?" && match(h, e.target.value)}>
              <option value="?" selected>${say("lists.choose")}</option>
              <option value="">${say("lists.pass")}</option>
              ${v.columns.map((c) => html`<option key=${c.name} value=${c.name}>${c.name}</option>`)}
            </select>
          </label>`,
      )}
    </div>
  </section>`;
}

/** @param {{v: LookedAt}} props */
function Lines({ v }) {
  if (v.lines.length === 0) return null;
  const all = v.new + v.changed + v.same;
  return html`
    <table class="stack" data-test="lines">
      ${heads("lists.what", "lists.key", "lists.changes")}
      <tbody>
        ${v.lines.map(
          (l, i) =>
            html`<tr key=${i} data-test="line" data-what=${l.what}>
              ${cell("lists.what", say("lists.is." + l.what))}
              ${cell("lists.key", l.key)}
              ${cell("lists.changes", (l.changes || []).join("; "))}
            </tr>`,
        )}
      </tbody>
    </table>
    ${all > v.lines.length && html`<p class="soft">${say("lists.shown", v.lines.length, all)}</p>`}
  `;
}

/**
 * Preview shows what a list comes to, and takes it.
 * @param {{v: LookedAt, match: Match, take: () => void, busy: boolean}} props
 */
export function Preview({ v, match, take, busy }) {
  const ready = v.faults === 0 && v.new + v.changed > 0 && !v.taken;
  return html`<section data-test="preview" data-taken=${v.taken}>
    <h2>${say(v.taken ? "lists.taken" : "lists.preview")}</h2>
    <p class="summary" data-test="counts">
      ${say("lists.counts", v.new, v.changed, v.same)}
      ${v.faults > 0 && html` · ${say("lists.refused", v.faults)}`}
    </p>
    <${Unknown} v=${v} match=${match} />
    <${Refused} v=${v} />
    ${ready &&
    html`<p class="deeds">
      <button class="act" data-test="take" disabled=${busy} onClick=${take}>${say("lists.take")}</button>
    </p>`}
    ${v.faults === 0 &&
    v.new + v.changed === 0 &&
    !v.taken &&
    html`<p class="soft">${say("lists.nothing")}</p>`}
    <${Lines} v=${v} />
  </section>`;
}
