// What happened since the reader's last shift, and what needs someone now: one list of
// each kind, each line a link, the whole on one sheet of paper.
import { html, useEffect } from "../../lib/vendor/ui.js";
import { choose, chosen, query } from "../../lib/filters.js";
import { Answered, useAnswer } from "../../lib/form.js";
import { At, Hot, Mark } from "../../lib/marks.js";
import { failed, me, start } from "../../lib/shell.js";
import { loadShop, reasonText, shop } from "../../lib/shop.js";
import { dateText, dayAndMinute, elapsed, localText } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {Schema["Morning"]} Morning
 * @typedef {Schema["MorningSection"]} Lines
 * @typedef {Schema["MorningLine"]} LineView
 * Kind is a list of the morning.
 * @typedef {{[k in keyof Morning]: Morning[k] extends Lines ? k : never}[keyof Morning]} Kind
 */

const ON_SCREEN = 12; // lines of a kind; on paper the styles leave the first six
const ON_PAPER = 6;

/** @type {(l: LineView, now: string) => string} */
const lasted = (l, now) => elapsed(Date.parse(l.until || now) - Date.parse(l.at ?? now));
/** @param {LineView} l */
const pieces = (l) => count("morning.pieces", l.pieces);

/**
 * What stands in a line of each kind, beside the batch and where it is.
 * @type {Record<Kind, (l: LineView, now: string) => unknown[]>}
 */
const texts = {
  unattended: (l, now) => [
    say(l.until ? "morning.ran" : "morning.runs", lasted(l, now)),
    l.until && html`${say("morning.until")} <${At} t=${l.until} />`,
    reasonText(l.reason, "stop"),
  ],
  finished: (l) => [count("morning.good", l.pieces), html`<${At} t=${l.at} />`],
  shipped: (l) => [pieces(l), l.customer, l.reason, html`<${At} t=${l.at} />`],
  scrapped: (l) => [pieces(l), reasonText(l.reason, "scrap"), html`<${At} t=${l.at} />`],
  refused: (l) => [reasonText(l.reason, "scrap", "rework", "review"), html`<${At} t=${l.at} />`],
  held: (l) => [reasonText(l.reason, "hold"), l.at && html`<${At} t=${l.at} />`],
  late: (l) => [say("morning.due", dateText(l.due)), l.customer],
  at_risk: (l) => [
    say("morning.due", dateText(l.due)),
    html`${say("morning.expected")} <${At} t=${l.expected} />`,
    l.customer,
  ],
  short: (l) => [
    count("morning.missing", l.pieces),
    l.due && say("morning.due", dateText(l.due)),
    l.customer,
  ],
  stopped: (l, now) => [reasonText(l.reason, "stop"), say("morning.for", lasted(l, now))],
};

/**
 * What needs someone comes first, then what was; each with its mark and the page of all.
 * @type {[Kind, string, string][]}
 */
const kinds = [
  ["stopped", "stop", "/ground"],
  ["held", "held", "/waits?held=1"],
  ["refused", "ask", "/questions"],
  ["late", "late", "/waits?late=1"],
  ["at_risk", "soon", "/ahead"],
  ["short", "short", "/waits?short=1"],
  ["unattended", "", "/machines"],
  ["scrapped", "", "/losses"],
  ["finished", "", "/history"],
  ["shipped", "", "/history"],
];

/** @param {{kind: Kind, l: LineView, now: string}} props */
function Line({ kind, l, now }) {
  const parts = texts[kind](l, now).filter(Boolean);
  const where = [l.operation && say("operation.of", l.operation), l.machine].filter(Boolean).join(", ");
  return html`<li data-test="morning-line" data-kind=${kind} data-card=${l.card}>
    <a href=${"/batch/" + encodeURIComponent(l.card)}>
      <b>${l.works_order || l.card}</b> <span>${l.part}</span>${l.hot && html`<${Hot} />`}${" "}
      ${where && html`<span>${where}</span>`}
      <span class="grow">${parts.map((p, i) => html`${i ? ", " : ""}${p}`)}</span>
    </a>
  </li>`;
}

/** @param {{n: number, cls: string}} props */
const More = ({ n, cls }) => n > 0 && html`<p class=${"soft more " + cls}>${count("morning.more", n)}</p>`;

