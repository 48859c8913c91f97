// What the operations of a batch that have not begun need, and what is there.
import { html } from "../../lib/vendor/ui.js";
import { At, Mark } from "../../lib/marks.js";
import { ReadyButton } from "../../lib/ready.js";
import { say } from "../../lib/words.js";

// Thing is what was last said of a thing, by whom and when.
const Thing = ({ t }) =>
  html`<li data-test="thing" data-thing=${t.thing} data-state=${t.state}>
    ${t.state === "missing"
      ? html`<${Mark} kind="stop">${say("why.missing", t.text || t.thing)}<//>`
      : html`${t.text || t.thing}: ${say("ready." + t.state)}`}
    ${t.at &&
    html` <small>${[t.who || t.by, t.note].filter(Boolean).join(", ")}, <${At} t=${t.at} /></small>`}
  </li>`;

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
          <th scope="col"><span class="unseen">${say("ready.ask")}</span></th>
        </tr>
      </thead>
      <tbody>
        ${ops.map(
          (o) =>
            html`<tr key=${o.operation} data-test="needs" data-operation=${o.operation}>
              <th scope="row" data-label=${say("head.operation")}>${o.operation} ${o.work_centre}</th>
              <td data-label=${say("head.needs")}>
                <ul class="things">${o.things.map((t) => html`<${Thing} key=${t.thing} t=${t} />`)}</ul>
              </td>
              <td><${ReadyButton} card=${b.card} operation=${o.operation} after=${after} small /></td>
            </tr>`,
        )}
      </tbody>
    </table>
  </section>`;
}
