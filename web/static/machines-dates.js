// When each batch on the floor may be done, against the date it is due: marks on
// one scale of time.
import {html} from "/static/vendor/ui.js";
import {choose, chosen} from "/static/filters.js";
import {say, count} from "/static/words.js";
import {dateText, dayOf, fromLocal, shortSpan, tickText} from "/static/times.js";
import {ticks} from "/static/strip.js";
import {BatchLink, Hint, Mark} from "/static/marks.js";
import {CsvButton} from "/static/csv.js";

const ms = (t) => Date.parse(t);
const endOfDay = (d) => fromLocal(d + "T23:59:59");
const due = (b) => (b.due ? endOfDay(b.due) : Infinity);

// rangeOf is the scale that all rows share: from now to the last date of all.
function rangeOf(list, now) {
  const last = Math.max(now + 86400e3, ...list.flatMap((b) => [ms(b.cautious), b.due ? due(b) : 0]));
  return {from: now, to: last};
}

function Line({b, range}) {
  const at = (t) => `${(100 * Math.min(1, Math.max(0, (t - range.from) / (range.to - range.from)))).toFixed(2)}%`;
  const label = say("machines.dates.label", dateText(dayOf(b.likely)), dateText(dayOf(b.cautious)), b.due ? dateText(b.due) : say("due.none"));
  return html`<svg class="dates" role="img" aria-label=${label} width="100%" height="24"><title>${label}</title>
    <line class="axis" x1="0" x2="100%" y1="14" y2="14" /><line class="range" x1=${at(ms(b.likely))} x2=${at(ms(b.cautious))} y1="14" y2="14" />
    ${b.due && html`<svg x=${at(due(b))} y="14" overflow="visible"><path class="due-mark" d="M0 9V-13M-5 -13H5L0 -6Z" /></svg>`}
    <svg x=${at(ms(b.cautious))} y="14" overflow="visible"><circle class="cautious" r="5" /></svg><svg x=${at(ms(b.likely))} y="14" overflow="visible"><circle class="likely" r="5" /></svg></svg>`;
}

function Ticks({range}) {
  const {list} = ticks(range.from, range.to, 6), at = (t) => `${(100 * (t - range.from)) / (range.to - range.from)}%`;
  return html`<svg class="date-ticks" width="100%" height="16" aria-hidden="true">${list.map((t, i) => html`<text key=${t} class=${i % 2 ? "odd" : ""} x=${at(t)} y="12" text-anchor=${t - range.from < 0.08 * (range.to - range.from) ? "start" : t - range.from > 0.92 * (range.to - range.from) ? "end" : "middle"}>${tickText(t, true)}</text>`)}</svg>`;
}

function Late({b, now}) {
  if (b.due && due(b) < now) return html`<${Mark} kind="late">${say("machines.late.now")}<//>`;
  if (b.late === "likely") return html`<${Mark} kind="late">${say("machines.late.likely")}<//>`;
  return b.late === "cautious" ? html`<${Hint}>${say("machines.late.cautious")}<//>` : null;
}

function Row({b, range, now}) {
  const date = (t) => dateText(dayOf(t));
  return html`<tr data-test="date-row" data-card=${b.card} data-late=${b.late}><td data-label=${say("head.batch")}><${BatchLink} row=${b} />${b.state === "held" && html` <${Mark} kind="held">${say("state.held")}<//>`}</td><td data-label=${say("head.part")}><span class="told-once">${b.part}</span> <small>${b.part_name}</small></td>
    <td data-label=${say("machines.left")}>${b.steps === 0 ? html`${say("machines.left.none")} <small>${say("machines.left.none.why")}</small>` : html`${shortSpan(b.work_s * 1000)} <small>${count("machines.steps", b.steps)}${b.next_operation ? ", " + say("machines.next", b.next_operation) : ""}</small>`}</td>
    <td class="told-once" data-label=${say("head.due")}>${b.due ? dateText(b.due) : say("due.none")}</td>
    <td data-label=${say("machines.likely")} data-test="likely">${b.steps === 0 ? say("none") : html`<b>${date(b.likely)}</b>`}${b.no_waits && html` <small>${say("machines.no-waits")}</small>`}</td><td data-label=${say("machines.cautious")} data-test="cautious">${b.steps === 0 ? say("none") : date(b.cautious)}</td>
    <td class="wide"><${Line} b=${b} range=${range} /></td><td class="late-cell"><${Late} b=${b} now=${now} /></td></tr>`;
}

const csvHead = ["card", "works_order", "part", "due", "priority", "state", "steps_left", "work_s", "likely", "cautious", "late", "no_waits"];
const csvRow = (b) => [b.card, b.works_order, b.part, b.due, b.priority, b.state, b.steps, b.work_s, b.likely, b.cautious, b.late, b.no_waits];

const fits = (b, text) => !text || [b.card, b.works_order, b.part, b.part_name].some((x) => x && x.toLowerCase().includes(text.toLowerCase()));

// Dates lists the batches by their due dates.
export function Dates({l}) {
  if (l.batches.length === 0) return null;
  const now = ms(l.at), {find = ""} = chosen.value, all = [...l.batches].sort((a, b) => due(a) - due(b) || ms(a.likely) - ms(b.likely));
  const list = all.filter((b) => fits(b, find)), range = rangeOf(list, now), n = (k) => all.filter((b) => b.late === k).length;
  return html`<section data-test="dates-section"><h2>${say("machines.dates")}</h2><p class="summary" data-test="dates-summary">${[count("machines.dates.n", all.length), count("machines.dates.likely", n("likely")), count("machines.dates.cautious", n("cautious"))].join(" · ")}</p>
    <div class="tools"><label>${say("waits.find")}<input type="search" value=${find} data-test="find" onInput=${(e) => choose({find: e.target.value}, {replace: true})} /></label></div>
    <p class="line-key">${["likely", "cautious", "due-mark"].map((k) => html`<span key=${k}><svg class="dates" width="20" height="24" aria-hidden="true"><g transform="translate(10 14)">${k === "due-mark" ? html`<path class=${k} d="M0 9V-13M-5 -13H5L0 -6Z" />` : html`<circle class=${k} r="5" />`}</g></svg>${say("machines.key." + k)}</span>`)}</p>
    ${list.length === 0 ? html`<p class="empty">${say("waits.nothing-found")}</p>` : html`<table class="dates-table stack"><thead><tr>${["head.batch", "head.part", "machines.left", "head.due", "machines.likely", "machines.cautious"].map((k) => html`<th key=${k}>${say(k)}</th>`)}<th class="wide"><${Ticks} range=${range} /></th><th></th></tr></thead>
      <tbody>${list.map((b) => html`<${Row} key=${b.card} b=${b} range=${range} now=${now} />`)}</tbody></table>`}
    <p class="deeds"><${CsvButton} name="dates-ahead" head=${csvHead} rows=${() => all.map(csvRow)} /></p></section>`;
}
