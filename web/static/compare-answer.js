// What a comparison comes to, in sentences, and what it rests on.
import {html} from "/static/vendor/ui.js";
import {say} from "/static/words.js";
import {Warn} from "/static/compare-marks.js";
import {title, within} from "/static/compare-text.js";

const shapes = {better: "M1 9 6 14 15 3", worse: "M3 3 13 13M13 3 3 13", same: "M2 6H14M2 11H14", either: "M3 5Q3 1 8 1T13 5Q13 8 8 9V11M8 13V15", unsure: "M3 5Q3 1 8 1T13 5Q13 8 8 9V11M8 13V15"};

export const Verdict = ({kind}) => html`<span class="verdict-mark" data-verdict=${kind}><svg width="16" height="16" aria-hidden="true"><path d=${shapes[kind]} /></svg> ${say("verdict." + kind)}</span>`;

function Against({list, route, first}) {
  const cost = list.find((a) => a.about === "cost") || list[0];
  return html`<div class="answer" data-test="answer"><h3>${say("compare.against", title(route), within(first))} ${cost.verdict && html`<${Verdict} kind=${cost.verdict} />`}</h3>
    ${list.map((a, i) => html`<p key=${i} data-test=${"says-" + a.about} data-verdict=${a.verdict}>${a.say}</p>`)}</div>`;
}

// Answer is the sentences, then what should be looked at.
export function Answer({v}) {
  const warned = v.notes.filter((n) => n.warn);
  return html`<section data-test="answers"><h2>${say("compare.answer")}</h2>
    ${v.routes.length < 2 ? html`<p class="empty">${say("compare.one")}</p>` : v.routes.slice(1).map((r, i) => html`<${Against} key=${i} route=${r} first=${v.routes[0]} list=${v.answer.filter((a) => a.route === i + 1)} />`)}
    ${warned.map((n, i) => html`<${Warn} key=${i} test="warning">${n.say}<//>`)}</section>`;
}

export const Notes = ({v}) => html`<section data-test="notes"><h2>${say("compare.rests")}</h2><ul class="notes-list">${v.notes.filter((n) => !n.warn).map((n, i) => html`<li key=${i}>${n.say}</li>`)}</ul></section>`;
