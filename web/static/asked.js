// One question: what was said, what the floor knows, and the choices.
import {html} from "/static/vendor/ui.js";
import {may} from "/static/shell.js";
import {say} from "/static/words.js";
import {desk, send} from "/static/scans.js";
import {scanText} from "/static/scan-text.js";
import {At, Mark} from "/static/marks.js";

// What was done anyway is taken back; what does not fit is not counted.
const wordOf = (q, choice) => (q.kind === "anyway" && choice === "drop" ? "choice.back" : "choice." + choice);

function Choices({q, after}) {
  if (!may("settle")) return html`<p class="soft">${say("ask.who")}</p>`;
  const choose = (choice) => {
    const scan = desk("decide", q.card, {for: q.question, reason: choice});
    send(scan, {done: say("settled.as", say(wordOf(q, choice))), after});
  };
  return html`<p class="deeds">${q.choices.map((c) => html`<button key=${c} data-test="choice" data-choice=${c} onClick=${() => choose(c)}>
    <b>${say(wordOf(q, c))}</b><small>${say(wordOf(q, c) + ".why")}</small></button>`)}</p>`;
}

export function Asked({q, after, link}) {
  const head = html`${link ? html`<a class="batch" href=${"/batch/" + q.card} data-test="batch-link"><b>${q.works_order || q.card}</b></a> ${q.part}` : ""} ${q.operation ? say("operation.of", q.operation) : ""}`;
  return html`<article class=${q.settled ? "asked settled" : "asked"} data-test=${q.settled ? "settled" : "question"} data-question=${q.question} data-kind=${q.kind}>
    <p class="asked-head">${q.settled ? html`<span class="hint">${say("settled")}</span>` : html`<${Mark} kind="ask">${say("kind." + q.kind)}<//>`} ${head} <small><${At} t=${q.at} /></small></p>
    ${q.said && html`<p><span class="soft">${say("ask.said")}</span> ${[q.who, q.machine && say("at.machine", q.machine)].filter(Boolean).join(" ")}: ${scanText(q.said)}</p>`}
    <p><span class="soft">${say("ask.known")}</span> ${q.known}</p>
    ${q.settled ? html`<p><span class="soft">${say("ask.settled")}</span> ${say("choice." + q.settled.choice)} – ${q.settled.by}, <${At} t=${q.settled.at} /></p>` : html`<${Choices} q=${q} after=${after} />`}</article>`;
}
