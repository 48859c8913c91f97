// What the operations of a batch that have not begun need, and what is there.
import { html } from "../../lib/vendor/ui.js";
import { At } from "../../lib/marks.js";
import { ReadyButton } from "../../lib/ready.js";
import { say } from "../../lib/words.js";

/**
 * @typedef {import("./alike.js").Schema} Schema
 * @typedef {Schema["Thing"]} ThingView
 */

/** @param {ThingView} t */
const words = (t) => t.text || t.thing;

/**
 * Thing is what was last said of a thing, by whom and when.
 * @param {{t: ThingView}} props
 */
const Thing = ({ t }) =>
  html`<li data-test="thing" data-thing=${t.thing} data-state=${t.state}>
    ${t.state === "missing"
      ? html`<b>${say("why.missing", words(t))}</b>`
      : html`${words(t)}: ${say("ready." + t.state)}`}
    <small> ${[t.who || t.by, t.note].filter(Boolean).join(", ")}, <${At} t=${t.at} /></small>
  </li>`;

/**
 * Things are those of which something was said one by one, and the others in a line.
 * @param {{things: ThingView[]}} props
 */
function Things({ things }) {
  const open = things.filter((t) => t.state === "open");
  return html`<ul class="things">
    ${things.filter((t) => t.state !== "open").map((t) => html`<${Thing} key=${t.thing} t=${t} />`)}
    ${open.length > 0 &&
    html`<li class="soft" data-test="unchecked">${say("ready.open")}: ${open.map(words).join(", ")}</li>`}
  </ul>`;
}

/** @param {{b: Schema["Batch"], after: () => void}} props */
export function Ready({ b, after }) {
  const ops = b.operations.filter((o) => o.things?.length);
  if (ops.length === 0 || ["done", "cancelled"].includes(b.state)) return null;
  return html`<section data-test="ready-to-run">
    <h2>${say("batch.ready-to-run")}</h2>
    <table class="stack">
      <thead>
        <tr>
          <th scope="col">${say("head.operation")}</th>
          <th scope="col">${say("head.needs")}</th>
          <td></td>
        </tr>
      </thead>
      <tbody>
        ${ops.map(
          (o) =>
            html`<tr key=${o.operation} data-test="needs" data-operation=${o.operation}>
              <th scope="row" data-label=${say("head.operation")}>${o.operation} ${o.work_centre}</th>
              <td data-label=${say("head.needs")}><${Things} things=${o.things} /></td>
              <td><${ReadyButton} card=${b.card} operation=${o.operation} after=${after} small /></td>
            </tr>`,
        )}
      </tbody>
    </table>
  </section>`;
}