/** @param {{kind: Kind, mark: string, page: string, of: Lines, now: string}} props */
function Section({ kind, mark, page, of, now }) {
  const title = html`
    <a href=${page}>${say("morning." + kind)}</a> <b data-test=${"n-" + kind}>${of.count}</b>
  `;
  return html`<section data-test=${"section-" + kind}>
    <h2>${mark ? html`<${Mark} kind=${mark}>${title}<//>` : title}</h2>
    <ul>
      ${of.lines
        .slice(0, ON_SCREEN)
        .map((l, i) => html`<${Line} key=${i + l.card} kind=${kind} l=${l} now=${now} />`)}
    </ul>
    <${More} n=${of.count - ON_SCREEN} cls="on-screen" />
    <${More} n=${of.count - ON_PAPER} cls="only-print" />
  </section>`;
}

/** @param {{q: Schema["Open"]}} props */
function Questions({ q }) {
  if (!q.open) return null;
  return html`<section data-test="section-questions">
    <h2><${Mark} kind="ask"><a href="/questions">${say("nav.questions")}</a> <b>${q.open}</b><//></h2>
    <ul>
      ${Object.entries({ ...q.kinds, loose: q.loose })
        .filter(([, n]) => n > 0)
        .map(
          ([kind, n]) => html`<li key=${kind} data-test="morning-question" data-kind=${kind}>
            <a href="/questions"><span class="grow">${say("morning.asks." + kind)}</span> <b>${n}</b></a>
          </li>`,
        )}
    </ul>
  </section>`;
}

/** @param {{m: Morning}} props */
function Shown({ m }) {
  const none = kinds.filter(([k]) => m[k].count === 0 && (k !== "at_risk" || m.foreseen));
  return html`
    <p data-test="morning-since" data-is=${m.since_is}>
      ${say("morning.since." + m.since_is, dayAndMinute(m.since))}${" "}
      ${count("morning.operations", m.operations)}${" "}
      <span class="only-print">${say("morning.as-of", dayAndMinute(m.now))}</span>
    </p>
    <div class="morning">
      <${Questions} q=${m.questions} />
      ${kinds
        .filter(([k]) => m[k].count > 0)
        .map(
          ([kind, mark, page]) =>
            html`<${Section}
              key=${kind}
              kind=${kind}
              mark=${mark}
              page=${page}
              of=${m[kind]}
              now=${m.now}
            />`,
        )}
    </div>
    ${none.length > 0 &&
    html`<p data-test="morning-none">
      ${say("morning.none", none.map(([k]) => say("morning." + k)).join(", "))}
    </p>`}
    ${!m.foreseen && html`<p class="soft">${say("morning.no-forecast")}</p>`}
  `;
}

/** @type {(n: number, now: string) => string} */
const days = (n, now) => localText(Date.parse(now) - n * 86400e3).slice(0, 16);

/** @param {{m: Morning}} props */
function Since({ m }) {
  return html`<form class="since" onSubmit=${(/** @type {Event} */ e) => e.preventDefault()}>
    <label>
      ${say("morning.from")}
      <input
        type="datetime-local"
        data-test="since"
        value=${localText(m.since).slice(0, 16)}
        min=${days(31, m.now)}
        max=${days(0, m.now)}
        onChange=${(/** @type {Input} */ e) => choose({ since: e.target.value })}
      />
    </label>
    <button type="button" data-test="since-shift" onClick=${() => choose({ since: "" })}>
      ${say("morning.shift")}
    </button>
    <button type="button" data-test="since-day" onClick=${() => choose({ since: days(1, m.now) })}>
      ${say("morning.day")}
    </button>
    <button type="button" data-test="since-week" onClick=${() => choose({ since: days(7, m.now) })}>
      ${say("morning.week")}
    </button>
    <button type="button" data-test="print" onClick=${() => print()}>${say("morning.print")}</button>
  </form>`;
}

function Page() {
  useEffect(() => {
    loadShop().catch(failed);
  }, []);
  const answer = useAnswer(`/api/v1/morning?${query(["since"])}`);
  return html`
    <h1>${say("morning.title")}</h1>
    ${chosen.value && answer.value && html`<${Since} m=${answer.value} />`}
    <${Answered} answer=${answer} />
    ${answer.value && shop.value && html`<${Shown} m=${answer.value} />`}
  `;
}

start(() => (me.value ? html`<${Page} />` : null));
