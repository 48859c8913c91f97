// What inspectors measured of the pieces of a batch.
import { html } from "../../lib/vendor/ui.js";
import { At } from "../../lib/marks.js";
import { measuredText } from "../../lib/measured.js";
import { say } from "../../lib/words.js";

/** @param {{b: {measured: import("../../lib/_types.js").Schema["MeasuredAt"][]}}} props */
export function Measurements({ b }) {
  if (b.measured.length === 0) return null;
  return html`<ul data-test="trace-measured">
    ${b.measured.map(
      (m, i) =>
        html`<li key=${i}>
          ${say("operation.of", m.operation)}: ${measuredText(m)} <small><${At} t=${m.at} /></small>
        </li>`,
    )}
  </ul>`;
}
