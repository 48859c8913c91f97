// The servers that keep this record together: which one decides, and how each of them is.
import { html } from "../../lib/vendor/ui.js";
import { fixed, number } from "../../lib/numbers.js";
import { elapsed } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";

/** @typedef {NonNullable<import("../../lib/_types.js").Schema["Conditions"]["servers"]>[number]} Server */

const SAME_S = 0.05; // clocks that differ by less are shown as alike

/** @param {number} s how far a clock is ahead */
function clockText(s) {
  if (Math.abs(s) < SAME_S) return say("health.server.clock.same");
  return say(s > 0 ? "health.server.clock.fast" : "health.server.clock.slow", fixed(Math.abs(s), 1));
}

/** @param {{v: Server}} props */
function Row({ v }) {
  const name = v.self ? say("health.server.self", v.name) : v.name;
  const address = v.self ? "/health" : v.url + "/health";
  const cells = {
    part: v.decides ? html`<b>${say("health.server.decides")}</b>` : say("health.server.follows"),
    term: number(v.term),
    seq: number(v.seq),
    lacks: v.behind ? count("health.server.behind", v.behind) : say("health.server.level"),
    heard: v.self ? say("health.server.now") : say("health.server.ago", elapsed(v.silent_s * 1000)),
    clock: v.self ? "" : clockText(v.ahead_s),
  };
  return html`<tr data-test="health-server" data-name=${v.name} data-decides=${v.decides}>
    <th scope="row">
      ${name}
      ${v.url && html`<br /><a href=${address}>${v.url.replace(/^https?:\/\//, "")}</a>`}
    </th>
    ${Object.entries(cells).map(
      ([k, text]) => html`<td key=${k} data-label=${say("health.server.head." + k)}>${text}</td>`,
    )}
  </tr>`;
}

const COLUMNS = ["name", "part", "term", "seq", "lacks", "heard", "clock"];

/** @param {{list: Server[]}} props */
export const Servers = ({ list }) =>
  html`
    <h2>${say("health.servers")}</h2>
    <p class="soft">${say("health.servers.how")}</p>
    <table class="stack" data-test="health-servers">
      <thead>
        <tr>${COLUMNS.map((k) => html`<th key=${k} scope="col">${say("health.server.head." + k)}</th>`)}</tr>
      </thead>
      <tbody>${list.map((v) => html`<${Row} key=${v.name} v=${v} />`)}</tbody>
    </table>
  `;
