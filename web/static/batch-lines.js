// Scans as they were said, with what the story made of each. Those who may
// settle can take one back or correct it.
import {html} from "/static/vendor/ui.js";
import {say, known} from "/static/words.js";
import {desk, send} from "/static/scans.js";
import {scanText} from "/static/scan-text.js";
import {full} from "/static/times.js";
import {At, Hint, Mark} from "/static/marks.js";

const gone = ["undone", "dropped", "refused", "elsewhere"];
const heads = ["seq", "at", "by", "said", "fate"];

// late says that a scan came in well after it happened.
const late = (l) => Math.abs(Date.parse(l.arrived) - Date.parse(l.at)) > 2000;

function Fate({l}) {
  const word = say("fate." + l.fate);
  return html`${l.fate === "question" ? html`<${Mark} kind="ask">${word}<//>` : html`<span class=${l.fate === "told" ? "soft" : ""}>${word}</span>`}
    ${l.time_uncertain && html` <${Hint}>${say("uncertain")}<//>`}
    ${l.anyway && html`<p>${say("fate.anyway")} ${l.anyway}</p>`}${l.say && l.fate !== "told" && html`<p>${l.say}</p>`}`;
}

function Line({l, deeds}) {
  const control = ["undo", "correct", "decide"].includes(l.scan.action);
  const who = [l.who || l.scan.operator, l.machine].filter(Boolean).join(", ");
  const back = () => send(desk("undo", l.scan.card, {for: l.scan.id}), {done: say("taken-back"), undoable: false, after: deeds.after});
  const buttons = deeds.settle && !gone.includes(l.fate) && l.fate !== "corrected";
  return html`<tr class=${gone.includes(l.fate) ? "gone" : ""} data-test="line" data-seq=${l.seq} data-action=${l.scan.action} data-fate=${l.fate}>
    <td data-label=${say("head.seq")}>${l.seq}</td>
    <td data-label=${say("head.at")}><time datetime=${l.at}>${full(l.at)}</time>${late(l) && html` <small>${say("arrived")} <${At} t=${l.arrived} /></small>`}</td>
    <td data-label=${say("head.by")}>${who || l.by}${who && l.by ? html` <small>${l.by}${l.role ? ", " + known("role." + l.role, l.role) : ""}</small>` : ""}</td>
    <td data-label=${say("head.said")} class="said">${scanText(l.scan)}</td>
    <td data-label=${say("head.fate")}><${Fate} l=${l} />
      ${buttons && html`<p class="deeds"><button class="quiet" data-test="undo" onClick=${back}>${say("take-back")}</button>
        ${!control && html`<button class="quiet" data-test="correct" onClick=${() => deeds.correct(l)}>${say("correct")}</button>`}</p>`}</td></tr>`;
}

export function Lines({lines, deeds}) {
  if (lines.length === 0) return html`<p class="soft">${say("lines.none")}</p>`;
  return html`<table class="lines stack"><thead><tr>${heads.map((h) => html`<th key=${h} scope="col">${say("head." + h)}</th>`)}</tr></thead>
    <tbody>${lines.map((l) => html`<${Line} key=${l.scan.id + l.seq} l=${l} deeds=${deeds} />`)}</tbody></table>`;
}
