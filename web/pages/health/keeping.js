// The copies of the record: the newest, how old, how large, how long putting one back
// takes, and how that is done.
import { html, useSignal } from "../../lib/vendor/ui.js";
import { post } from "../../lib/api.js";
import { now } from "../../lib/clock.js";
import { Answered } from "../../lib/form.js";
import { At, Mark } from "../../lib/marks.js";
import { number } from "../../lib/numbers.js";
import { failed, may, note, start } from "../../lib/shell.js";
import { elapsed } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";
import { size, useWatched } from "./watch.js";

/** @typedef {import("../../lib/_types.js").Schema["Copies"]} Copies */

/**
 * A rule such as 24h,14d,8w,36m in words.
 * @param {string} rule
 */
const ruleText = (rule) =>
  rule
    .split(/[ ,]+/)
    .filter(Boolean)
    .map((part) => count("keeping.rule." + part.slice(-1), Number(part.slice(0, -1))))
    .join(", ");

/** @param {{v: Copies}} props */
function State({ v }) {
  if (v.demo) return html`<p class="empty" data-test="keeping-demo">${say("keeping.demo")}</p>`;
  return html`
    <p class="summary" data-test="keeping-last">
      ${v.last ? say("keeping.last", elapsed(Math.max(0, now() - Date.parse(v.last)))) : say("keeping.never")}
      ${v.last && v.missing > 0 && ` ${count("keeping.missing", v.missing)}`}
      ${v.late && html` <${Mark} kind="late">${say("keeping.late")}<//>`}
    </p>
    <p data-test="keeping-plan">
      ${v.every_s
        ? say("keeping.every", elapsed(v.every_s * 1000), ruleText(v.rule))
        : say("keeping.by-hand")}
      ${v.running
        ? ` ${say("keeping.running")}`
        : v.next && Date.parse(v.next) > now() && html` ${say("keeping.next")} <${At} t=${v.next} />.`}
    </p>
    ${v.failed &&
    html`<p class="told" role="alert" data-test="keeping-failed">
      <b>${say("keeping.failed")}</b> ${v.failed} ${v.failed_at && html`<${At} t=${v.failed_at} />`}
    </p>`}
  `;
}

/** @param {{v: Copies}} props */
function List({ v }) {
  if (!v.copies.length) return null;
  return html`<table data-test="copies">
    <thead>
      <tr>
        <th>${say("keeping.made")}</th>
        <th class="n">${say("keeping.entries")}</th>
        <th class="n">${say("keeping.size")}</th>
        <th>${say("keeping.file")}</th>
      </tr>
    </thead>
    <tbody>
      ${v.copies.map(
        (c) => html`<tr key=${c.name} data-test="copy">
          <td><${At} t=${c.at} /></td>
          <td class="n">${number(c.entries)}</td>
          <td class="n">${size(c.bytes)}</td>
          <td><code>${c.name}</code> ${!c.ours && html`<small>${say("keeping.other")}</small>`}</td>
        </tr>`,
      )}
    </tbody>
  </table>`;
}

function Keeping() {
  const answer = useWatched("/api/v1/copies");
  const busy = useSignal(false);
  const v = answer.value;
  const copy = async () => {
    busy.value = true;
    try {
      await post("/api/v1/copies", {});
      note("good", say("keeping.done"));
    } catch (err) {
      failed(err);
    }
    busy.value = false;
    answer.again();
  };
  return html`
    <h1>${say("keeping.title")}</h1>
    <p>${say("keeping.why")}</p>
    <${Answered} answer=${answer}>
      ${v &&
      html`
        <${State} v=${v} />
        ${may("accounts") &&
        v.every_s > 0 &&
        html`<p class="deeds">
          <button data-test="copy-now" disabled=${busy.value || v.running} onClick=${copy}>
            ${say("keeping.now")}
          </button>
        </p>`}
        <${List} v=${v} />
        ${!v.demo &&
        html`<section data-test="keeping-how">
          <h2>${say("keeping.how")}</h2>
          <p>
            ${v.restore_s ? say("keeping.takes", elapsed(v.restore_s * 1000)) : say("keeping.takes.unknown")}
          </p>
          <ol>
            <li>${say("keeping.how.1")}</li>
            <li><code>tallywalk restore COPY --data DIR</code> ${say("keeping.how.2")}</li>
            <li>${say("keeping.how.3")}</li>
          </ol>
        </section>`}
      `}
    <//>
  `;
}

start(Keeping);
