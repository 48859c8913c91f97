// What was changed of a batch's order since it was released: what, by whom, and why.
import { html } from "../../lib/vendor/ui.js";
import { At } from "../../lib/marks.js";
import { dateText } from "../../lib/times.js";
import { say } from "../../lib/words.js";

/** @typedef {import("./alike.js").Schema} Schema */

/**
 * inWords is a value of the order as people read it.
 * @param {string} what
 * @param {string} [value]
 */
function inWords(what, value) {
  if (what === "hot") return say(value === "1" ? "change.hot.1" : "change.hot.0");
  if (!value) return say("none");
  return what === "due" ? dateText(value) : value;
}

const heads = ["changed", "now", "why", "by", "at"];

/** @param {{c: Schema["PlanChange"]}} props */
function Row({ c }) {
  /** @type {(name: string, content: unknown) => unknown} */
  const cell = (name, content) => html`<td class=${name} data-label=${say("head." + name)}>${content}</td>`;
  return html`<tr data-test="change" data-what=${c.what}>
    ${cell("changed", say("change." + c.what))}
    ${cell("now", say("change.from", inWords(c.what, c.to), inWords(c.what, c.from)))}
    ${cell("why", c.reason)}
    ${cell("by", c.who || c.by)}
    ${cell("at", html`<${At} t=${c.at} />`)}
  </tr>`;
}

/** @param {{b: Schema["Batch"]}} props */
export function Changes({ b }) {
  if (!b.changes?.length) return null;
  return html`<section data-test="changes">
    <h2>${say("batch.changes")}</h2>
    <table class="stack">
      <thead><tr>${heads.map((h) => html`<th key=${h} scope="col">${say("head." + h)}</th>`)}</tr></thead>
      <tbody>${b.changes.map((c) => html`<${Row} key=${c.scan} c=${c} />`)}</tbody>
    </table>
  </section>`;
}
