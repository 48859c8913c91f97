// How the program itself is: what is wrong with what to do, and numbers for whoever is
// asked for help.
import { html } from "../../lib/vendor/ui.js";
import { Answered } from "../../lib/form.js";
import { Mark } from "../../lib/marks.js";
import { fixed, number } from "../../lib/numbers.js";
import { start } from "../../lib/shell.js";
import { elapsed, full } from "../../lib/times.js";
import { say } from "../../lib/words.js";
import { Servers } from "./servers.js";
import { size, useWatched } from "./watch.js";

/** @param {{c: import("../../lib/_types.js").Schema["Conditions"]["conditions"][number]}} props */
const Condition = ({ c }) =>
  html`<li data-test="condition" data-name=${c.name}>
    <h2>${c.stops ? html`<${Mark} kind="stop">${say("health.stops")}<//>` : ""} ${c.says}</h2>
    ${c.do && html`<p>${c.do}</p>`}
  </li>`;

/** @param {{n: import("../../lib/_types.js").Schema["Conditions"]["numbers"]}} props */
function Numbers({ n }) {
  const safe = n.safe_p99_s
    ? say("health.safe-in", fixed(n.safe_p50_s * 1000, 0), fixed(n.safe_p99_s * 1000, 0))
    : say("health.safe-few");
  const rows = [
    ["version", n.version],
    ["up", elapsed(n.up_s * 1000)],
    ["entries", number(n.entries)],
    ["families", number(n.families)],
    ["record", size(n.record_bytes)],
    ["free", n.free_bytes ? size(n.free_bytes) : say("health.unknown")],
    ["safe", safe],
  ];
  return html`<table data-test="health-numbers">
    <tbody>
      ${rows.map(
        ([name, v]) => html`<tr key=${name} data-test=${"health-" + name}>
          <th scope="row">${say("health.number." + name)}</th>
          <td>${v}</td>
        </tr>`,
      )}
    </tbody>
  </table>`;
}

function Health() {
  const answer = useWatched("/api/v1/health");
  const v = answer.value;
  return html`
    <h1>${say("health.title")}</h1>
    <${Answered} answer=${answer}>
      ${v &&
      html`
        ${v.conditions.length
          ? html`<ul class="conditions">
              ${v.conditions.map((c) => html`<${Condition} key=${c.says} c=${c} />`)}
            </ul>`
          : html`<p class="summary" data-test="health-well">${say("health.well")}</p>`}
        <p>
          <a href="/keeping" data-test="to-keeping">${say("keeping.title")}</a> · ${say("health.to-keeping")}
        </p>
        ${v.servers && html`<${Servers} list=${v.servers} />`}
        <h2>${say("health.numbers")}</h2>
        <${Numbers} n=${v.numbers} />
        <p class="soft">${say("health.at", full(v.at))}</p>
      `}
    <//>
  `;
}

start(Health);
